"""Reads trade notation: `Pastel het Clown`, `66% het Piebald`, `Lesser Mojave`, `Banana (male maker)`.

Case and order mean nothing; hyphens are spaces; commas, slashes and plus signs part names. `het`, `N% het`
and `possible het` hold for every recessive that follows, until another such word; `super` for the next name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Allele, Catalogue, Locus
from eggtooth.engine.genetics.names import Name, names_of
from eggtooth.engine.genetics.statement import Maker, Statement
from eggtooth.engine.wording import joined, say

TOKEN = re.compile(
    r"(?P<line>\([^()]*\))|(?P<one>/\s*\+)|(?P<percent>\d+(?:\.\d+)?\s*%)|(?P<share>\d+/\d+)"
    r"|(?P<word>[^\W_]['’.\w]*)|(?P<bar>[,;/+&|])|(?P<space>[\s\-–_]+)|(?P<odd>.)"
)
COUNTS = {"double": 2, "triple": 3, "quadruple": 4, "dh": 2, "th": 3}
TRADE_PERCENT = {
    "66": Fraction(2, 3), "67": Fraction(2, 3), "66.6": Fraction(2, 3), "66.7": Fraction(2, 3),
    "33": Fraction(1, 3), "33.3": Fraction(1, 3),
}  # fmt: skip
"""Rounded percentages that stand for thirds."""


class NotationError(ValueError):
    """A text that cannot be read; `problems` has one sentence for each thing wrong."""

    def __init__(self, *problems: str) -> None:
        """Keep the sentences; the message is all of them, one a line."""
        super().__init__(joined("\n", problems))
        self.problems = problems


class Token(NamedTuple):
    """A piece of the text and its kind."""

    kind: str
    text: str


class Mention(NamedTuple):
    """One gene as named: the copies said (0 when not said), and the claim if it is one."""

    locus: Locus
    allele: int
    copies: int
    claimed: bool = False
    p: Fraction | None = None
    slashed: bool = False

    @property
    def kind(self) -> Allele:
        """The allele itself."""
        return self.locus.alleles[self.allele - 1]


def read(text: str, catalogue: Catalogue | None = None) -> Statement:
    """What a text says. Raises `NotationError` naming each unknown word with the nearest known names,
    or the contradiction in it. Cost: linear in the words, times the name table for unknown ones.
    """
    return _read(text, catalogue or standard())


@lru_cache(maxsize=4096)
def _read(text: str, known: Catalogue) -> Statement:
    """Texts recur in a colony, and a statement never changes."""
    from eggtooth.engine.genetics.combining import combined

    reader = _Reader([Token(m.lastgroup or "", m[0]) for m in TOKEN.finditer(text)], known)
    reader.run()
    if reader.problems:
        raise NotationError(*reader.problems)
    noted = bool(text.strip())
    return combined(reader.mentions, noted, reader.normal, reader.maker, reader.sex)


def problem(text: str, catalogue: Catalogue | None = None) -> str | None:
    """What is wrong with a text, in one line; None when it can be read."""
    try:
        read(text, catalogue)
    except NotationError as wrong:
        return joined("; ", wrong.problems)
    return None


@dataclass
class _Scope:
    """What the last word of copies said, and whether a gene has already used it."""

    copies: int = 0
    claimed: bool = False
    p: Fraction | None = None
    wanted: int = 0
    used: int = 0
    hard: bool = True


class _Reader:
    """Goes through the tokens once, gathering mentions."""

    def __init__(self, tokens: list[Token], catalogue: Catalogue) -> None:
        self.tokens = [t for t in tokens if t.kind != "space"]
        self.at = 0
        self.catalogue = catalogue
        self.names = names_of(catalogue)
        self.mentions: list[Mention] = []
        self.problems: list[str] = []
        self.scope = _Scope()
        self.normal = False
        self.maker: Maker | None = None
        self.sex = Sex.UNKNOWN
        self.slash = False

    def run(self) -> None:
        """Read to the end."""
        while self.at < len(self.tokens):
            self._step()
        self._close()

    def _step(self) -> None:
        token = self.tokens[self.at]
        match token.kind:
            case "word":
                self._word()
                return
            case "bar":
                self.slash = token.text == "/"
            case "one":
                self._one_copy()
            case "percent" | "share":
                self._claim(_fraction(token.text))
                return
            case "line":
                self._bracket(token.text)
            case _:
                self.problems.append(say("{text!r} has no meaning here", text=token.text))
        self.at += 1

    def _words(self) -> list[str]:
        """The words from here up to anything that parts names."""
        words = []
        for token in self.tokens[self.at :]:
            if token.kind != "word":
                break
            words.append(token.text)
        return words

    def _word(self) -> None:
        words = self._words()
        found = self.names.longest(words)
        if found:
            self.at += found[0]
            self._name(found[1])
        elif not self._keyword([w.casefold() for w in words]):
            self._unknown(words)

    def _keyword(self, words: list[str]) -> bool:
        first, second = words[0], words[1] if len(words) > 1 else ""
        taken = 2
        if (first, second) in {("male", "maker"), ("female", "maker")}:
            self._made(Maker(f"{first} {second}"))
        elif first in ("male", "female"):
            self.sex, taken = (Sex.MALE if first == "male" else Sex.FEMALE), 1
        elif (first, second) == ("wild", "type"):
            self.normal = True
        elif first in ("normal", "wild"):
            self.normal, taken = True, 1
        elif first in ("possible", "poss", "pos"):
            self._claim(None)
            return True
        elif first in ("het", "hets", *COUNTS):
            self._claim(Fraction(1))
            return True
        elif first in ("super", "homozygous", "visual"):
            self._open(_Scope(copies=0 if first == "visual" else 2))
            taken = 1
        else:
            return False
        self.at += taken
        return True

    def _claim(self, p: Fraction | None) -> None:
        """`[N% | possible] [double] het`, from the present token on; sure when p is 1."""
        start = self.tokens[self.at]
        if start.kind != "word" or start.text.casefold() in ("possible", "poss", "pos"):
            self.at += 1
        wanted, self.at = self._count()
        said_het = self._here() in ("het", "hets") or start.text.casefold() in ("dh", "th")
        if self._here() in ("het", "hets"):
            self.at += 1
        if not said_het and not (start.text.casefold().startswith("pos")):
            self.problems.append(say("{text!r} wants het after it, as in 66% het Clown", text=start.text))
        if p is not None and not 0 < p <= 1:
            self.problems.append(say("{text!r} is no chance between 0 and 100 %", text=start.text))
        sure = p == 1
        self._open(_Scope(1 if sure else 0, not sure, None if sure else p, wanted))

    def _count(self) -> tuple[int, int]:
        wanted = COUNTS.get(self._here(), 0)
        return wanted, self.at + bool(wanted)

    def _here(self) -> str:
        return self.tokens[self.at].text.casefold() if self.at < len(self.tokens) else ""

    def _open(self, scope: _Scope) -> None:
        self._close()
        self.scope = scope

    def _close(self) -> None:
        scope = self.scope
        if (scope.copies or scope.claimed) and not scope.used:
            self.problems.append(say("a word such as het or super has no gene after it"))
        elif scope.wanted and scope.used != scope.wanted:
            self.problems.append(
                say(
                    "{wanted} genes were announced as het and {used} named",
                    wanted=scope.wanted,
                    used=scope.used,
                )
            )

    def _name(self, name: Name) -> None:
        if name.combination:
            self._combination(name)
            return
        locus = self.catalogue.home[name.allele]
        if self._next_is_line() and locus.lines:
            locus = locus.of_line(" ".join(self.tokens[self.at].text[1:-1].casefold().split()))
            self.at += 1
            self._mention(locus, 1, name)
            return
        self._mention(locus, locus.index(name.allele), name)

    def _next_is_line(self) -> bool:
        return (
            self.at < len(self.tokens)
            and self.tokens[self.at].kind == "line"
            and not self.tokens[self.at].text.casefold().strip("() ").endswith("maker")
        )

    def _mention(self, locus: Locus, allele: int, name: Name) -> None:
        scope, kind = self.scope, locus.alleles[allele - 1]
        held_over = kind.shows_once and (scope.used or name.copies == 1) and scope.copies != 2
        copies, claimed, p = (0, False, None) if held_over else (scope.copies, scope.claimed, scope.p)
        if name.copies == 1:
            copies = self._once(name, scope.copies)
        if name.copies == 2 and name.shown != name.allele:
            copies, claimed = self._twice(name, copies, claimed)
        if claimed and kind.shows_once and not kind.subtle:
            self.problems.append(
                say("{shown} shows with one copy: an animal has it or not", shown=name.shown)
            )
        self.mentions.append(Mention(locus, allele, copies, claimed, p, self.slash))
        scope.used += not held_over
        self.slash = False
        if scope.copies == 2:
            self.scope = _Scope()

    def _once(self, name: Name, copies: int) -> int:
        if copies == 2:
            self.problems.append(say("{shown} is one copy; super is two", shown=name.shown))
        return 1

    def _twice(self, name: Name, copies: int, claimed: bool) -> tuple[int, bool]:
        if claimed or copies == 1:
            self.problems.append(say("{shown} is two copies; het is one", shown=name.shown))
        return 2, False

    def _combination(self, name: Name) -> None:
        if self.scope.copies == 2:
            self.problems.append(
                say("{shown} is a combination: say which of its genes is super", shown=name.shown)
            )
            return
        inner = read(name.combination, self.catalogue)
        for said in inner.said:
            for allele in sorted({a for a in (said.genotype or (0, 1)) if a}):
                kind = said.locus.alleles[allele - 1]
                twice = said.genotype == (allele, allele) and kind.shows_once
                self._mention(
                    said.locus, allele, Name(name.shown if twice else kind.name, kind.name, 2 if twice else 0)
                )

    def _bracket(self, text: str) -> None:
        inside = " ".join(text[1:-1].casefold().split())
        if inside in tuple(Maker):
            self._made(Maker(inside))
        else:
            self.problems.append(say("{text} names no line of a gene that has lines", text=text))

    def _made(self, maker: Maker) -> None:
        if self.maker not in (None, maker):
            self.problems.append(say("an animal is a male maker or a female maker, not both"))
        self.maker = maker

    def _one_copy(self) -> None:
        if not self.mentions or self.mentions[-1].copies == 2:
            self.problems.append(say("/+ stands after a gene held in one copy"))
            return
        self.mentions[-1] = self.mentions[-1]._replace(copies=1)

    def _unknown(self, words: list[str]) -> None:
        taken, near = self.names.nearest(words)
        said = " ".join(words[:taken])
        why: str = say('"{said}" is not a gene here', said=said)
        if near:
            why = joined("; ", (why, say("did you mean {nearest}?", nearest=_either(near))))
        self.problems.append(why)
        self.scope.used += 1
        self.scope.wanted = 0
        self.at += taken


def _either(names: list[str]) -> str:
    return " or ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def _fraction(text: str) -> Fraction:
    number = text.replace("%", "").strip()
    if "/" in number:
        top, bottom = number.split("/")
        return Fraction(int(top), int(bottom)) if int(bottom) else Fraction(0)
    return TRADE_PERCENT.get(number) or Fraction(number) / 100


def tokens(text: str) -> Iterator[Token]:
    """The pieces of a text, for those who mark up what was typed."""
    return (Token(m.lastgroup or "", m[0]) for m in TOKEN.finditer(text))
