"""Every name of the trade that a text may hold, and the nearest ones to a word that is none."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import SequenceMatcher
from functools import lru_cache
from typing import NamedTuple

from eggtooth.engine.facts.inheritance import Catalogue, Mode

LONGEST = 4
"""Most words in one name."""


class Name(NamedTuple):
    """What a name stands for: an allele, or a combination.

    `copies` is 2 for the name of a two-copy look, 1 for that of a one-copy look, else 0.
    """

    shown: str
    allele: str = ""
    copies: int = 0
    combination: str = ""


def squashed(text: str) -> str:
    """A name without case, spaces and hyphens, so that `8-Ball`, `8 ball` and `8ball` are one."""
    return re.sub(r"[\s\-]+", "", text.casefold())


class Names:
    """The name table of one catalogue."""

    def __init__(self, catalogue: Catalogue) -> None:
        """Gather names, aliases, two-copy looks and combinations; genes win over combinations."""
        self._found: dict[tuple[str, ...], tuple[int, Name] | None] = {}
        self.table: dict[str, Name] = {
            squashed(n): Name(n, combination=t) for n, t in catalogue.combinations.items()
        }
        for name, locus in catalogue.home.items():
            allele = locus.alleles[locus.index(name) - 1]
            twice = allele.look_twice[0]
            if allele.mode is Mode.INCOMPLETE:
                self.table[squashed(twice)] = Name(twice, name, 2)
            self.table[squashed(name)] = Name(name, name, 2 if twice == name and allele.shows_apart else 0)
            if allele.one_copy:
                self.table[squashed(allele.one_copy)] = Name(allele.one_copy, name, 1)
        for alias, name in catalogue.aliases.items():
            self.table[squashed(alias)] = Name(alias, name, int(alias.startswith("het ")))

    def longest(self, words: Sequence[str]) -> tuple[int, Name] | None:
        """The longest name the words begin with, and how many words it takes."""
        begin = tuple(words[:LONGEST])
        if begin not in self._found:
            self._found[begin] = self._longest(begin)
        return self._found[begin]

    def _longest(self, words: tuple[str, ...]) -> tuple[int, Name] | None:
        for taken in range(len(words), 0, -1):
            found = self.table.get(squashed("".join(words[:taken])))
            if found:
                return taken, found
        return None

    def nearest(self, words: Sequence[str]) -> tuple[int, list[str]]:
        """Names most like the first word (or the first few taken together), and how many words those are."""
        best = max(
            ((self._likeness(words[:n]), n) for n in range(1, min(3, len(words)) + 1)), key=lambda b: b[0][0]
        )
        (_, shown), taken = best
        return (taken if shown else 1), shown

    def _likeness(self, words: Sequence[str]) -> tuple[float, list[str]]:
        key = squashed("".join(words))
        scored = sorted(((_ratio(key, known), known) for known in self.table), reverse=True)
        close = [
            (r, self.table[known].shown) for r, known in scored[:3] if r >= 0.6 and r >= scored[0][0] - 0.1
        ]
        return (close[0][0], [shown for _, shown in close]) if close else (0.0, [])


def _ratio(a: str, b: str) -> float:
    return SequenceMatcher(None, a, b).ratio()


@lru_cache(maxsize=8)
def names_of(catalogue: Catalogue) -> Names:
    """The name table of a catalogue, made once for each."""
    return Names(catalogue)
