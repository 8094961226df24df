"""Who takes part in a season and how: the eggs expected, how many females a male may serve, which season."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from eggtooth.engine.colony import Animal
from eggtooth.engine.condition.wear import wear_of
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.hopes import line_share
from eggtooth.engine.planning.prospects import eggs_ahead, females_for, hatchlings_of, this_season

ON = date(2026, 1, 10)


def entry(kind: Kind, days_ago: int, value: float | None = None, detail: object = None) -> Entry:
    day = ON - timedelta(days=days_ago)
    return Entry(f"{kind}{days_ago}", day, None, "A", kind, value, detail)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("mass_g", "own", "eggs"),
    [
        # A third of her mass in eggs of 94.07 g (Ellis & Chappell 1987; Myhrvold et al. 2015): 5.3 at 1500 g.
        (1500, [], 5.5),
        (1800, [], 6.5),
        (None, [], 6.5),  # the usual 6.3, to half an egg
        (1500, [(8, 1), (9, 0)], 7.0),  # (2 x 5.26 + 9 + 9) / 4
        (None, [(3, 0)] * 20, 3.5),
    ],
)
def test_eggs_ahead(mass_g: float | None, own: list[tuple[int, int]], eggs: float) -> None:
    laid = [entry(Kind.LAID, 400 + 365 * k, good, slugs) for k, (good, slugs) in enumerate(own)]
    assert eggs_ahead(History(sorted(laid, key=lambda e: e.on), ON), mass_g) == eggs


def test_more_eggs_mean_more_hatchlings_and_chances_sum_to_one() -> None:
    means = []
    for eggs in (4.0, 6.0, 9.0):
        counts = hatchlings_of(eggs)
        assert sum(counts) == pytest.approx(1)
        means.append(sum(m * p for m, p in enumerate(counts)))
    kept = 0.95 * biology.FERTILE_PER_EGG.value * biology.HATCHES.value
    assert means == sorted(means) and means[1] == pytest.approx(6 * kept, rel=0.02)


def test_a_male_late_in_his_season_serves_fewer() -> None:
    settings = Settings()
    fresh = [entry(Kind.WEIGHT, 100, 700), entry(Kind.MEAL, 9, 1)]
    assert females_for(wear_of(History(fresh, ON), settings), settings, ON) == 5
    started = sorted(
        [
            entry(Kind.WEIGHT, 100, 700),
            entry(Kind.MEAL, 55, 1),
            entry(Kind.PAIRED, 50, None, "F1"),
            entry(Kind.MEAL, 20, 0),
            entry(Kind.WEIGHT, 10, 660),
        ],
        key=lambda e: e.on,
    )
    late = females_for(wear_of(History(started, ON), settings), settings, ON)
    assert 1 <= late < 5
    assert females_for(None, Settings(females_a_male=3.0), ON) == 3


@pytest.mark.parametrize(
    ("on", "this"),
    [
        ("2025-10-01", True),
        ("2026-01-10", True),
        ("2026-05-31", True),
        ("2026-06-01", False),
        ("2026-08-31", False),
    ],
)
def test_after_the_season_has_closed_the_next_one_is_planned(on: str, this: bool) -> None:
    assert this_season(Settings(), date.fromisoformat(on)) is this


def test_the_share_of_a_line() -> None:
    animals = {
        "A": Animal("A"),
        "B": Animal("B", sires=("A",), dam="X"),
        "C": Animal("C", sires=("Y", "B"), dam="X"),
        "D": Animal("D", sires=("B",), dam="A"),
    }
    found = [line_share(tag, "A", animals, {}) for tag in "ABCDX"]
    assert found == [1.0, 0.5, 0.125, 0.75, 0.0]  # half a generation; half again as one of two candidates
