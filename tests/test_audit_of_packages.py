"""What is said of an audit: an advisory fails, a question that could not be put is not called clean."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

SPEC = importlib.util.spec_from_file_location("audit", Path(__file__).parent.parent / ".ci" / "audit.py")
assert SPEC and SPEC.loader
audit = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(audit)
FOUND = '{"dependencies": [{"name": "egg", "version": "1", "vulns": [{"id": "PYSEC-0"}]}]}'
SKIPPED = '{"dependencies": [{"name": "egg", "skip_reason": "not found"}]}'
CLEAN = '{"dependencies": [{"name": "egg", "version": "1", "vulns": []}]}'


@pytest.mark.parametrize(
    ("document", "code", "words"),
    [
        (FOUND, 1, "egg 1: PYSEC-0"),
        (SKIPPED, 0, "could not be asked about 1 packages: egg"),
        ("", 0, "could not be asked about any package"),
        (CLEAN, 0, "1 packages asked about, 0 advisories"),
    ],
)
def test_an_advisory_fails_and_silence_is_told(
    capsys: pytest.CaptureFixture[str], document: str, code: int, words: str
) -> None:
    assert audit.told("run.txt", document) == code
    assert words in capsys.readouterr().out
