"""What a night is worth, against a slow twin that sums over days and locks one by one."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.house import Settings
from eggtooth.engine.planning.assignment import NO_PAIR
from eggtooth.engine.planning.fertile import Prospects, lock_chance, strength
from eggtooth.engine.planning.ovulating import MIDDLES
from eggtooth.engine.planning.rotation import UNIT, Night, choose, gains
from eggtooth.engine.planning.wanted import Wanted
from tests.oracles import nights as twin


def blank(females: int) -> Prospects:
    shape = (females, len(MIDDLES))
    return Prospects(
        np.zeros(shape), np.ones(females), np.zeros(females), np.ones(shape), np.zeros(shape), np.zeros(shape)
    )


def drawn(rng: np.random.Generator, females: int) -> Prospects:
    found = blank(females)
    for i in range(females):
        found.ovulates[i] = rng.dirichlet(np.full(len(MIDDLES), 0.1)) * rng.random()
        found.lays[i] = rng.random()
        for _ in range(int(rng.integers(4))):
            found.add_seen(i, float(rng.integers(90)), float(rng.choice([0.15, 1.0])), float(rng.random()))
    return found


def test_strength_and_lock_chance_by_day_equal_the_twin() -> None:
    assert strength(MIDDLES - 30).tolist() == pytest.approx([twin.takes(d - 30) for d in MIDDLES])
    assert lock_chance(MIDDLES - 30).tolist() == pytest.approx([twin.locks_tonight(d - 30) for d in MIDDLES])


@pytest.mark.parametrize("seed", range(10))
def test_gain_equals_the_twin(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found = blank(4)
    for i in range(4):
        found.ovulates[i] = rng.dirichlet(np.full(len(MIDDLES), 0.1)) * rng.random()
        found.lays[i] = rng.random()
        seen = [
            (float(rng.integers(90)), float(rng.choice([0.15, 1.0])), float(rng.random())) for _ in range(i)
        ]
        for ago, share, worth in seen:
            found.add_seen(i, ago, share, worth)
        by_worth, plain = found.gain()
        ovulates = dict(zip(MIDDLES.tolist(), found.ovulates[i].tolist(), strict=True))
        for worth in (0.0, 0.4, 1.7):
            told = by_worth[i] * worth + plain[i]
            assert told == pytest.approx(twin.gain(ovulates, float(found.lays[i]), seen, worth), abs=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_a_small_night_is_worth_as_much_as_the_best_of_all_choices(seed: int) -> None:
    rng = np.random.default_rng(seed)
    males, females = ["M1", "M2", "M3"], ["F1", "F2", "F3", "F4"][: int(rng.integers(1, 5))]
    found = drawn(rng, len(females))
    values = {(m, f): float(rng.choice([0, rng.random()])) for m in males for f in females}
    night = Night(males, [3, 0, 9], females, found, Wanted(values), Settings(), apart={("M1", "F1")})
    barred = {("M2", females[-1])}
    table = gains(night)
    table[1, -1] = NO_PAIR
    told = choose(night, lambda m, f: "kin" if (m, f) in barred else "")
    total = sum(table[males.index(m), females.index(f)] for m, f in told.items())
    assert total == pytest.approx(twin.best_total(table.tolist(), len(females)), abs=4 / UNIT)


def test_each_lock_adds_less_than_the_one_before() -> None:
    found = blank(1)
    found.ovulates[0, 8] = 1.0
    added = []
    for _ in range(4):
        added.append(float(sum(part[0] for part in found.gain())))
        found.add_seen(0, 0, 1.0, 1.0)
    assert added == sorted(added, reverse=True) and added[0] > 2 * added[3]


def test_past_ovulation_a_night_adds_nothing() -> None:
    found = blank(1)
    found.ovulates[0, 0] = 1.0
    assert found.gain(after=0)[0][0] > 0
    assert found.gain(after=10)[0][0] == 0


def test_a_night_to_come_counts_as_part_of_a_lock() -> None:
    whole, part = blank(1), blank(1)
    for each in (whole, part):
        each.ovulates[0, 8] = 1.0
    whole.add_seen(0, 0, 1.0, 1.0)
    part.add_night(0, 1.0, 0)
    assert 0 < part.worth()[0] < whole.worth()[0]
    assert part.worth()[0] == pytest.approx(0.4 * 0.45)


@pytest.mark.parametrize("seed", range(5))
def test_standing_in_adds_to_what_the_first_will_still_do(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found = drawn(rng, 1)
    found.none[:] = 1.0
    found.sum_strength[:] = found.sum_worth[:] = 0.0
    best, nights, worth = 1.5, 0.2, float(rng.random())
    by_worth, plain = found.gain_after_first(np.array([best]), np.array([nights]))
    told = by_worth[0] * worth + plain[0]
    slow = 0.0
    for ahead, chance in zip(MIDDLES.tolist(), found.ovulates[0].tolist(), strict=True):
        still = [(ahead, 1 - (1 - twin.locks_tonight(ahead)) ** (ahead * nights), best)]
        more = twin.clutch_worth([*still, (ahead, 1.0, worth)]) - twin.clutch_worth(still)
        slow += chance * float(found.lays[0]) * twin.locks_tonight(ahead) * more
    assert told == pytest.approx(slow, abs=1e-12)


@pytest.mark.parametrize(("unmet", "days_ahead", "weight", "goes"), [
    (1.0, 110, 0.5, True),
    (0.0, 110, 0.5, False),
    (1.0, 110, 0.0, False),
    (1.0, 30, 0.5, False),
], ids=["never met", "met before", "belief not followed", "past the size that decides"])  # fmt: skip
def test_presence_counts_once_in_time_and_as_far_as_it_is_believed(
    unmet: float, days_ahead: int, weight: float, goes: bool
) -> None:
    """Females alone mostly reabsorb (DeNardo & Autumn 2001, blood pythons)."""
    found = blank(1)
    found.ovulates[0, days_ahead // 4] = 1.0
    found.unmet[:] = unmet
    found.none[:], found.sum_strength[:], found.sum_worth[:] = 0.0, 50.0, 50.0  # more locks add nothing
    night = Night(["M1"], [0], ["F1"], found, Wanted(), Settings(presence_weight=weight))
    assert bool(choose(night, lambda m, f: "")) is goes


def test_the_fresher_male_goes_among_males_worth_the_same() -> None:
    found = blank(1)
    found.ovulates[0, 8] = 1.0
    night = Night(["M1", "M2"], [40, 2], ["F1"], found, Wanted(), Settings())
    assert choose(night, lambda m, f: "") == {"M2": "F1"}


def test_a_male_she_locked_with_goes_before_a_stranger() -> None:
    found = blank(1)
    found.ovulates[0, 8] = 1.0
    known = {("M2", "F1"): 5e-4}
    night = Night(["M1", "M2"], [0, 0], ["F1"], found, Wanted(), Settings(), known=known)
    assert choose(night, lambda m, f: "") == {"M2": "F1"}
