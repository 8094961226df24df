"""The walk through a list of security requirements names tests that exist; no line is without a reason."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
STATES = {"shown", "written", "partly", "missing", "does not apply"}
LINE = re.compile(r"^\| V(\d+)\.(\d+)\.(\d+) \| (.+?) \| (.+?) \| (.*) \|$", re.M)
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")
FILE = re.compile(r"`((?:docs/)?[\w.]+\.md)`")
TEXT = (ROOT / "docs" / "security.md").read_text(encoding="utf-8")
LINES = LINE.findall(TEXT)


@cache
def functions_of(file: str) -> set[str]:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_every_line_of_the_tables_is_read_once_and_in_order() -> None:
    numbers = [tuple(map(int, line[:3])) for line in LINES]
    assert len(numbers) == len(re.findall(r"^\| V\d", TEXT, re.M)) == 70
    assert numbers == sorted(set(numbers))


@pytest.mark.parametrize("line", LINES, ids=[".".join(line[:3]) for line in LINES])
def test_a_line_has_what_its_state_promises(line: tuple[str, ...]) -> None:
    asked, state, by = line[3:]
    tests, files = NAMED.findall(by), FILE.findall(by)
    reason = FILE.sub("", NAMED.sub("", by)).strip(" ,;")
    assert asked.strip() and state in STATES
    if state == "shown":
        assert tests
    elif state == "written":
        assert files
    elif state == "partly":
        assert (tests or files) and len(reason.split()) >= 4
    else:
        assert len(reason.split()) >= 4


def test_every_test_and_file_named_is_there() -> None:
    named = NAMED.findall(TEXT)
    assert len(named) > 70
    assert [f"{file}::{test}" for file, test in named if test not in functions_of(file)] == []
    assert [file for file in FILE.findall(TEXT) if not (ROOT / file).is_file()] == []


def test_the_sum_at_the_top_is_that_of_the_tables() -> None:
    said = re.search(
        r"of (\d+) lines\s+(\d+) are shown by tests, (\d+) written down, "
        r"(\d+) met in part, (\d+) are missing, (\d+) do not apply",
        TEXT,
    )
    states = [line[4] for line in LINES]
    counted = [states.count(state) for state in ("shown", "written", "partly", "missing", "does not apply")]
    assert said and [int(n) for n in said.groups()] == [len(LINES), *counted]
