"""How inbred an animal is beside the others of its year, as its page tells it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString

from eggtooth.engine.colony import Animal
from eggtooth.engine.pedigree.years import HatchYear
from eggtooth.jobs import answered
from eggtooth.jobs.gather import Source
from eggtooth.web.pictures.years import years
from eggtooth.web.speech import number, spoken

MOST_YEARS = 8
"""Years drawn: the last ones, as many as can be read at 360 px."""


@dataclass(frozen=True, slots=True)
class Inbred:
    """The section. `rows` are (year, animals, mean, spread, most); they and `drawn` are empty when nobody
    here is inbred."""

    own: str
    drawn: SafeString
    rows: list[tuple[str, int, str, str, str]]


def inbred(source: Source, animal: Animal, on: date) -> Inbred:
    """By the recorded ancestors, unknown ones taken as unrelated."""
    found = answered.inbreeding(source, on)
    own = found.inbreeding.get(animal.tag, 0.0)
    if not any(found.inbreeding.values()):
        return Inbred(percent(own), SafeString(), [])
    dated = [r for r in found.years if r.year is not None][-MOST_YEARS:]
    year = animal.hatched.year if animal.hatched else None
    words = [
        spoken("{year}: mean {mean} of {animals}", year=r.year, mean=percent(r.mean), animals=r.animals)
        for r in dated
    ]
    return Inbred(percent(own), years(dated, year, own, words), [_row(r) for r in found.years])


def _row(row: HatchYear) -> tuple[str, int, str, str, str]:
    year = spoken("not noted") if row.year is None else str(row.year)
    spread = "–" if row.spread is None else percent(row.spread)
    return year, row.animals, percent(row.mean), spread, percent(row.most)


def percent(f: float) -> str:
    """A coefficient in per cent, to a tenth."""
    return number(f"{100 * f:.3g}" if f == 0 or f >= 0.0005 else "<0.1") + "\N{NO-BREAK SPACE}%"
