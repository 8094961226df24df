"""The texts of the pages: all marked, all in the catalogues, German where German is asked for."""

from __future__ import annotations

import re

import pytest
from babel.messages.catalog import Message
from django.template import engines
from django.test import Client

from eggtooth.engine.entries import Kind
from eggtooth.engine.rounds.task import Todo
from eggtooth.web.answers import ALL
from eggtooth.web.names import KINDS, TODOS
from tests.catalogue import WEB, catalogue, compiled, texts, translated
from tests.house import HERE, bred, page

__all__ = ["bred"]
# What a template holds that nobody reads, or that is read out by a mark.
UNREAD = re.compile(
    r"{%\s*blocktranslate.*?{%\s*endblocktranslate\s*%}|<(code|kbd|i)\b.*?</\1>|{%.*?%}|{{.*?}}|{#.*?#}|<!doctype.*?>",
    re.S,
)
UNITS = {"g", "mm", "csv", "xlsx", "json", "pdf", "UTC"}


def of_catalogue() -> list[Message]:
    return [m for m in catalogue("de") if m.id]


@pytest.mark.parametrize("template", sorted(p.name for p in (WEB / "templates").glob("*.html")))
def test_every_text_of_a_template_is_marked(template: str) -> None:
    bare = UNREAD.sub("", (WEB / "templates" / template).read_text())
    read = re.sub(r"<[^>]*>", " ", bare)
    named = " ".join(re.findall(r'\b(?:aria-label|placeholder|alt)="([^"]*)"', bare))
    words = set(re.findall(r"[A-Za-z]{2,}", re.sub(r"&\w+;", " ", f"{read} {named}"))) - UNITS
    assert not words


def test_the_catalogue_holds_every_text_and_no_other() -> None:
    """`make words` brings it up to date."""
    assert {m.id for m in of_catalogue()} == {m.id for m in texts() if m.id}


def test_what_the_pages_read_is_what_the_catalogue_says() -> None:
    """`make words` compiles it."""
    made = (WEB / "locale" / "de" / "LC_MESSAGES" / "django.mo").read_bytes()
    assert made == compiled(catalogue("de"))


def test_every_word_of_the_records_and_of_the_round_is_in_the_catalogue() -> None:
    known = {m.id for m in of_catalogue()}
    assert set(TODOS) == set(Todo) and set(KINDS) == set(Kind)
    assert known.issuperset([*TODOS, *KINDS, *(a.label for a in ALL.values())])


def test_every_text_is_german_where_german_is_asked_for() -> None:
    assert [m.id for m in of_catalogue() if not translated(m)] == []


def test_a_translation_has_the_places_of_its_text() -> None:
    for message in of_catalogue():
        if translated(message):
            said = message.string if isinstance(message.string, str) else " ".join(message.string)
            text = message.id if isinstance(message.id, str) else " ".join(message.id)
            assert set(re.findall(r"%\(\w+\)s", said)) == set(re.findall(r"%\(\w+\)s", text)), message.id


def german(path: str) -> str:
    answer = Client().get(path, **HERE, HTTP_ACCEPT_LANGUAGE="de")
    assert answer.status_code == 200 and answer["Content-Language"] == "de"
    text: str = answer.content.decode()
    return text


def test_a_german_reader_gets_german(bred: None) -> None:
    text = german("/?do=scale")
    assert '<html lang="de">' in text and "Runde vom 4. Februar" in text
    assert "Zum Hauptteil" in text and ">Wiegen und Ultraschall" in text.replace("\n", "")
    assert re.search("<b>(wiegen|Ultraschall)</b>", text) and not re.search("<b>(weigh|scan)</b>", text)
    assert "Anmelden" in german("/sign-in")
    assert '<option value="ovulation">Eisprung</option>' in german("/animal/GROWING/note")


def test_what_is_sent_is_the_same_in_every_language(bred: None) -> None:
    def sent(text: str) -> set[str]:
        return set(re.findall(r'value="\w{32}\|(\w+\|\w+\|\w*)"', text))

    assert sent(german("/")) == sent(page("/")) != set()


def test_english_is_whole_without_a_catalogue(bred: None) -> None:
    assert '<html lang="en-gb">' in page("/") and "Skip to the main part" in page("/")


def test_templates_compile() -> None:
    for path in (WEB / "templates").glob("*.html"):
        engines["django"].get_template(path.name)


WALKED = [
    "/",
    "/season",
    "/males",
    "/nights",
    "/clutches",
    "/ready",
    "/feeders",
    "/review",
    "/rates?work=out",
    "/doubts",
    "/plan",
    "/routes?wish=Clown",
    "/cross?sire=Pastel&dam=Clown",
    "/animal/GROWING",
    "/animal/ANVIL",
    "/animal/WORN",
    "/animal/LYING",
    "/animal/GROWING/edit",
    "/records",
    "/settings",
    "/labels",
    "/bring",
    "/all",
    "/room",
    "/hatchlings",
    "/scale",
    "/feeding",
    "/tub/A-1-0",
    "/doubts",
]
ENGLISH = frozenset(
    [
        "the",
        "and",
        "of",
        "with",
        "are",
        "from",
        "days",
        "last",
        "noted",
        "since",
        "she",
        "its",
        "his",
        "who",
        "were",
        "when",
        "nothing",
        "never",
        "which",
        "female",
        "meal",
        "weight",
        "eggs",
        "shed",
        "lock",
        "locked",
        "night",
        "nights",
        "ate",
        "refused",
        "months",
        "years",
        "about",
        "each",
        "common",
        "our",
        "choice",
    ]
)
"""Words of every second English sentence that no German one has."""


@pytest.mark.parametrize("path", WALKED)
def test_nothing_english_is_left_on_a_german_page(bred: None, path: str) -> None:
    bare = re.sub(r"<(code|kbd)\b.*?</\1>", "", german(path), flags=re.S)
    named = re.findall(r'\b(?:aria-label|placeholder|alt)="([^"]*)"', bare)
    lines = [*re.sub(r"<[^>]*>", "\n", bare).splitlines(), *named]
    left = [t for t in lines if ENGLISH & set(re.findall(r"[A-Za-z]+", t))]
    assert left == [] and not [t for t in lines if re.search(r"\d{4}-\d\d-\d\d", t)]
