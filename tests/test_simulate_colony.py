"""The invented colony as a whole: same seed same bytes, nothing impossible, plenty to do in season."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from uuid import UUID

import numpy as np
import pytest

from eggtooth.engine.colony import Sex, State, tub_from
from eggtooth.engine.doubts import Grade, doubts_of
from eggtooth.engine.entries import LEFT, Entry, Kind
from eggtooth.engine.simulate.colony import Life, Simulated, simulate_colony
from eggtooth.engine.simulate.policy import Decision, FixedOrder, RoomView

UNTIL = date(2026, 2, 10)


@pytest.fixture(scope="module")
def made() -> Simulated:
    return simulate_colony(np.random.default_rng(1), until=UNTIL)


def all_entries(made: Simulated) -> list[Entry]:
    own = {e.id: e for tag, seen in made.colony.entries.items() for e in seen if e.tag == tag}
    return list(own.values())


def of_kind(made: Simulated, kind: Kind) -> list[Entry]:
    return [e for e in all_entries(made) if e.kind is kind]


def small(seed: int, until: date = date(2025, 1, 15), **more: object) -> Simulated:
    rng = np.random.default_rng(seed)
    return simulate_colony(rng, animals=14, years=1, until=until, **more)  # type: ignore[arg-type]


def test_same_seed_same_bytes() -> None:
    one, two = small(5), small(5)
    assert repr(dict(one.colony.entries)) == repr(dict(two.colony.entries))
    assert repr(dict(one.colony.animals)) == repr(dict(two.colony.animals))
    assert one.truth.seasons == two.truth.seasons
    assert repr(dict(one.colony.entries)) != repr(dict(small(6).colony.entries))


def test_ids_are_uuids_and_differ(made: Simulated) -> None:
    entries = all_entries(made)
    assert all(UUID(e.id).version == 5 for e in entries[:200])
    assert len(entries) == len({e.id for e in entries}) > 8000


def test_sizes(made: Simulated) -> None:
    here = list(made.colony.here(UNTIL))
    assert len(here) >= 60
    males = [a for a in here if a.sex is Sex.MALE and a.tag[0] == "M"]
    females = [a for a in here if a.sex is Sex.FEMALE and a.tag[0] == "F"]
    assert 13 <= len(males) <= 18
    assert 28 <= len(females) <= 40
    assert any(a.tag.startswith("H25") for a in here)
    first = min(e.on for e in all_entries(made))
    assert (UNTIL - first).days > 2 * 365


def test_nothing_after_the_end_or_before_hatching(made: Simulated) -> None:
    for entry in all_entries(made):
        assert entry.on <= UNTIL
        animal = made.colony.animals.get(entry.tag)
        assert animal is None or animal.hatched is None or entry.on >= animal.hatched


def test_nothing_after_death_or_sale(made: Simulated) -> None:
    left = [e for e in all_entries(made) if e.kind in LEFT]
    assert {Kind.DIED, Kind.SOLD} <= {e.kind for e in left}
    for gone in left:
        assert all(e.on <= gone.on for e in made.colony.of_animal(gone.tag))
        assert made.colony.animals[gone.tag].state in (State.DEAD, State.SOLD)


@pytest.mark.parametrize("days_back", [0, 100, 300, 500])
def test_one_animal_a_tub(made: Simulated, days_back: int) -> None:
    on = UNTIL - timedelta(days=days_back)
    colony = made.colony.as_of(on)
    born = [a for a in colony.animals.values() if not colony.left_by(a.tag, on)]
    arrived = [a for a in born if colony.of_animal(a.tag)]
    tubs = [colony.tub_of(a.tag, on) for a in arrived]
    assert None not in tubs
    assert len(set(tubs)) == len(tubs)


def test_tubs_moved_to_can_be_read(made: Simulated) -> None:
    moved = of_kind(made, Kind.MOVED)
    assert moved
    assert all(tub_from(str(e.detail)) for e in moved)


def test_nobody_sits_with_two(made: Simulated) -> None:
    sitting: dict[str, str] = {}
    for entry in sorted(all_entries(made), key=lambda e: (e.on, str(e.at))):
        if entry.kind is Kind.PARTED:
            assert sitting.pop(entry.tag) == entry.partner
        elif entry.kind is Kind.PAIRED:
            assert entry.tag not in sitting
            assert entry.partner not in sitting.values()
            sitting[entry.tag] = entry.partner
        elif entry.kind is Kind.LOCK:
            assert sitting[entry.tag] == entry.partner


def test_week_of_the_trade(made: Simulated) -> None:
    """In Monday to Thursday nights, apart on Friday: common practice, no source."""
    assert {e.on.weekday() for e in of_kind(made, Kind.PAIRED)} == {0, 1, 2, 3}
    fridays = [e for e in of_kind(made, Kind.PARTED) if e.on.weekday() == 4]
    assert len(fridays) > 200


def test_only_odd_entries_are_doubted(made: Simulated) -> None:
    """The engine's own checks find no contradiction, and the weight that was typed wrong."""
    doubts = doubts_of(made.colony, UNTIL)
    assert not [d for d in doubts if d.grade is Grade.CONTRADICTION]
    assert [d for d in doubts if d.entries and d.entries[-1].on == UNTIL - timedelta(days=5)]
    assert len(doubts) < 30


def test_milestones_noted_are_the_true_ones(made: Simulated) -> None:
    truth = {(s.tag, s.laid) for s in made.truth.seasons}
    assert all((e.tag, e.on) in truth for e in of_kind(made, Kind.LAID))
    shed = {(s.tag, s.prelay_shed) for s in made.truth.seasons}
    assert all((e.tag, e.on) in shed for e in of_kind(made, Kind.PRELAY_SHED))


def test_parents_are_recorded_or_left_open(made: Simulated) -> None:
    young = [a for a in made.colony.animals.values() if a.clutch]
    assert len(young) >= 8
    assert any(len(a.sires) > 1 for a in young)
    for animal in young:
        assert animal.dam == made.truth.dams[animal.tag]
        assert made.truth.genomes[animal.tag].shape == made.truth.genomes[animal.dam].shape


def test_most_true_sires_are_among_those_written_down(made: Simulated) -> None:
    young = [a for a in made.colony.animals.values() if a.clutch and a.sires]
    assert np.mean([made.truth.sires[a.tag] in a.sires for a in young]) > 0.7


def test_males_eat_at_first_and_then_stop(made: Simulated) -> None:
    """Males eat eagerly at first and stop about two months into the season: common practice, no source."""
    first, later = [], []
    for season in made.truth.males:
        for e in made.colony.of_animal(season.tag):
            if e.kind is Kind.MEAL and season.first_in <= e.on <= (season.rested or UNTIL):
                (first if e.on < season.stops_eating else later).append(bool(e.value))
    assert np.mean(first) > 0.75
    assert np.mean(later) < 0.15
    days = [(s.stops_eating - s.first_in).days for s in made.truth.males]
    assert 45 <= np.median(days) <= 70


def test_males_lose_mass_in_the_season(made: Simulated) -> None:
    loss = [
        1 - made.truth.mass_g(s.tag, s.rested) / made.truth.mass_g(s.tag, s.first_in)
        for s in made.truth.males
        if s.rested and (s.rested - s.first_in).days > 60
    ]
    assert 0.02 < np.median(loss) < 0.15


def test_gone_clutches_weigh_about_a_third(made: Simulated) -> None:
    """A clutch is about 32 % of her mass before laying: Ellis & Chappell 1987."""
    shares = []
    for clutch in made.truth.clutches:
        before, after = (made.truth.mass_g(clutch.dam, clutch.laid - timedelta(days=d)) for d in (1, 0))
        shares.append(1 - after / before)
    assert np.mean(shares) == pytest.approx(0.32, abs=0.05)


def test_clutches_hatch_after_about_two_months(made: Simulated) -> None:
    """55 to 60 days at 31 to 32 °C: common practice, no source; 58 to 70 in Ellis & Chappell 1987."""
    days = [(c.pips - c.laid).days for c in made.truth.clutches if c.pips]
    assert len(days) > 20
    assert 54 <= np.mean(days) <= 63


def test_a_day_in_season_is_rich(made: Simulated) -> None:
    last = Counter(e.kind for e in all_entries(made) if (UNTIL - e.on).days <= 30)
    wanted = {Kind.LOCK, Kind.PAIRED, Kind.SCAN, Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID, Kind.MEAL}
    assert wanted | {Kind.WEIGHT, Kind.SHED, Kind.SIGN, Kind.TEMPERATURE, Kind.EGGS} <= set(last)
    assert [e for e in of_kind(made, Kind.LOCK) if e.on == UNTIL]
    quarantined = [a for a in made.colony.here(UNTIL) if a.tub and a.tub.rack == "Q"]
    assert len(quarantined) == 1
    assert not [e for e in made.colony.of_animal(quarantined[0].tag) if e.kind is Kind.PAIRED]


@pytest.mark.parametrize("until", [date(2025, 2, 28), date(2024, 2, 29), date(2024, 8, 31), date(2024, 9, 1)])
def test_any_day_of_the_year(until: date) -> None:
    made = small(2, until)
    assert max(e.on for e in all_entries(made)) <= until
    assert (until - min(e.on for e in all_entries(made))).days >= 360


def test_too_small_a_house_is_refused() -> None:
    with pytest.raises(ValueError, match="12 animals"):
        simulate_colony(np.random.default_rng(1), animals=5, until=UNTIL)


class Nobody:
    """A policy that carries no male."""

    def decide(self, view: RoomView) -> Decision:
        return Decision()


class Spy(FixedOrder):
    """The plain practice, holding what it was shown against what it may know."""

    def decide(self, view: RoomView) -> Decision:
        colony = view.colony()
        known = [e for seen in colony.entries.values() for e in seen]
        assert all(e.on <= view.on for e in known)
        assert set(view.sitting) <= {m.tag for m in view.males}
        return super().decide(view)


def test_a_policy_sees_no_future() -> None:
    small(3, policy=Spy())


def test_without_males_no_good_eggs() -> None:
    made = small(4, date(2025, 8, 1), policy=Nobody())
    assert not of_kind(made, Kind.PAIRED)
    assert all(c.good == 0 for c in made.truth.clutches)


def test_policies_share_the_same_animals_and_luck() -> None:
    one, two = small(9), small(9, policy=Nobody())
    founders = [t for t in one.truth.genomes if t[0] in "MFG"]
    assert all(np.array_equal(one.truth.genomes[t], two.truth.genomes[t]) for t in founders)
    starts = [{(s.tag, s.year): s.mm12 for s in made.truth.seasons if s.year == 2023} for made in (one, two)]
    assert starts[0] == starts[1]


def test_a_policy_that_asks_the_impossible_is_refused() -> None:
    class Both:
        def decide(self, view: RoomView) -> Decision:
            return Decision({m.tag: view.females[0] for m in view.males[:2]})

    with pytest.raises(ValueError, match="two males"):
        small(3, policy=Both())


def test_males_worked_too_long_die_and_rested_ones_do_not() -> None:
    """60 to 90 days after the last meal a breeding male is rested: common practice, no source."""
    lost = {True: 0, False: 0}
    for rests in lost:
        for seed in range(2):
            rng = np.random.default_rng(seed)
            made = simulate_colony(
                rng, animals=30, years=1, until=date(2025, 7, 1), policy=FixedOrder(rests=rests)
            )
            lost[rests] += sum(s.died is not None for s in made.truth.males)
    assert lost[True] <= 1
    assert lost[False] >= 5


def test_life_can_be_stepped() -> None:
    life = Life(np.random.default_rng(3), animals=14, years=1, until=date(2024, 1, 10))
    begun = life.room.on
    for _ in range(10):
        life.day(FixedOrder())
    assert life.room.on == begun + timedelta(days=10)
    assert life.finished().truth.mass_g("M01", begun + timedelta(days=10)) > 300
