"""What was seen: one dated entry about one animal, and the typed detail each kind carries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import NamedTuple


class Kind(StrEnum):
    """The kinds of entry, spelled as they stand in `log.csv`."""

    WEIGHT = "weight"
    MEAL = "meal"
    SHED = "shed"
    SCAN = "scan"
    PAIRED = "paired"
    PARTED = "parted"
    LOCK = "lock"
    SIGN = "sign"
    OVULATION = "ovulation"
    PRELAY_SHED = "prelay shed"
    LAID = "laid"
    EGGS = "eggs"
    PIPPED = "pipped"
    HATCHED = "hatched"
    RESTED = "rested"
    TEST = "test"
    MOVED = "moved"
    DIED = "died"
    SOLD = "sold"
    GIVEN = "given"
    TEMPERATURE = "temperature"


LEFT = frozenset({Kind.DIED, Kind.SOLD, Kind.GIVEN})
"""Kinds after which the animal is no longer in the room."""

WITH_PARTNER = frozenset({Kind.PAIRED, Kind.PARTED, Kind.LOCK})
"""Kinds whose detail names the other animal."""


class Sign(StrEnum):
    """Signs a keeper reads from an animal in the season."""

    BOWL_WRAPPING = "bowl wrapping"
    COOL_SEEKING = "cool seeking"
    HEAT_SEEKING = "heat seeking"
    GLOW = "glow"
    SWELLING = "swelling"
    SPERM_PLUG = "sperm plug"


@dataclass(frozen=True, slots=True)
class Prey:
    """What was offered at a meal; grams only when noted."""

    text: str
    each_g: float | None = None


@dataclass(frozen=True, slots=True)
class LabTest:
    """A laboratory result: copies of a gene found (0-2), and the laboratory's stated error rate if any."""

    gene: str
    copies: int
    error: float | None = None


Detail = str | int | Sign | Prey | LabTest | None
"""`str`: other animal's tag (paired, parted, lock), new tub (moved), reason (rested), probe, candling word;
`int`: follicle count (scan) or slugs (laid); `Sign`, `Prey`, `LabTest`; `None` when not noted."""


class Entry(NamedTuple):
    """One thing seen, about one animal (or, for temperatures, one place)."""

    id: str
    on: date
    at: datetime | None
    tag: str
    kind: Kind
    value: float | None
    detail: Detail
    by: str = ""
    note: str = ""

    @property
    def partner(self) -> str:
        """The other animal of a pairing entry; empty for other kinds."""
        return self.detail if self.kind in WITH_PARTNER and isinstance(self.detail, str) else ""

    def since(self, on: date) -> int:
        """Whole days from this entry to `on`."""
        return (on - self.on).days

    def __str__(self) -> str:
        """The entry in the words of the log."""
        value = "" if self.value is None else f" {self.value:g}"
        detail = "" if self.detail is None else f" {detail_text(self.detail)}"
        return f"{self.on.isoformat()} {self.tag} {self.kind}{value}{detail}"


def detail_text(detail: Detail, kind: Kind | None = None) -> str:
    """A detail as it is written in `log.csv`; `kind` is needed only to name a count."""
    match detail:
        case None:
            return ""
        case Prey(text, each_g):
            return text if each_g is None else f"{text} {each_g:g}g"
        case LabTest(gene, copies, error):
            return f"{gene} {copies}" if error is None else f"{gene} {copies} error {error * 100:g}%"
        case Sign():
            return detail.value
        case int():
            noun = {Kind.SCAN: " follicle", Kind.LAID: " slug"}.get(kind, "") if kind else ""
            return f"{detail}{noun}{'s' if noun and detail != 1 else ''}"
        case _:
            return detail
