"""The round by keys alone, at a desk."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from eggtooth.engine.entries import Kind
from eggtooth.records import store
from tests.browser.test_noting import MANY, ON, meals, rack

__all__ = ["rack"]
pytestmark = pytest.mark.browser


@pytest.fixture
def desk(browser: Browser, pages: str, rack: None) -> Iterator[Page]:
    """The meals of a rack on a desk, no key pressed yet."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(f"{pages}/?on={ON}&do=meals")
    expect(page.locator("#keys-show")).to_be_visible()
    yield page
    context.close()


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def gone_to(page: Page) -> Locator:
    return page.locator("li:focus .who")


@pytest.mark.parametrize(("down", "up"), [("j", "k"), ("ArrowDown", "ArrowUp")])
def test_from_line_to_line_and_no_further_than_the_list(desk: Page, down: str, up: str) -> None:
    press(desk, down)
    expect(gone_to(desk)).to_have_text("F01")
    press(desk, down, down, up)
    expect(gone_to(desk)).to_have_text("F02")
    press(desk, up, up, up)
    expect(gone_to(desk)).to_have_text("F01")


def test_lines_are_answered_one_after_the_other_and_the_last_is_taken_back(desk: Page) -> None:
    press(desk, "j", "1")
    expect(gone_to(desk)).to_have_text("F02")
    press(desk, "4")
    expect(gone_to(desk)).to_have_text("F03")
    assert [(e.tag, e.value) for e in meals(desk, 2)] == [("F01", 1), ("F02", 0)]
    press(desk, "u")
    expect(desk.get_by_role("button", name="Ate: F02", exact=True)).to_be_visible()
    desk.wait_for_function("document.querySelector('#told span').textContent === 'Taken back'")
    for _ in range(50):
        if len(meals()) == 1:
            break
        desk.wait_for_timeout(100)
    assert [e.tag for e in meals()] == ["F01"]


def test_the_list_made_anew_keeps_the_place(desk: Page) -> None:
    with desk.expect_response(lambda r: "do=meals" in r.url):
        press(desk, "j", "1", "j")
    desk.wait_for_function("!document.querySelector('main li.done + li[hidden]')")  # it is the new list
    expect(gone_to(desk)).to_have_text("F03")
    press(desk, "j")
    expect(gone_to(desk)).to_have_text("F04")


def test_a_number_is_typed_and_letters_in_a_field_stay_letters(desk: Page, pages: str) -> None:
    desk.goto(f"{pages}/?on={ON}&do=scale")
    press(desk, "j", "1")
    expect(desk.get_by_label("g for F01", exact=True)).to_be_focused()
    desk.keyboard.type("1j9k2u5?0/")
    expect(desk.get_by_label("g for F01", exact=True)).to_have_value("1j9k2u5?0/")
    desk.keyboard.press("ControlOrMeta+a")
    desk.keyboard.type("1925")
    press(desk, "Enter")
    expect(desk.locator("li.done")).to_have_count(1)
    press(desk, "j")
    expect(gone_to(desk)).to_have_text("F02")
    expect(desk.locator("#told span")).to_contain_text("weight 1925 g")  # as the store answers
    assert [e.value for e in store.entries_on(ON) if e.kind is Kind.WEIGHT] == [1925]


def test_to_an_animal_by_its_tag_from_any_page(desk: Page, pages: str) -> None:
    desk.goto(f"{pages}/all")
    press(desk, "/")
    expect(desk.locator("#jump [name=tag]")).to_be_focused()
    desk.keyboard.type("f07")
    press(desk, "Enter")
    expect(desk.get_by_role("heading", name="F07", exact=True)).to_be_visible()
    desk.goto(f"{pages}/find?tag=F0I")
    expect(desk.get_by_role("alert")).to_contain_text("did you mean F01?")


def test_the_keys_are_told_and_can_be_put_off(desk: Page) -> None:
    press(desk, "?")
    told = desk.get_by_role("dialog", name="Keys")
    expect(told.get_by_text("next line of the round")).to_be_visible()
    told.get_by_label("Keys are on").uncheck()
    press(desk, "Escape", "j")
    expect(desk.locator("li:focus")).to_have_count(0)
    desk.reload()
    press(desk, "?")
    expect(told).to_be_hidden()
    desk.get_by_role("button", name="Keys", exact=True).click()
    told.get_by_label("Keys are on").check()
    press(desk, "Escape", "j")
    expect(gone_to(desk)).to_have_text(MANY[0])


def test_nothing_is_pressed_before_a_line_is_gone_to(desk: Page) -> None:
    press(desk, "1", "w", "u")
    desk.wait_for_timeout(300)
    assert meals() == []
