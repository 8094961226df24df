"""The sort of work chosen is in sight on a phone, also after the list was made anew."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.test_noting import ON, rack

__all__ = ["rack"]
pytestmark = pytest.mark.browser


def test_the_sort_chosen_is_in_sight(browser: Browser, pages: str, rack: None) -> None:
    page = browser.new_page(viewport={"width": 200, "height": 740})
    page.goto(f"{pages}/?on={ON}&do=scale")
    chosen = page.locator(".sorts [aria-current]")
    expect(chosen).to_be_in_viewport(ratio=0.95)
    with page.expect_response(lambda r: "do=scale" in r.url):
        page.get_by_label("g for F01", exact=True).fill("1790")
        page.get_by_label("g for F01", exact=True).press("Enter")
    page.wait_for_timeout(300)
    expect(chosen).to_be_in_viewport(ratio=0.95)
    page.close()
