"""The first evening: an empty store, a look around in an invented colony and back, then the first animals."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from eggtooth.records import store

pytestmark = pytest.mark.browser


def test_an_empty_store_leads_by_the_hand(pages: str, phone: Page) -> None:
    phone.goto(pages)
    phone.get_by_role("link", name="Add the first animal").tap()
    phone.locator("main [name=tag]").fill("F1")
    phone.locator("[name=sex]").select_option("F")
    phone.locator("[name=genes]").fill("Pastel")
    phone.locator("[name=tub]").fill("A-1-1")
    phone.get_by_role("button", name="Keep").tap()
    expect(phone.get_by_role("heading", name="F1")).to_be_visible()
    phone.goto(pages)
    expect(phone.get_by_text("No animals yet")).to_have_count(0)


def test_an_invented_colony_is_looked_at_and_left_without_a_trace(pages: str, phone: Page) -> None:
    phone.goto(pages)
    phone.get_by_role("button", name="Look around").tap()
    phone.get_by_role("link", name="Look around").tap()
    expect(phone.get_by_role("button", name="Locked").first).to_be_visible(timeout=20_000)
    phone.get_by_role("button", name="Locked").first.tap()
    expect(phone.locator("li.done")).to_be_visible()
    invented = phone.url
    phone.get_by_role("button", name="Leave it").tap()
    phone.get_by_role("link", name="Back to your own").tap()
    expect(phone).to_have_url(re.compile(re.escape(pages)))
    assert store.colony().animals == {}
    for _ in range(100):
        try:
            phone.request.get(invented, timeout=1000)
        except Exception:  # nobody answers any more
            break
        phone.wait_for_timeout(100)
    else:
        pytest.fail("the invented colony is still served")
