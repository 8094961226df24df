"""A cross at `/cross`: two animals or genes, the eggs as a picture, the odds by clutch, the cautions.

The address holds the whole question, so that a page can be shared as a link.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from string import ascii_uppercase

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.genetics.report import CrossReport, Hope, LookRow
from eggtooth.jobs.cross import FATE_TEXT, Asked, answer
from eggtooth.jobs.family_odds import family_odds
from eggtooth.records import store
from eggtooth.web.asked import MOST_TAGS
from eggtooth.web.clock import today
from eggtooth.web.names import named
from eggtooth.web.pictures.eggs import Egg, clutch
from eggtooth.web.speech import number, said, spoken

SHOWN = 16
EGGS, MOST_EGGS = 6, 20
LONGEST = 400
SEXES = {"M": "male", "F": "female", "": ""}


@dataclass(frozen=True, slots=True)
class Row:
    """One look as the page draws it."""

    mark: str
    tone: int
    looks: str
    aside: str
    egg: str
    clutches: int
    needed: int | None
    carries: str


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """The page; without two animals only the form."""
    sire, dam = (request.GET.get(name, "").strip()[:LONGEST] for name in ("sire", "dam"))
    eggs, colony = _eggs(request.GET.get("eggs", "")), store.colony()
    context: dict[str, object] = {
        "sire": sire,
        "dam": dam,
        "eggs": eggs,
        "sizes": range(1, 13),
        "males": _choices(colony, Sex.MALE),
        "females": _choices(colony, Sex.FEMALE),
    }
    if not sire or not dam:
        return render(request, "cross.html", context)
    try:
        asked = Asked(sire, dam, eggs, SHOWN)
        found = answer(asked, colony, family_odds(colony, today(), asked.catalogue))
    except ValueError as wrong:
        return render(
            request, "cross.html", context | {"problems": said(str(wrong)).splitlines()}, status=422
        )
    return render(request, "cross.html", context | _told(found, eggs))


def _eggs(text: str) -> int:
    return min(MOST_EGGS, max(1, int(text))) if text.isascii() and text.isdigit() and len(text) < 4 else EGGS


def _choices(colony: Colony, sex: Sex) -> list[tuple[str, str]]:
    here = sorted(a.tag for a in colony.animals.values() if a.sex in (sex, Sex.UNKNOWN))
    return [(tag, colony.animals[tag].genes) for tag in here] if len(here) <= MOST_TAGS else []


def _told(found: CrossReport, eggs: int) -> dict[str, object]:
    rows = [_row(i, row) for i, row in enumerate(found.rows)]
    return {
        "found": found,
        "rows": rows,
        "headline": _headline(found),
        "picture": clutch(_drawn(found, rows, 100), 10),
        "lost": _chance(found.lost) if found.lost else "",
        "rest": (found.rest[0], _chance(found.rest[1])) if found.rest[0] else None,
        "unsure": [(u.look, _chance(u.p), _chance(u.if_lost), _chance(u.if_lives)) for u in found.unsure],
    }


def _headline(found: CrossReport) -> tuple[str, Hope] | None:
    """What the page says first: any visual, else the look with the most genes."""
    if found.any_visual:
        return spoken("at least one visual"), found.any_visual
    if not found.rows:
        return None
    best = max(found.rows, key=lambda row: (len(row.outcome.looks), -row.hope.p))
    return spoken("at least one {look}", look=best.known_as or " ".join(best.outcome.looks)), best.hope


def _row(place: int, row: LookRow) -> Row:
    told = (
        named(SEXES[row.outcome.sex]),
        row.known_as,
        *(said(FATE_TEXT[fate]) for _, fate in row.outcome.fates),
    )
    sure = [name for name, p in row.outcome.carries if p == 1]
    odds = [spoken("{p:.0%} het {name}", p=float(p), name=name) for name, p in row.outcome.carries if p < 1]
    copies = [spoken("{p:.0%} two copies of {name}", p=float(p), name=name) for name, p in row.two_copies]
    return Row(
        ascii_uppercase[place],
        place % 8,
        " ".join(row.outcome.looks),
        ", ".join(filter(None, told)),
        _chance(row.hope.p),
        row.hope.of_100_clutches,
        row.hope.eggs_needed[1],
        ", ".join([*(["het " + " ".join(sure)] if sure else []), *odds, *copies]),
    )


def _drawn(found: CrossReport, rows: list[Row], eggs: int) -> list[Egg]:
    counts = found.drawn(eggs)
    drawn = [Egg(r.mark, r.tone, r.looks) for r, n in zip(rows, counts, strict=False) for _ in range(n)]
    drawn += [Egg("·", 8, spoken("other looks"))] * counts[-2]
    return drawn + [Egg("×", 9, spoken("lost before hatching"))] * counts[-1]


def _chance(p: Fraction) -> str:
    percent = number(f"{100 * float(p):.3g} %")
    return (
        spoken(
            "{of} in {all}, {percent}",
            of=p.numerator,
            all=p.denominator,
            percent=percent,
        )
        if p.denominator <= 1024
        else percent
    )
