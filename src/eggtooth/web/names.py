"""The words of the records and of the round in the reader's language.

What the store and the engine call things stays as it is; only what is read on a page is translated. The marks
below put the words into the catalogues.
"""

from __future__ import annotations

from django import template
from django.utils.translation import gettext, gettext_noop

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


@register.filter
def named(word: object) -> str:
    """A word in the reader's language, itself where the catalogue does not hold it."""
    text = str(word)
    return gettext(text) if text else ""
