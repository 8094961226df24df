"""What a file says that cannot be taken: where it stands, what was found, what would be right."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from eggtooth.engine.wording import joined, say


class Wrong(ValueError):
    """One field cannot be read. `why` goes on after what was found: `F-0I2` + `is not an animal here`."""

    def __init__(self, column: str, found: str, why: str, wanted: str = "", nearest: str = "") -> None:
        """Say what was found in which column, why it is wrong, what would be right and the nearest known."""
        super().__init__(joined(": ", (column, sentence(found, why, wanted, nearest))))
        self.column, self.found, self.why, self.wanted, self.nearest = column, found, why, wanted, nearest

    def at(self, file: str, line: int) -> Refusal:
        """The same, with its place."""
        return Refusal(file, line, self.column, self.found, self.why, self.wanted, self.nearest)


@dataclass(frozen=True, slots=True)
class Refusal:
    """One refused line by file, line and column; with `whole` the file could not be read past it."""

    file: str
    line: int
    column: str
    found: str
    why: str
    wanted: str = ""
    nearest: str = ""
    whole: bool = False

    @property
    def text(self) -> str:
        """The reason without its place."""
        return sentence(self.found, self.why, self.wanted, self.nearest)

    def __str__(self) -> str:
        """`log.csv line 14, tag: F-0I2 is not an animal here; did you mean F-012?`."""
        return joined(": ", (self._place(), self.text))

    def _place(self) -> str:
        file, line, column = shown(self.file), self.line, shown(self.column)
        if line and column:
            return say("{file} line {line}, {column}", file=file, line=line, column=column)
        if line:
            return say("{file} line {line}", file=file, line=line)
        return f"{file}, {column}" if column else file


def sentence(found: str, why: str, wanted: str, nearest: str) -> str:
    """What was found, why it cannot be, and what to write instead; the parts that were said stay so."""
    whole = joined(" ", (shown(found), _safe(why))) if found else _safe(why)
    if nearest:
        return joined("; ", (whole, say("did you mean {nearest}?", nearest=shown(nearest))))
    return joined("; ", (whole, _safe(wanted))) if wanted else whole


def _safe(text: str) -> str:
    return text if text.isprintable() else escaped(text)


def shown(text: str, most: int = 60) -> str:
    """Text of a file that is safe on a terminal, cut to less than a line."""
    safe = escaped(text[: most + 1])
    return safe if len(safe) <= most else f"{safe[:most]}…"


def escaped(text: str) -> str:
    """Text without control characters, which could move a terminal's cursor or hide what stands there."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


class Nearest:
    """The nearest of some known words, found once a word; stops searching after many distinct mistakes.

    Cost: one search is linear in the known words, so a file of nothing but mistakes must not search forever.
    """

    def __init__(self, known: Collection[str], most: int = 200) -> None:
        """Remember the words; they may still be added to until the first search."""
        self.known, self.left, self.found = known, most, dict[str, str]()

    def __call__(self, text: str) -> str:
        """The nearest known word, or an empty text when none is near."""
        if text not in self.found and self.left > 0:
            self.left -= 1
            self.found[text] = nearest(text, self.known)
        return self.found.get(text, "")


LOOK_ALIKE = str.maketrans(
    {"o": "0", "i": "1", "l": "1", "s": "5", "b": "8", "z": "2"} | dict.fromkeys(" -_.")
)
"""Signs the eye or the hand takes for each other, and signs that are often left out."""


def nearest(text: str, known: Collection[str]) -> str:
    """The known word that looks the same, else the one most like it; empty when none is near."""
    from difflib import get_close_matches

    if not text or len(text) > 80:
        return ""
    by_fold = {word.casefold(): word for word in sorted(known, reverse=True)}
    looks = text.casefold().translate(LOOK_ALIKE)
    if twin := min((w for f, w in by_fold.items() if f.translate(LOOK_ALIKE) == looks), default=""):
        return twin
    matches = get_close_matches(text.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[matches[0]] if matches else ""
