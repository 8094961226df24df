"""Parts of pages kept as they were drawn: never older than what they show, never the same taps twice."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client

from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store
from eggtooth.web import drawn
from tests.house import HERE, ON, bred

__all__ = ["bred"]
KEY = re.compile(r'value="([0-9a-f]{32})\|')
PAGES = ["/", "/season", "/males", "/clutches", "/ready", "/ready?sex=M"]
pytestmark = pytest.mark.usefixtures("bred")


def sent(path: str, language: str = "en", client: Client | None = None) -> str:
    answer = (client or Client()).get(path, **HERE, HTTP_ACCEPT_LANGUAGE=language)
    assert answer.status_code == 200
    return str(answer.content.decode())


def plain(text: str) -> str:
    """Without what differs from page to page."""
    text = re.sub(r'(name="csrfmiddlewaretoken" value=")[^"]*', r"\1", text)
    return KEY.sub("", text)


@pytest.mark.parametrize("path", PAGES)
def test_a_page_sent_again_is_the_page_drawn_anew(path: str) -> None:
    first = sent(path)
    again = sent(path)
    drawn.forget()
    assert plain(first) == plain(again) == plain(sent(path))


def test_each_page_has_keys_of_its_own_for_its_taps() -> None:
    first, again = KEY.findall(sent("/")), KEY.findall(sent("/"))
    assert len(first) == len(again) == len({*first, *again}) / 2 > 0


def test_each_page_has_the_token_of_its_own_browser() -> None:
    for client in (Client(enforce_csrf_checks=True), Client(enforce_csrf_checks=True)):
        text = sent("/", client=client)
        assert drawn.TOKEN not in text
        tokens = set(re.findall(r'name="csrfmiddlewaretoken" value="([^"]*)"', text))
        assert tokens
        for token in tokens:
            form = {"csrfmiddlewaretoken": token, "tap": "", "on": "2026-01-13"}
            assert client.post("/note", form, **HERE).status_code != 403


@pytest.mark.parametrize("path", PAGES)
def test_a_page_of_another_language_is_drawn_in_it(path: str) -> None:
    english = sent(path)
    assert plain(sent(path, "de")) != plain(english) == plain(sent(path))


def test_what_was_noted_since_is_on_the_page() -> None:
    before = sent("/males")
    weighed = Entry(str(uuid4()), ON, None, "ANVIL", Kind.WEIGHT, 655, None, "keeper")
    store.add_entries([weighed])
    assert "655 g" in sent("/males") and "655 g" not in before
    store.void(UUID(weighed.id), "keeper", "", datetime.now(UTC))
    assert plain(sent("/males")) == plain(before)


def test_another_setting_is_on_the_page() -> None:
    before = sent("/clutches")
    settings = replace(store.settings(), fahrenheit=not store.settings().fahrenheit)
    store.save_settings(settings, "keeper", datetime.now(UTC) + timedelta(seconds=1))
    assert sent("/clutches") != before
