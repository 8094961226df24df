"""Which incubator a clutch lies in: by its own temperatures it pips, in a house of one as in one of many."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Colony, Incubator, Sex
from eggtooth.engine.eggs.incubation import warmth
from eggtooth.engine.entries import Detail, Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.clutches import Clutch, clutches_on, house_on
from eggtooth.engine.planning.warmed import warmed
from eggtooth.records import store
from tests.house import HERE, bred, page
from tests.house import ON as TODAY

__all__ = ["bred"]
ON = date(2026, 4, 1)
LAID = 30
Noted = tuple[str, int, Kind, float | None, Detail]


def house(*noted: Noted, boxes: int = 2) -> Colony:
    """F0 laid thirty days ago; the first incubator runs at 29 °C, the second at 33 °C."""
    heat: list[Noted] = [
        (f"I{b}", d, Kind.TEMPERATURE, 29.0 + 4 * (b - 1), None) for b in (1, 2) for d in range(-120, 1)
    ]
    told = [("F0", -LAID, Kind.LAID, 6, None), *heat, *noted]
    entries = [
        Entry(str(i), ON + timedelta(days=d), None, tag, k, v, detail)
        for i, (tag, d, k, v, detail) in enumerate(told)
        if tag != "I2" or boxes > 1
    ]
    incubators = [Incubator(f"I{b}", 4, 29.0 + 4 * (b - 1)) for b in range(1, boxes + 1)]
    return Colony.of([Animal("F0", Sex.FEMALE, hatched=date(2020, 1, 1))], entries, incubators=incubators)


def clutch(*noted: Noted, boxes: int = 2) -> Clutch:
    return clutches_on(house(*noted, boxes=boxes), ON, Settings())[0]


def put(box: str, days_ago: int = LAID) -> Noted:
    return "F0", -days_ago, Kind.EGGS, 6, box


def test_a_clutch_put_into_one_of_two_pips_as_in_a_house_of_that_one() -> None:
    alone, placed, hot = clutch(boxes=1), clutch(put("in I1")), clutch(put("in i2"))
    assert placed.pip == alone.pip and placed.box == "I1" and "29.0 °C so far, in I1" in placed.why
    assert hot.box == "I2" and hot.pip.q75 < placed.pip.q05


def test_where_it_is_not_noted_the_mean_of_the_targets_stands_in_and_it_is_said() -> None:
    plain = clutch()
    assert plain.box == "" and "kept at 31 °C, in which incubator is not noted" in plain.why
    assert clutch(put("in I9")).pip == clutch(put("in good shape")).pip == plain.pip


def test_a_clutch_that_moved_had_the_temperatures_of_both() -> None:
    found = warmed(colony := house(put("in I1", 28), put("candled, in I2", 10)), ON, Settings())
    seen = History(colony.of_animal("F0"), ON)
    heat, target = found.of(seen, seen.all(Kind.LAID)[0])
    told = {(ON - e.on).days: e.value for e in heat}
    assert target == 33.0 and told[10] == 33.0 and told[11] == 29.0 and told[30] == 29.0
    moved = clutch(put("in I1"), put("in I2", 10)).pip.q50
    assert clutch(put("in I2")).pip.q50 < moved < clutch(put("in I1")).pip.q50


def test_days_ahead_stray_as_the_incubator_does_that_holds_it_now() -> None:
    colony = house(put("in I1", 28), put("in I2", 3))
    seen = History(colony.of_animal("F0"), ON)
    laid = seen.all(Kind.LAID)[0]
    heat, target = warmed(colony, ON, Settings()).of(seen, laid)
    warm = warmth(laid.on, heat, target, ON)
    assert warm.celsius[LAID + 1] == pytest.approx(33.0), "as set, though the last two weeks were cooler"
    assert (warm.celsius[LAID], warm.celsius[LAID - 4]) == (33.0, 29.0)


def test_putting_eggs_somewhere_is_not_candling_them() -> None:
    assert "not candled yet" in clutch(put("in I1", 5)).why
    assert "not candled yet" not in clutch(put("candled, in I1", 5)).why
    assert "not candled yet" not in clutch(put("candled", 8), put("in I1", 5)).why


def test_past_clutches_teach_by_the_incubator_they_lay_in() -> None:
    pipped: list[Noted] = [("F0", 0, Kind.PIPPED, 6, None), ("F0", -60, Kind.LAID, 6, None)]
    kept = Kept()
    for box in ("in I1", "in I2"):
        colony = house(*pipped, put(box, 60))
        told = house_on(colony, ON, Settings(), kept)
        assert told == house_on(colony, ON, Settings()) and told.clutches
    hot, cool = (house_on(house(*pipped, put(b, 60)), ON, Settings()) for b in ("in I2", "in I1"))
    assert hot.shift > cool.shift, "as many days, at more heat: these eggs are slow"


@pytest.fixture
def two(bred: None) -> None:
    store.save_incubators([Incubator("BOX", 2, 31.5), Incubator("COOL ONE", 2, 29.0)])


def test_a_tap_says_where_a_clutch_lies_and_once(two: None) -> None:
    html = page("/clutches")
    assert "In which incubator is not noted:" in html and "into BOX" in html
    key = uuid4().hex
    said = {"kind": "eggs", "tag": "LYING", "value": "6", "place": f"{key} COOL ONE", "on": TODAY.isoformat()}
    for _ in range(2):
        assert Client().post("/note/entry", said | {"back": "/clutches"}, **HERE).status_code == 302
    (entry,) = (e for e in store.entries_on(TODAY) if e.kind is Kind.EGGS)
    assert (entry.tag, entry.value, entry.detail) == ("LYING", 6, "in COOL ONE")
    html = page("/clutches")
    assert "Lies in COOL ONE." in html and "into COOL ONE" not in html and "into BOX" in html
    assert 'Holds the clutches of <a href="/animal/LYING">LYING</a>.' in html


def test_a_house_of_one_incubator_is_not_asked(bred: None) -> None:
    assert "incubator is not noted" not in page("/clutches") and "into BOX" not in page("/clutches")
