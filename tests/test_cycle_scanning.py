"""Whether a house scans roughly, told from its own scans of the season."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.scanning import as_scanned, rough
from eggtooth.engine.history import History
from eggtooth.engine.simulate.season import draw_females, draw_seasons
from eggtooth.engine.simulate.sightings import log_of
from eggtooth.engine.simulate.world import GRADUAL, NARROW_FAST, WIDE, World

START, UNTIL = date(2025, 9, 1), 170


def house(world: World) -> list[Evidence]:
    """Forty females scanned every two weeks."""
    rng = np.random.default_rng(6)
    logs = log_of(rng, draw_seasons(rng, world, draw_females(rng, 40, world), START), UNTIL)
    return [evidence_of(History(log, START + timedelta(days=UNTIL)), START) for log in logs]


@pytest.mark.parametrize("world", [WIDE, NARROW_FAST, GRADUAL])
def test_scans_that_agree_with_growth_are_taken_as_the_facts_say(world: World) -> None:
    """An error of 1.5 mm, as in the facts, whatever the law of growth."""
    found = house(world)
    assert as_scanned(found) == found


def test_scans_that_scatter_are_taken_as_rough() -> None:
    found = house(replace(WIDE, scan_error_mm=2.4, bad_scan_share=0.08))
    told = as_scanned(found)
    assert told == [rough(e) for e in found] and told != found
    assert as_scanned(found[::-1]) == told[::-1]


def test_one_female_is_not_enough_and_houses_are_told_apart() -> None:
    found = house(replace(WIDE, scan_error_mm=2.4, bad_scan_share=0.08))
    assert as_scanned(found[:1]) == found[:1]
    assert as_scanned([]) == []
    other = [replace(e, today=e.today + 1) for e in house(WIDE)]
    assert as_scanned([*found, *other]) == [*map(rough, found), *other]
