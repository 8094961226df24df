"""After signing out no page that was seen before opens from what the browser kept."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.test_noting import ON, Room, rack, room

__all__ = ["rack", "room"]
pytestmark = pytest.mark.browser
KEPT = "caches.open('pages').then(c => c.keys()).then(k => k.map(r => new URL(r.url).pathname))"
SIGN_OUT = """() => {
  const form = document.querySelector("form[method=post]:has(input[name=csrfmiddlewaretoken])");
  form.action = "/sign-out";
  form.submit();
}"""


def test_pages_kept_for_no_network_are_gone(room: Room, phone: Page) -> None:
    phone.goto(f"{room.address}/?on={ON}&do=meals")
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    phone.reload()
    assert "/" in phone.evaluate(KEPT)
    phone.evaluate(SIGN_OUT)
    phone.wait_for_url("**/sign-in")
    assert not {"/", "/room", "/records"} & set(phone.evaluate(KEPT))
