"""Sentences that remember what they were made of, so that a page can say them in its reader's language.

A `Said` is its English text in every respect; beside it stand the template and the fields it was filled with.
The catalogues of the pages are made from the templates, so `say` and `say_n` take them as plain literals.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


class Said(str):
    """An English sentence with its `template` (as of `str.format`), its `plural` where `n` chooses between
    two, and its `fields`: dates, numbers, tags, other sentences.
    """

    __slots__ = ("fields", "plural", "template")
    template: str
    plural: str
    fields: Mapping[str, Any]

    def __str__(self) -> str:
        return self

    def __copy__(self) -> Said:
        return self

    def __deepcopy__(self, memo: object) -> Said:
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return filled, (self.template, self.plural, self.fields)


class Joined(Said):
    """Sentences one after the other: `template` is what stands between them, `parts` what is joined."""

    __slots__ = ("parts",)
    parts: tuple[str, ...]

    def __reduce__(self) -> tuple[Any, ...]:
        return joined, (self.template, self.parts)


def say(template: str, /, **fields: Any) -> Said:
    """A sentence: `say("laid {on:%-d %b}", on=laid.on)`."""
    return filled(template, "", fields)


def say_n(one: str, many: str, /, n: float, **fields: Any) -> Said:
    """A sentence whose form a number governs: `say_n("{n} egg", "{n} eggs", n=eggs)`."""
    return filled(one, many, {"n": n, **fields})


def joined(by: str, parts: Iterable[str]) -> Joined:
    """Sentences with `by` between them; a sentence in several parts stays one in every language."""
    every = tuple(parts)
    made = Joined(by.join(every))
    made.template, made.plural, made.fields, made.parts = by, "", {}, every
    return made


def filled(template: str, plural: str, fields: Mapping[str, Any]) -> Said:
    """What `say` (`plural` empty) and `say_n` make, for those that are handed the template."""
    chosen = plural if plural and fields["n"] != 1 else template
    made = Said(chosen.format_map(fields) if fields else chosen)
    made.template, made.plural, made.fields = template, plural, fields
    return made
