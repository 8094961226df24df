"""The nights on a phone, driven by a real browser."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.test_web_round_page import room

__all__ = ["room"]
pytestmark = pytest.mark.browser


def test_nothing_is_cut_off_and_later_nights_open(pages: str, plain_phone: Page, room: None) -> None:
    plain_phone.goto(pages + "/nights?on=2026-01-13")
    assert plain_phone.evaluate("document.documentElement.scrollWidth") <= 360
    expect(plain_phone.get_by_role("img", name="M1 to F2")).to_be_visible()
    plain_phone.locator("details.night summary").first.click()
    expect(plain_phone.locator("details[open] table")).to_be_visible()
