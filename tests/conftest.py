"""Fixtures shared by all tests."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from eggtooth.cli import main

Tasks = list[dict[str, Any]]
AskRound = Callable[[str, str, str], Tasks]

ANIMALS_HEAD = "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\n"
LOG_HEAD = "date,tag,kind,value,detail\n"


def lines(text: str) -> str:
    """The lines of an indented block, without indents and blank lines."""
    return "".join(f"{line.strip()}\n" for line in text.splitlines() if line.strip())


@pytest.fixture
def ask_round(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> AskRound:
    """Ask the command line for the round of a colony written out by hand."""

    def ask(animals: str, log: str, on: str) -> Tasks:
        (tmp_path / "animals.csv").write_text(ANIMALS_HEAD + lines(animals))
        (tmp_path / "log.csv").write_text(LOG_HEAD + lines(log))
        files = ["--animals", str(tmp_path / "animals.csv"), "--log", str(tmp_path / "log.csv")]
        code = main(["round", *files, "--on", on, "--json"])
        out = capsys.readouterr()
        assert code == 0, out.err
        answer = json.loads(out.out)
        assert answer["on"] == on
        tasks: Tasks = answer["tasks"]
        return tasks

    return ask


def of_kind(tasks: Tasks, kind: str, tag: str | None = None) -> Tasks:
    """Lines of one kind, about one animal if a tag is given (as the one carried or the one visited)."""
    return [t for t in tasks if t["kind"] == kind and tag in (None, t["tag"], t["with"])]
