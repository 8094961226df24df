"""Weighing and scanning with taps alone; the typed way with and without the script."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from eggtooth.engine.entries import Kind
from eggtooth.records import store
from tests.browser.test_noting import ON, rack

__all__ = ["rack"]
pytestmark = pytest.mark.browser
PHONE = {"width": 360, "height": 740}


def weights() -> list[tuple[str, float | None]]:
    return [(e.tag, e.value) for e in store.entries_on(ON) if e.kind is Kind.WEIGHT]


def test_a_weighing_takes_taps_only(browser: Browser, pages: str, rack: None) -> None:
    page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
    page.goto(f"{pages}/?on={ON}&do=scale")
    first = page.locator("main .tub > ul > li:not(.done):visible").first
    expect(first.get_by_role("button", name="Note")).to_be_hidden()
    first.get_by_role("button", name="about 1800").click()
    for tap in ("+50", "−10", "−1", "−1"):
        first.get_by_role("button", name=tap, exact=True).click()
    expect(first.get_by_label("g for F01", exact=True)).to_have_value("1838")
    assert weights() == []
    for tap in first.get_by_role("group").get_by_role("button").all():
        box = tap.bounding_box()
        assert box and box["width"] >= 44 and box["height"] >= 44 and box["x"] + box["width"] <= 360
    first.get_by_role("button", name="Note").click()
    expect(page.locator("#told span")).to_contain_text("weight 1838 g")
    assert weights() == [("F01", 1838)]
    page.close()


def test_a_number_begun_is_not_lost_when_the_list_is_made_anew(
    browser: Browser, pages: str, rack: None
) -> None:
    page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
    page.goto(f"{pages}/?on={ON}&do=scale")
    page.get_by_label("g for F01", exact=True).fill("1790")
    page.get_by_label("g for F01", exact=True).press("Enter")
    second = page.locator("main .tub > ul > li:not(.done):visible").first
    second.get_by_role("button", name="about 1800").click()
    page.wait_for_timeout(2500)  # the list would have been made anew by now
    expect(page.get_by_label("g for F02", exact=True)).to_have_value("1800")
    with page.expect_response(lambda r: "do=scale" in r.url):
        second.get_by_role("button", name="Note").click()
    assert weights() == [("F01", 1790), ("F02", 1800)]
    page.close()


def test_without_the_script_numbers_are_typed(browser: Browser, pages: str, rack: None) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(f"{pages}/?on={ON}&do=scale")
    expect(page.get_by_role("button", name="about 1800").first).to_be_hidden()
    page.get_by_label("g for F01", exact=True).fill("1812,5")
    page.get_by_role("button", name="Note").first.click()
    expect(page.locator("#told")).to_contain_text("1812.5")
    context.close()


def test_any_animal_is_weighed_with_taps(browser: Browser, pages: str, rack: None) -> None:
    page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
    page.goto(f"{pages}/animal/F07/note?on={ON}")
    form = page.locator("form.step")
    form.get_by_role("button", name="about 1800").click()
    form.get_by_role("button", name="+10", exact=True).click()
    form.get_by_role("button", name="Weighed").click()
    expect(form.get_by_role("group")).to_have_count(0)
    expect(page.locator("#told span")).to_contain_text("(+10 g since")
    assert weights() == [("F07", 1810)]
    page.close()
