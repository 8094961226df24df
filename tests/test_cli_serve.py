"""Served pages end in order when told to, also from a script, and an invented colony goes with them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest


def started(*command: str, folder: Path) -> subprocess.Popen[str]:
    """`eggtooth` as a script starts it with `&`: Ctrl-C is ignored then."""
    process = subprocess.Popen(
        [sys.executable, "-m", "eggtooth", *command, "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"TMPDIR": str(folder)},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN),
    )
    assert process.stdout and "http://" in process.stdout.readline()
    return process


@pytest.mark.usefixtures("fresh_store")
@pytest.mark.parametrize("told", [signal.SIGINT, signal.SIGTERM])
def test_the_pages_stop_in_order(told: signal.Signals, tmp_path: Path) -> None:
    process = started("serve", folder=tmp_path)
    process.send_signal(told)
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 0 and "Stopped." in said


def test_an_invented_colony_that_is_ended_leaves_nothing_behind(tmp_path: Path) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    process = started("demo", "--quiet", folder=folder)
    assert list(folder.iterdir())
    process.terminate()
    process.communicate(timeout=60)
    assert process.returncode == 0 and not list(folder.iterdir())
