"""The round on a phone, driven by a real browser."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.test_web_round_page import room

__all__ = ["room"]
pytestmark = pytest.mark.browser
DAY = "/?on=2026-01-13"


def test_one_tap_notes_and_one_tap_undoes(pages: str, phone: Page, room: None) -> None:
    phone.goto(pages + DAY)
    phone.get_by_role("button", name="Locked: M1").tap()
    expect(phone.get_by_text("locked this morning")).to_be_visible()
    phone.get_by_role("status").get_by_role("button", name="Undo").tap()
    expect(phone.get_by_text("locked this morning")).to_have_count(0)


def test_works_without_javascript(pages: str, plain_phone: Page, room: None) -> None:
    plain_phone.goto(pages + DAY)
    plain_phone.get_by_role("button", name="Locked: M1").click()
    expect(plain_phone.get_by_text("locked this morning")).to_be_visible()


def test_nothing_is_cut_off_at_360_px(pages: str, phone: Page, room: None) -> None:
    phone.goto(pages + DAY)
    assert phone.evaluate("document.documentElement.scrollWidth") <= 360


def test_taps_are_large_enough_for_gloves(pages: str, phone: Page, room: None) -> None:
    phone.goto(pages + DAY)
    for box in (b.bounding_box() for b in phone.get_by_role("button").all()):
        assert box and box["height"] >= 44 and box["width"] >= 44


def test_why_opens_the_entries(pages: str, phone: Page, room: None) -> None:
    phone.goto(pages + DAY)
    line = phone.locator("details").filter(has_text="together since 12 Jan")
    line.locator("summary").click()
    expect(line.get_by_text("12 Jan 2026 M1 put with F1")).to_be_visible()


def test_a_why_that_is_read_stays_open_when_the_list_is_made_anew(
    pages: str, phone: Page, room: None
) -> None:
    asked = []
    phone.on("request", lambda r: asked.append(r.url) if r.url.endswith(DAY) else None)
    phone.goto(pages + DAY)
    why = phone.locator("details").filter(has_text="together since 12 Jan")
    why.locator("summary").click()
    with phone.expect_response(lambda r: r.url.endswith(DAY)):
        phone.get_by_role("button", name="Refused: F1").tap()
    expect(phone.get_by_role("button", name="Refused: F1")).to_have_count(0)
    expect(why).to_have_attribute("open", "")
    assert len(asked) == 2, "once to open the page, and once for what was noted"
