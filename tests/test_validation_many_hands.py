"""A short slice of many hands noting at once through the served pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from validation.kills import InFile, prepare
from validation.many_hands import noted


@pytest.mark.slow
def test_hands_at_once_lose_and_double_nothing(tmp_path: Path) -> None:
    store = InFile(tmp_path)
    prepare(store)
    times, faults = noted(store, 12, 4)
    assert faults == [] and len(times) > 12
