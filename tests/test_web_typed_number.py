"""Commas for points and °F where the house reads °F; entries stay in °C."""

from __future__ import annotations

from dataclasses import replace
from uuid import uuid4

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.rounds.moving import COOLEST_C
from eggtooth.records import store
from eggtooth.web.typed_number import from_celsius, to_celsius, value_typed, with_point
from tests.house import HERE, ON, bred, page

__all__ = ["bred"]
WARM = Settings(fahrenheit=True)


@pytest.mark.parametrize(
    ("typed", "read"),
    [("31,5", "31.5"), (" 1925,0 ", "1925.0"), ("-0,5", "-0.5"), (",5", ".5"), ("1.5", "1.5"), ("7", "7")]
    + [(t, t) for t in ("1,2,3", "1.234,5", "a,b", "31,", "")],
)
def test_a_comma_is_a_point_where_it_can_be_nothing_else(typed: str, read: str) -> None:
    assert with_point(typed) == read


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (31.5, 88.7), (-40, -40)])
def test_the_fixed_points_of_the_scales(celsius: float, fahrenheit: float) -> None:
    """Freezing and boiling of water and where the scales meet; 31.5 °C is 88.7 °F."""
    assert from_celsius(celsius, WARM) == pytest.approx(fahrenheit)
    assert to_celsius(fahrenheit, WARM) == pytest.approx(celsius, abs=1e-6)


@given(st.integers(-400, 1000).map(lambda n: n / 10))
def test_what_is_shown_and_typed_again_is_the_same(celsius: float) -> None:
    assert to_celsius(from_celsius(celsius, WARM), WARM) == pytest.approx(celsius, abs=1e-6)
    assert value_typed("temperature", f"{celsius}", Settings()) == f"{celsius}"


def test_only_temperatures_are_turned() -> None:
    assert value_typed("weight", "1925,5", WARM) == "1925.5"
    assert float(value_typed("temperature", "88,7", WARM)) == pytest.approx(31.5)
    assert value_typed("temperature", "warm", WARM) == "warm"


def test_a_difference_has_no_zero() -> None:
    assert WARM.warmer(5) == "9 °F" and WARM.warmth(COOLEST_C) == "71.6 °F"
    assert Settings().warmer(5) == "5 °C" and Settings().warmth(31.5) == "31.5 °C"


@pytest.fixture
def in_fahrenheit(bred: None) -> None:
    store.save_settings(replace(store.settings(), fahrenheit=True), "keeper")


def test_settings_are_shown_and_taken_in_the_unit_of_the_house(in_fahrenheit: None) -> None:
    text = page("/settings")
    assert 'name="incubator_c" value="88.7"' in text and "Incubator, °F" in text
    before = store.settings()
    usual = {f: v.replace(".", ",") for f, v in _form(text).items()}
    sent = usual | {"incubator_c": "89,6", "seen": str(len(store.settings_past())), "fahrenheit": "on"}
    answer = Client().post("/settings", _dates(before) | sent, **HERE)
    assert answer.status_code == 302, answer.content
    assert store.settings() == replace(before, incubator_c=32.0)


def _form(text: str) -> dict[str, str]:
    import re

    return dict(re.findall(r'<input name="(\w+)" value="([\d.]+)" inputmode', text))


def _dates(now: Settings) -> dict[str, object]:
    names = ("year_turns", "season_opens", "season_closes", "cool_from", "warm_from")
    days = {f"{n}-month": getattr(now, n)[0] for n in names} | {f"{n}-day": getattr(now, n)[1] for n in names}
    return {**days, "night": list(now.pairing_nights), "quarantine_racks": ",".join(now.quarantine_racks)}


def test_records_show_the_unit_of_the_house(in_fahrenheit: None) -> None:
    key = str(uuid4())
    store.add_entries([Entry(key, ON, None, "BOX", Kind.TEMPERATURE, 25.0, None, "keeper")])
    assert "BOX temperature 77 °F" in page("/records?kind=temperature")
    assert 'name="value" value="77"' in page(f"/records/{key}")


def test_the_cooler_nights_are_told_in_the_unit_of_the_house(in_fahrenheit: None) -> None:
    text = page("/?on=2025-11-16")
    assert "never below 71.6 °F" in text and "°C" not in text
    drop = store.settings().night_drop_c * 1.8
    assert f"{drop:g} °F cooler" in text


def test_a_weight_with_a_comma_is_taken_everywhere(bred: None) -> None:
    sent = {"key": str(uuid4()), "tag": "GROWING", "kind": "weight", "value": "1925,5", "detail": ""}
    assert Client().post("/note/entry", sent, **HERE).status_code == 302
    tap = {"tap": f"{uuid4().hex}|grams|ANVIL|", "number": "801,5"}
    assert Client().post("/note", tap, **HERE).status_code == 302
    kept = {e.tag: e.value for e in store.entries_on(ON) if e.kind is Kind.WEIGHT}
    assert kept["GROWING"] == 1925.5 and kept["ANVIL"] == 801.5
