"""How to settle what an animal carries, as the animal's page tells it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from django.utils.safestring import SafeString

from eggtooth.engine.pedigree.laboratory import LabWorth
from eggtooth.engine.pedigree.worth import TestCross
from eggtooth.jobs import answered
from eggtooth.jobs.gather import Source
from eggtooth.web.pictures.falling import falling

MOST_DRAWN = 9
"""Eggs in the row: as many as can be read at 360 px."""


@dataclass(frozen=True, slots=True)
class Mates:
    """One row of the table: mates that are worth the same."""

    tags: tuple[str, ...]
    settles: str
    each: str
    shows: str
    shows_none: str
    after_some: str
    after_none: str
    normals: str


@dataclass(frozen=True, slots=True)
class Settling:
    """The section of one gene."""

    eggs: int
    mates: list[Mates]
    best: str
    drawn: SafeString
    steps: list[tuple[int, str]]
    barred: list[tuple[str, str]]
    yet: str
    look_first: bool
    laboratory: dict[str, str]


def settling(source: Source, tag: str, gene: str, on: date) -> Settling | None:
    """What would settle a gene; `None` where it is settled, and without a gene."""
    if not gene:
        return None
    way = answered.way_to_prove(source, tag, gene, on)
    if not 0 < way.chance < 1:
        return None
    best = way.crosses[0] if way.crosses else None
    steps = best.falling[:MOST_DRAWN] if best else ()
    words = [percent(p) for p in steps]
    return Settling(
        best.eggs if best else 0,
        _grouped(way.crosses),
        best.mate if best else "",
        falling(steps, words, best.mate) if best else SafeString(),
        list(enumerate(words)),
        [(b.cross.mate, b.why) for b in way.barred],
        way.yet,
        way.look_first,
        _laboratory(way.laboratory),
    )


def _grouped(crosses: tuple[TestCross, ...]) -> list[Mates]:
    """Neighbours in the ranking that differ in nothing the page shows stand in one row."""
    rows = [_row(c) for c in crosses]
    groups = groupby(rows, key=lambda row: replace(row, tags=()))
    return [replace(same, tags=tuple(row.tags[0] for row in group)) for same, group in groups]


def _row(cross: TestCross) -> Mates:
    return Mates(
        (cross.mate,),
        ("" if cross.exact else "about ") + percent(cross.settles),
        percent(cross.each),
        percent(cross.shows),
        percent(1 - cross.shows),
        _then(cross.after_some),
        _then(cross.after_none),
        "never" if cross.normals is None else str(cross.normals),
    )


def _then(p: float | None) -> str:
    return "–" if p is None else "sure" if p > 1 - 1e-12 else percent(p)


def _laboratory(lab: LabWorth) -> dict[str, str]:
    return {
        "settles": percent(lab.settles),
        "found": percent(lab.after_found),
        "not_found": percent(lab.after_not),
        "misses": percent(lab.errors.missed),
        "invents": percent(lab.errors.invented),
    }


def percent(p: float) -> str:
    """A chance in whole percent; what is nearly sure is not written as sure."""
    if 0 < p < 0.005:
        return "<1\N{NO-BREAK SPACE}%"
    if 0.995 < p < 1 - 1e-12:
        return ">99\N{NO-BREAK SPACE}%"
    return f"{p:.0%}".replace("%", "\N{NO-BREAK SPACE}%")
