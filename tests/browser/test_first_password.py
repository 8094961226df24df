"""Let in by an owner, then in with a password of one's own: on a phone and a desk, without JavaScript too."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from eggtooth.records import people
from eggtooth.records.people import Role
from tests.browser.test_reach import CHECKS, _by_axe, _sideways

pytestmark = pytest.mark.browser
OWNER, OWN = "a long enough pass phrase", "four words of my own"


def sign_in(page: Page, at: str, name: str, password: str) -> None:
    page.goto(f"{at}/sign-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


@pytest.mark.parametrize("width", [360, 1280])
def test_from_being_let_in_to_the_round(
    pages: str, browser: Browser, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    people.add("Ada", Role.OWNER, OWNER)
    size = {"width": width, "height": 740}
    desk = browser.new_context(viewport=size).new_page()  # type: ignore[arg-type]
    phone = browser.new_context(viewport=size, java_script_enabled=False).new_page()  # type: ignore[arg-type]
    sign_in(desk, pages, "Ada", OWNER)
    expect(desk).to_have_url(f"{pages}/")
    desk.goto(f"{pages}/people")
    desk.get_by_label("Name").fill("Ben")
    desk.get_by_role("button", name="Let in", exact=True).click()
    first = desk.locator("code.first").inner_text()
    assert _sideways(desk) == [] and _by_axe(desk) == []

    sign_in(phone, pages, "Ben", first)
    expect(phone).to_have_url(f"{pages}/first-password")
    assert _sideways(phone) == []
    phone.goto(f"{pages}/room")
    assert phone.url.endswith("/first-password")
    phone.get_by_label("The first password").fill(first)
    phone.get_by_label("Your own").fill(OWN)
    phone.get_by_role("button", name="Keep it").click()
    expect(phone).to_have_url(f"{pages}/")
    phone.goto(f"{pages}/room")
    assert phone.url.endswith("/room")

    desk.goto(f"{pages}/people/book")
    assert "Ben chose a password" in desk.inner_text("main")
    assert _sideways(desk) == [] and _by_axe(desk) == []
    for page in (desk, phone):
        page.context.close()


@pytest.mark.parametrize("width", [360, 1280])
def test_the_page_can_be_reached_by_everybody(
    pages: str, browser: Browser, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    from eggtooth.records.first_passwords import let_in

    monkeypatch.setenv("EGGTOOTH_SIGN_IN", "1")
    context = browser.new_context(viewport={"width": width, "height": 740}, reduced_motion="reduce")
    context.add_init_script(CHECKS)
    page = context.new_page()
    sign_in(page, pages, "Ben", let_in("Ben", Role.HELPER).password)
    page.get_by_label("The first password").fill("wrong")
    page.get_by_label("Your own").fill(OWN)
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("main")).to_contain_text("The present password is wrong")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        assert page.evaluate("reach.all()") + _by_axe(page) + _sideways(page) == []
    context.close()
