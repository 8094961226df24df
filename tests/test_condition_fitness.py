"""Who is fit to breed, held against figures of the trade (common practice, no source)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.fitness import Ready, ready_all
from eggtooth.engine.entries import Detail, Entry, Kind, Sign
from eggtooth.engine.house import Settings

ON = date(2026, 1, 10)
Noted = tuple[date, Kind, float | None, Detail]


def ready(sex: str, months: float | None, *noted: Noted, settings: Settings | None = None) -> Ready:
    born = None if months is None else ON - timedelta(days=round(months * 30.44))
    animal = Animal("A1", Sex(sex), hatched=born)
    entries = [Entry(str(i), d, None, "A1", k, v, detail) for i, (d, k, v, detail) in enumerate(noted)]
    return ready_all(Colony.of([animal], entries), ON, settings or Settings())[0]


def weighed(grams: float, days_ago: int = 3) -> Noted:
    return (ON - timedelta(days=days_ago), Kind.WEIGHT, grams, None)


def rising(chances: Sequence[float]) -> bool:
    return list(chances) == sorted(chances) and len(set(chances)) == len(chances)


def test_light_female_of_18_months_fed_through_the_season_may_make_it() -> None:
    found = ready("F", 18.3, weighed(1180, 60), weighed(1240, 30), weighed(1300))
    assert 0.2 < found.p_now < 0.6
    assert found.p_now < found.p_by < 0.98
    assert found.dates[1] is not None and ON <= found.dates[1] <= date(2026, 6, 1)
    assert "of 100 make it by" in found.why


def test_usual_and_best_female_masses() -> None:
    chances = [ready("F", 30, weighed(g)).p_now for g in (900, 1300, 1500, 1900)]
    assert rising(chances) and chances[0] < 0.1 and chances[2] > 0.6 and chances[3] > 0.95


def test_males_from_500_best_at_600_to_700() -> None:
    chances = [ready("M", 14, weighed(g)).p_now for g in (350, 500, 620, 720)]
    assert rising(chances) and chances[0] < 0.15 and chances[3] > 0.7


def test_heavy_male_is_told_to_grow_lazy() -> None:
    assert "lazy" in ready("M", 60, weighed(1150)).why


def test_too_young_is_not_ready_whatever_the_mass() -> None:
    male, female = ready("M", 5, weighed(520)), ready("F", 14, weighed(1500))
    assert male.p_now == female.p_now == 0
    assert male.dates[0] is not None and male.dates[0] >= ON + timedelta(days=110)
    assert female.dates[0] is not None and female.dates[0] >= ON + timedelta(days=110)


def test_a_sperm_plug_shows_a_ripe_male() -> None:
    plug: Noted = (ON - timedelta(days=5), Kind.SIGN, None, Sign.SPERM_PLUG)
    without, seen = ready("M", 8, weighed(450)), ready("M", 8, weighed(450), plug)
    assert without.p_now == 0 and seen.p_now > 0.9
    assert any(e.kind is Kind.SIGN for e in seen.entries)


def test_no_hatch_date_is_no_bar() -> None:
    assert ready("F", None, weighed(1900)).p_now > 0.9


def test_never_weighed_has_a_chance_and_is_told_so() -> None:
    found = ready("F", None)
    assert 0.2 < found.p_now < 0.9 and "weigh" in found.why
    assert found.mass_g[2] / found.mass_g[0] > 3


def test_she_regains_95_percent_before_she_breeds_again() -> None:
    before: Noted = (date(2024, 11, 1), Kind.WEIGHT, 2000, None)
    laid: Noted = (date(2025, 4, 20), Kind.LAID, 7, None)
    after: Noted = (date(2025, 5, 1), Kind.WEIGHT, 1340, None)
    thin = ready("F", 60, before, laid, after, weighed(1600, 40), weighed(1620))
    full = ready("F", 60, before, laid, after, weighed(1960, 40), weighed(1980))
    assert thin.p_now < 0.05 and full.p_now > 0.85
    assert "95 %" in thin.why


def test_one_clutch_a_year() -> None:
    """Myhrvold et al. 2015: one clutch a year."""
    found = ready("F", 60, weighed(1900, 60), (ON - timedelta(days=5), Kind.LAID, 6, None), weighed(1890, 1))
    assert found.p_now == 0 and found.dates[0] is not None and found.dates[0] >= date(2026, 9, 1)


def test_much_lighter_than_its_best_is_not_fit() -> None:
    history = [
        weighed(g, d) for g, d in ((2000, 200), (2010, 160), (1990, 120), (1800, 60), (1700, 30), (1650, 3))
    ]
    found = ready("F", 60, *history)
    assert found.p_now < 0.3 and "below its best" in found.why


def test_the_keepers_own_least_mass_moves_the_bar() -> None:
    strict = ready("F", 40, weighed(1500), settings=Settings(female_least_g=1800))
    assert strict.p_now < ready("F", 40, weighed(1500)).p_now


def test_nobody_of_known_sex_gives_nothing() -> None:
    assert ready_all(Colony.of([Animal("X")]), ON, Settings()) == []
