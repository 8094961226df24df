"""The seeds of the fuzzing and every input that once was a fault, through the same functions, without atheris."""

# ruff: noqa: E501

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from validation._fuzz_corpus import READERS
from validation._fuzz_readers import Fault, read_csv, told

from eggtooth.records.files.refusal import Refusal


@pytest.mark.slow
def test_what_is_known_is_read_or_refused_in_words() -> None:
    """In a process of its own: it opens a house of its own."""
    command = [sys.executable, "-W", "ignore", "-m", "validation", "fuzzing", "--replay"]
    done = subprocess.run(
        command, capture_output=True, text=True, cwd=Path(__file__).parent.parent, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr[-1500:]
    assert done.stdout.count("faults 0") == len(READERS)


@pytest.mark.parametrize(
    "wordless", [Refusal("a.csv", 2, "tag", "", " "), Refusal("a.csv", 0, "tag", "F1", "is odd")]
)
def test_a_refusal_without_words_or_line_is_a_fault(wordless: Refusal) -> None:
    with pytest.raises(Fault):
        told([wordless])


def test_what_does_not_read_back_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("validation._fuzz_readers.wishes_text", lambda wishes: "wish,weight,count\n")
    with pytest.raises(Fault, match="not the same"):
        read_csv(b"\x1e\x1ewish,weight,count\nClown,2,3\n")
