"""The words of the records and of the round in the reader's language.

What the store and the engine call things stays as it is; only what is read on a page is translated. The marks
below put the words into the catalogues.
"""

from __future__ import annotations

from django import template
from django.utils.translation import gettext, gettext_noop

from eggtooth.engine.entries import Entry, Kind, Prey, Sign, detail_text
from eggtooth.engine.facts import Fact, biology
from eggtooth.web.days import day
from eggtooth.web.speech import number, spoken, spoken_n

register = template.Library()

TODOS = (
    gettext_noop("cool nights"),
    gettext_noop("warm nights"),
    gettext_noop("check for lock"),
    gettext_noop("leave in"),
    gettext_noop("rest male"),
    gettext_noop("part"),
    gettext_noop("weigh"),
    gettext_noop("scan"),
    gettext_noop("feed"),
    gettext_noop("skip meal"),
    gettext_noop("move in"),
    gettext_noop("watch"),
    gettext_noop("eggs due"),
    gettext_noop("check eggs"),
    gettext_noop("hatch due"),
    gettext_noop("hatchling"),
    gettext_noop("look into"),
)
KINDS = (
    gettext_noop("weight"),
    gettext_noop("meal"),
    gettext_noop("shed"),
    gettext_noop("scan"),
    gettext_noop("paired"),
    gettext_noop("parted"),
    gettext_noop("lock"),
    gettext_noop("sign"),
    gettext_noop("ovulation"),
    gettext_noop("prelay shed"),
    gettext_noop("laid"),
    gettext_noop("eggs"),
    gettext_noop("pipped"),
    gettext_noop("hatched"),
    gettext_noop("rested"),
    gettext_noop("test"),
    gettext_noop("moved"),
    gettext_noop("died"),
    gettext_noop("sold"),
    gettext_noop("given"),
    gettext_noop("temperature"),
)

ROLES = (gettext_noop("owner"), gettext_noop("helper"), gettext_noop("reader"))
UNITS = {Kind.WEIGHT: "g", Kind.SCAN: "mm"}
SAID = {
    Kind.PRELAY_SHED: gettext_noop("pre-lay shed"),
    Kind.PAIRED: gettext_noop("put with"),
    Kind.PARTED: gettext_noop("parted from"),
    Kind.LOCK: gettext_noop("locked with"),
}
DETAILS = {
    gettext_noop("worn"),
    *(str(name) for _, name in biology.PREY_G),
    *map(str, biology.PREY_TYPICAL_G),
}
"""Details of the log that are words of ours: why he rests, sizes of prey."""


@register.filter
def named(word: object) -> str:
    """A word in the reader's language, itself where the catalogue does not hold it."""
    text = str(word)
    return gettext(text) if text else ""


@register.filter
def entry_said(entry: Entry, value: str | None = None) -> str:
    """An entry as a hand would tell it, in the reader's language; `value` when its number is written
    otherwise.
    """
    return " ".join((day(entry.on), entry.tag, happened(entry, value)))


def happened(entry: Entry, value: str | None = None) -> str:
    """The same without its day and tag."""
    if value is None and entry.value is not None:
        value = number(f"{entry.value:g}")
    return " ".join(filter(None, (_what(entry, value), detail_said(entry))))


def _what(entry: Entry, value: str | None) -> str:
    """What happened, before its detail: a refused meal is no number, and a number has its unit."""
    if entry.kind is Kind.MEAL:
        return spoken("ate {n}", n=value) if entry.value else spoken("refused")
    if entry.kind in SAID:
        return named(SAID[entry.kind])
    unit = UNITS.get(entry.kind, "")
    return " ".join(filter(None, (named(entry.kind), value, unit)))


def detail_said(entry: Entry) -> str:
    """What an entry's detail says: typed words stay, all else is translated."""
    if isinstance(entry.detail, int) and entry.kind is Kind.LAID:
        return spoken_n("{n} slug", "{n} slugs", n=entry.detail)
    if isinstance(entry.detail, int) and entry.kind is Kind.SCAN:
        return spoken_n("{n} follicle", "{n} follicles", n=entry.detail)
    if isinstance(entry.detail, Prey):
        each = f"{number(f'{entry.detail.each_g:g}')} g" if entry.detail.each_g is not None else ""
        return " ".join(filter(None, (_usual(entry.detail.text), each)))
    text = detail_text(entry.detail, entry.kind)
    return named(text) if isinstance(entry.detail, Sign) else _usual(text)


def _usual(text: str) -> str:
    return named(text) if text in DETAILS else text


@register.filter
def fact_said(fact: Fact) -> str:
    """A figure with its unit and whose it is; titles of published work stay as they are."""
    told = number(f"{fact.value:g}")
    note = f"; {named(fact.note)}" if fact.note else ""
    return f"{named(fact.name)}: {told} {named(fact.unit)} ({named(fact.source.cite)}){note}"
