"""The plan of pairs on a small phone without JavaScript: look, try a pin, keep it."""

from __future__ import annotations

from datetime import date

import pytest
from playwright.sync_api import Page, expect

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store

pytestmark = pytest.mark.browser


def test_wish_plan_try_and_keep(plain_phone: Page, pages: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EGGTOOTH_TODAY", "2025-12-01")
    house = {"M1": ("Clown", 800.0), "M2": ("het Clown", 820.0), "F1": ("Clown", 1900.0)}
    store.save_animals(
        Animal(tag, Sex(tag[0]), "", date(2019, 6, 1), genes, tub=Tub("A", 1, k))
        for k, (tag, (genes, _)) in enumerate(house.items())
    )
    store.add_entries(
        Entry(f"{k:032x}", date(2025, 11, 20), None, tag, Kind.WEIGHT, grams, None)
        for k, (tag, (_, grams)) in enumerate(house.items(), 1)
    )
    plain_phone.goto(f"{pages}/wishes")
    plain_phone.get_by_label("Wish", exact=True).fill("Clwn")
    plain_phone.get_by_role("button", name="Wish for it").click()
    expect(plain_phone.get_by_role("alert")).to_contain_text("did you mean Clown?")
    plain_phone.get_by_label("Wish", exact=True).fill("Clown")
    plain_phone.get_by_role("button", name="Wish for it").click()
    plain_phone.get_by_role("link", name="See the plan for these wishes").click()
    plain_phone.wait_for_load_state()
    assert plain_phone.evaluate("document.documentElement.scrollWidth") == 360
    plain_phone.get_by_text("why, and change it").click()
    plain_phone.get_by_label("Another male").fill("M2")
    plain_phone.get_by_role("button", name="Try him").click()
    expect(plain_phone.get_by_role("status")).to_contain_text("F1: M1 → M2")
    plain_phone.get_by_role("button", name="Keep it").click()
    expect(plain_phone.get_by_text("pinned", exact=True)).to_be_visible()
    assert store.choices() == {("M2", "F1"): "pin"}
