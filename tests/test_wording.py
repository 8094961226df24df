"""Sentences of the engine: English text in every respect, and said again in the reader's language."""

from __future__ import annotations

import copy
import json
import pickle
from datetime import date
from string import Formatter

import pytest
from django.utils import translation

from eggtooth.engine.entries import Detail, Entry, Kind, Prey, detail_text
from eggtooth.engine.spans import Span, ago
from eggtooth.engine.wording import Said, joined, say, say_n
from eggtooth.web.names import detail_said, entry_said
from eggtooth.web.speech import said
from tests.catalogue import catalogue, said_in

LAID = say("laid {on:%-d %b}; one clutch a year", on=date(2026, 4, 3))


def test_a_sentence_is_its_english_text() -> None:
    assert LAID == "laid 3 Apr; one clutch a year"
    assert json.dumps([LAID]) == '["laid 3 Apr; one clutch a year"]'
    assert hash(LAID) == hash(str(LAID)) and str(LAID) is LAID
    assert (
        say_n("one lock", "{n} locks", n=1) == "one lock" and say_n("one lock", "{n} locks", n=0) == "0 locks"
    )


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, lambda s: pickle.loads(pickle.dumps(s))])
@pytest.mark.parametrize("one", [LAID, joined("; ", (LAID, "F-1")), ago(3)])
def test_a_copy_is_the_same_sentence(one: Said, again) -> None:  # type: ignore[no-untyped-def]
    made = again(one)
    assert (type(made), made) == (type(one), one)
    with translation.override("de"):
        assert said(made) == said(one) != one


@pytest.mark.parametrize(
    ("sentence", "german"),
    [
        (LAID, "Eier gelegt am 3. Apr; ein Gelege im Jahr"),
        (say("died on {on}", on=date(2026, 4, 3)), "am 3. Apr 2026 gestorben ist"),
        (say("{mean:.1f} °C so far", mean=31.46), "bisher 31,5 °C"),
        (say("{wish}: a clutch settles {p:.0%} of the doubt", wish="Clown", p=0.5),
         "Clown: ein Gelege klärt 50\u00a0% des Zweifels"),
        (say("{kind} on {on}, but it is recorded as a male", kind=Kind.LAID, on=date(2026, 4, 3)),
         "gelegt am 3. Apr 2026, aber das Tier ist als Männchen eingetragen"),
        (joined("; ", (say("ate {ago}", ago=ago(1)), "M-1")), "gefressen gestern; M-1"),
        (ago(5), "vor 5 Tagen"),
        (Span.seen(date(2026, 4, 3)), "3. Apr"),
        ("a tag", "a tag"),
        (None, ""),
    ],
)  # fmt: skip
def test_said_in_german(sentence: object, german: str) -> None:
    with translation.override("de"):
        assert said(sentence) == german


def test_american_and_british_readers_get_their_own_days() -> None:
    for language, text in (
        ("en-gb", "laid 3 Apr; one clutch a year"),
        ("en", "laid Apr 3; one clutch a year"),
    ):
        with translation.override(language):
            assert said(LAID) == text


def test_every_german_sentence_keeps_the_fields_of_the_english_one() -> None:
    wrong = []
    for message in catalogue("de"):
        if not message.id or "python-brace-format" not in message.flags:
            continue
        given = message.id if isinstance(message.id, tuple) else (message.id,)
        put = message.string if isinstance(message.string, tuple) else (message.string,)
        wrong += [p for g, p in zip(given, put, strict=True) if p and _fields(g) != _fields(p)]
    assert wrong == []


def _fields(text: str) -> set[tuple[str, str]]:
    return {(name, spec or "") for _, name, spec, _ in Formatter().parse(text) if name is not None}


def test_a_template_that_is_no_literal_is_refused() -> None:
    code = "from eggtooth.engine.wording import say\nsay(x)"
    with pytest.raises(ValueError, match="line 2: x is no literal"):
        list(said_in(code))
    assert list(said_in(code.replace("say(x)", "say('a' if x else 'b')"))) == ["a", "b"]
    assert list(said_in("say('not ours')")) == []


@pytest.mark.parametrize(
    ("kind", "count", "english", "german"),
    [
        (Kind.LAID, 1, "1 slug", "1 Wachsei"),
        (Kind.LAID, 2, "2 slugs", "2 Wachseier"),
        (Kind.LAID, 0, "0 slugs", "0 Wachseier"),
        (Kind.SCAN, 1, "1 follicle", "1 Follikel"),
    ],
)
def test_one_is_not_said_in_the_plural(kind: Kind, count: int, english: str, german: str) -> None:
    entry = Entry("", date(2026, 1, 12), None, "F1", kind, 6, count)
    with translation.override("en"):
        assert detail_text(count, kind) == english == detail_said(entry)
    with translation.override("de"):
        assert detail_said(entry) == german


@pytest.mark.parametrize(
    ("kind", "value", "detail", "english", "german"),
    [
        (Kind.MEAL, 0, Prey("medium rat", 90.5), "refused medium rat 90.5 g", "verweigert"),
        (Kind.MEAL, 2, Prey("medium rat"), "ate 2 medium rat", "2 gefressen"),
        (Kind.MEAL, 1, None, "ate 1", "1 gefressen"),
        (Kind.WEIGHT, 1791.5, None, "weight 1791.5 g", "1791,5 g"),
        (Kind.SCAN, 32, 7, "scan 32 mm 7 follicles", "32 mm 7 Follikel"),
        (Kind.LOCK, None, "F01", "locked with F01", "hängt mit F01"),
        (Kind.PAIRED, None, "F01", "put with F01", "zugesetzt zu F01"),
        (Kind.PARTED, None, "F01", "parted from F01", "getrennt von F01"),
        (Kind.RESTED, None, "worn", "rested worn", "erschöpft"),
        (Kind.PRELAY_SHED, None, None, "pre-lay shed", "Häutung vor der Eiablage"),
        (Kind.EGGS, 5, "in BOX", "eggs 5 in BOX", "5 in BOX"),
    ],
)
def test_an_entry_is_told_with_its_unit_and_no_meal_as_nought(
    kind: Kind, value: float | None, detail: Detail, english: str, german: str
) -> None:
    entry = Entry("", date(2026, 1, 12), None, "M1", kind, value, detail)
    with translation.override("en-gb"):
        assert entry_said(entry) == f"12 Jan 2026 M1 {english}"
    with translation.override("de"):
        assert german in entry_said(entry)
