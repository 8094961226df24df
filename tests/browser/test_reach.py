"""Every page for everybody: by keyboard, thumb, screen reader, at twice the size, in light and dark.

What a page must hold are the Web Content Accessibility Guidelines 2.2 (https://www.w3.org/TR/WCAG22/), tried
by axe-core and by the checks below; a target of 44 px is its success criterion 2.5.5.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import get_resolver, resolve
from playwright.sync_api import Browser, Page

import eggtooth.web
from eggtooth.jobs.invent import invent, keep
from eggtooth.records import store
from tests.shots import ON, PAGES

pytestmark = pytest.mark.browser
SENT_TO = {
    "note",
    "note-entry",
    "undo",
    "sign-out",
    "look-around",
    "leave",
    "entry-correct",
    "choose",
    "go-by",
    "rates-choose",
    "again",
    "photo-remove",
}
NOT_PAGES = {"take", "labels-pdf", "photo", "calendar", "worker", "certificate"}
FOR_BEGINNERS = {"first-password"}  # tried in test_first_password
ASKS_A_FILE = {"bring-sheet"}
AT_NIGHT = (
    "round",
    "room",
    "tub",
    "scale",
    "feeding",
    "note-animal",
    "hatchlings-enter",
    "records",
    "settings",
    "all",
)
CHECKS = (Path(__file__).parent / "reach.js").read_text()
AXE = Axe()
STATIC = Path(eggtooth.web.__file__).parent / "static"


@pytest.fixture(scope="module")
def invented() -> object:
    return invent(1, ON)


@pytest.fixture
def house(fresh_store: Path, invented: Any, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The addresses of all pages of an invented colony."""
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    keep(invented, fresh_store)
    entry = max(e.id for e in store.entries_on(ON))
    return [*PAGES.values(), f"/records/{entry}"]


def test_no_page_is_left_out(house: list[str]) -> None:
    tried = {resolve(path.partition("?")[0].partition("#")[0]).url_name for path in house}
    named = {p.name for p in get_resolver().url_patterns if getattr(p, "name", None)}
    assert named - SENT_TO - NOT_PAGES - ASKS_A_FILE - FOR_BEGINNERS == tried


@pytest.fixture(params=[360, 1280])
def screen(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": request.param, "height": 740}, reduced_motion="reduce")
    context.add_init_script(CHECKS)
    yield context.new_page()
    context.close()


def test_every_page_can_be_reached_by_everybody(pages: str, house: list[str], screen: Page) -> None:
    wrong = [f"{path}: {w}" for path in house for w in _wrong_with(screen, pages + path)]
    assert not wrong, "\n".join(wrong)


def test_no_page_runs_off_sideways_in_longer_words(pages: str, house: list[str], browser: Browser) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740}, locale="de-DE")
    page, wrong = context.new_page(), []
    for path in (PAGES[name] for name in AT_NIGHT):
        page.goto(pages + path)
        wrong += [f"{path}: {w}" for w in _sideways(page)]
    context.close()
    assert not wrong, "\n".join(wrong)


def _wrong_with(page: Page, address: str) -> list[str]:
    size = page.viewport_size
    answer = page.goto(address)
    assert answer and answer.status in (200, 400, 404, 422) and size, address  # 4xx: it asks again
    page.emulate_media(color_scheme="light")
    page.keyboard.press("Tab")
    found = page.evaluate("reach.all()")
    found += _by_axe(page) + _sideways(page)
    if size["width"] == 360:  # the colours of a desk are the same
        page.emulate_media(color_scheme="dark")
        found += [f"dark: {w}" for w in _by_axe(page, "color-contrast")]
    if size["width"] == 1280:
        page.set_viewport_size({"width": 640, "height": 400})
        found += [f"at twice the size: {w}" for w in _sideways(page)]
        page.set_viewport_size(size)
    return found  # type: ignore[no-any-return]


def _by_axe(page: Page, *rules: str) -> list[str]:
    page.wait_for_load_state()
    options: dict[str, Any] = {"resultTypes": ["violations"]}
    if rules:
        options["runOnly"] = {"type": "rule", "values": rules}
    return [
        f"{v['impact']} {v['id']} {n['html'][:160]} {n['any'][:1] and n['any'][0]['message']}"
        for v in AXE.run(page, options=options).response["violations"]
        if v["impact"] in ("serious", "critical")
        for n in v["nodes"][:3]
    ]


def _sideways(page: Page) -> list[str]:
    page.wait_for_load_state()  # a page just gone to may have no root yet
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return [f"{wide} px run off sideways"] if wide > 0 else []


def test_the_skip_link_goes_to_the_main_part(pages: str, phone: Page) -> None:
    phone.goto(pages)
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.activeElement.textContent") == "Skip to the main part"
    phone.keyboard.press("Enter")
    assert phone.evaluate("document.activeElement.id") == "main"
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.getElementById('main').contains(document.activeElement)")


@pytest.mark.parametrize(("wish", "scrolling"), [("reduce", "auto"), ("no-preference", "smooth")])
def test_nothing_moves_for_who_wants_no_motion(
    pages: str, browser: Browser, wish: Literal["reduce", "no-preference"], scrolling: str
) -> None:
    page = browser.new_page(reduced_motion=wish)
    page.goto(pages)
    assert page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == scrolling
    page.close()


def test_tab_goes_through_the_page_in_its_own_order(pages: str, house: list[str], phone: Page) -> None:
    phone.add_init_script(CHECKS)
    for path in ("/", "/cross", "/settings", "/plan"):
        phone.goto(pages + path)
        wanted = phone.evaluate("reach.order(12)")
        walked = []
        for _ in wanted:
            phone.keyboard.press("Tab")
            walked.append(phone.evaluate("reach.at()"))
        assert walked == wanted, path


def test_no_style_moves_anything_by_itself() -> None:
    for sheet in STATIC.glob("*.css"):
        text = sheet.read_text()
        assert "animation" not in text and "transition" not in text, sheet.name
