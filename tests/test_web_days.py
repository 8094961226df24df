"""Dates and words in the reader's language, as the browser asks for it."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.house import HERE, bred

__all__ = ["bred"]


def asked_in(language: str, path: str) -> str:
    """The page as a browser set to a language gets it."""
    answer = Client().get(path, **HERE, HTTP_ACCEPT_LANGUAGE=language)
    assert answer.status_code == 200
    text: str = answer.content.decode()
    return text


@pytest.mark.parametrize(
    ("language", "lang", "day"),
    [
        ("en-GB,en;q=0.8", "en-gb", "4 February"),
        ("en-US,en;q=0.8", "en", "February 4"),
        ("de-AT,de;q=0.8,en;q=0.5", "de", "4. Februar"),
        ("nl,fr;q=0.5", "en-gb", "4 February"),
    ],
)
def test_the_round_is_dated_as_its_reader_dates(bred: None, language: str, lang: str, day: str) -> None:
    """Orders of day and month: Unicode CLDR, https://cldr.unicode.org."""
    text = asked_in(language, "/")
    assert f'<html lang="{lang}">' in text
    assert re.sub("<.*?>", "", text).split("‹")[1].split("›")[0].split(None, 1)[1].strip() == day


@pytest.mark.parametrize("path", ["/season", "/males", "/ready", "/clutches", "/feeders", "/animal/GROWING"])
def test_short_dates_in_german(bred: None, path: str) -> None:
    text = asked_in("de", path)
    assert re.search(r"\d{1,2}\. (Jan|Feb|März|Apr|Mai|Juni|Juli|Aug|Sept?|Okt|Nov|Dez)\b", text)


def test_typed_fields_hold_points_and_plain_dates_in_any_language(bred: None) -> None:
    for path in ("/settings", "/records", "/scale", "/wishes", "/"):
        for value in re.findall(r'<(?:input|meter|option)[^>]* value="([^"]*)"', asked_in("de", path)):
            assert not re.fullmatch(r"-?\d+,\d+", value), path
    assert 'name="on" value="2026-02-04"' in asked_in("de", "/")


def test_months_of_the_settings_in_german(bred: None) -> None:
    text = asked_in("de", "/settings")
    assert ">Dezember<" in text and ">Montag<" in text.replace(" <", "<").replace("> Montag", ">Montag")
