"""The pages of pictures in a real browser: nothing runs off sideways, open or closed, phone or desk."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from tests.house import bred

__all__ = ["bred"]
pytestmark = pytest.mark.browser
PAGES = (
    "/season",
    "/males",
    "/ready",
    "/clutches",
    "/feeders?weeks=26",
    "/review?season=this",
    "/animal/GROWING",
    "/animal/ANVIL",
)
OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"


def widest(page: Page) -> int:
    found: int = page.evaluate("document.documentElement.scrollWidth")
    return found


@pytest.mark.parametrize("wide", [360, 1280])
def test_nothing_runs_off_sideways(browser: Browser, pages: str, bred: None, wide: int) -> None:
    page = browser.new_page(locale="en-GB", viewport={"width": wide, "height": 800})
    for path in PAGES:
        answer = page.goto(pages + path)
        assert answer and answer.ok, path
        assert widest(page) <= wide, path
        page.evaluate(OPEN_ALL)
        assert widest(page) <= wide, f"{path} with everything open"
    page.close()


def test_the_months_and_today_run_through_every_strip(pages: str, phone: Page, bred: None) -> None:
    phone.goto(pages + "/season")
    strips = phone.locator(".strips .strip")
    assert strips.count() == 5
    for strip in strips.all():
        box = strip.bounding_box()
        assert box and box["width"] > 300
        assert strip.locator("use").evaluate("u => u.getBBox().height") > 20


def test_circles_are_round_at_any_width(pages: str, phone: Page, bred: None) -> None:
    phone.goto(pages + "/animal/GROWING")
    for circle in phone.locator(".plane circle").all():
        box = circle.bounding_box()
        assert box and abs(box["width"] - box["height"]) < 0.5


def test_nothing_is_refused_by_the_content_policy(pages: str, phone: Page, bred: None) -> None:
    refused: list[str] = []
    phone.on("console", lambda m: refused.append(m.text) if m.type == "error" else None)
    for path in PAGES:
        phone.goto(pages + path)
    assert refused == []
