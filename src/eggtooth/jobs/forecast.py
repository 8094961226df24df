"""Every female's season on a day: gather, ask the engine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from eggtooth.engine.cycle.evidence import Evidence, evidence_of
from eggtooth.engine.cycle.females import females_of
from eggtooth.engine.cycle.forecast import Outlook, blocks, forecast, told_of
from eggtooth.engine.cycle.habit import own_rates
from eggtooth.engine.cycle.next_scan import NextScan, next_scans
from eggtooth.engine.cycle.pairing_notes import as_paired
from eggtooth.engine.cycle.prior import Rates, read
from eggtooth.engine.cycle.scanning import as_scanned
from eggtooth.engine.cycle.together import taught
from eggtooth.engine.eggs.incubation import days_at
from eggtooth.engine.facts import biology
from eggtooth.engine.kept import Kept
from eggtooth.engine.spans import Span
from eggtooth.jobs.day import entry_json
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class Female:
    """One female, her season as it stands and the scan that would tell most of it."""

    tag: str
    outlook: Outlook
    next_scan: NextScan | None


def forecast_on(source: Source, on: date) -> list[Female]:
    """The seasons of the females in the room, by tag: each by her own past and her house's season so far."""
    house = house_on(source, on)
    incubation = incubation_at(source.settings.incubator_c)
    told: list[tuple[Outlook, NextScan | None]] = []
    for block in blocks(house.evidence, house.rates):
        told += zip(told_of(block, incubation), next_scans(block), strict=True)
    return [Female(tag, *what) for tag, what in zip(house.tags, told, strict=True)]


@dataclass(frozen=True, slots=True)
class House:
    """The females of a house on a day, what is noted of each, her rates as her past and the house tell."""

    tags: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    rates: tuple[Rates, ...]

    def of(self, tags: Sequence[str]) -> tuple[list[Evidence], list[Rates]]:
        """Those of some females, in the order asked."""
        at = {tag: i for i, tag in enumerate(self.tags)}
        return [self.evidence[at[t]] for t in tags], [self.rates[at[t]] for t in tags]


def house_on(source: Source, on: date) -> House:
    """All females of the room together: asked for a few, they could not teach each other."""
    females = females_of(source.colony, on, source.settings)
    start = source.settings.season_start(on)
    found = as_paired(as_scanned([evidence_of(seen, start) for _, seen in females]))
    learned = read(source.settings.learned_rates)
    own = taught(found, own_rates([seen for _, seen in females], source.settings, learned))
    return House(tuple(animal.tag for animal, _ in females), tuple(found), tuple(own))


def outlooks_on(source: Source, on: date, kept: Kept | None = None) -> dict[str, Outlook]:
    """The same seasons by tag, for those who ask no scan of them."""
    kept = kept or Kept()
    females = {a.tag: seen for a, seen in females_of(source.colony, on, source.settings, kept)}

    def told(tags: list[str]) -> list[Outlook]:
        seen = [females[tag] for tag in tags]
        own = own_rates(seen, source.settings, read(source.settings.learned_rates))
        return forecast(seen, source.settings, own, incubation=incubation_at(source.settings.incubator_c))

    found = kept.get("outlooks", tuple(females.values()), lambda: told(list(females)))  # of all: they teach
    return dict(zip(females, found, strict=True))


def incubation_at(celsius: float) -> tuple[float, float]:
    """Days from laid to pip at a steady temperature, and their spread, in days."""
    days = days_at(celsius)
    between = biology.INCUBATION_RESIDUAL_CV.value / 100
    return days, days * math.hypot(between, 2.5 / biology.INCUBATION_AT_31_5.value, 0.015 * (celsius - 31.5))


def female_json(female: Female) -> dict[str, Any]:
    """One female's season."""
    told = female.outlook
    return {
        "tag": female.tag,
        "stages": {name: round(p, 6) for name, p in told.stages.items()},
        "p_lays": round(told.p_lays, 6),
        "dates": {name: span_json(span) for name, span in told.dates.items()},
        "next_scan": scan_json(female.next_scan),
        "entries": [entry_json(e) for e in told.entries],
    }


def scan_json(scan: NextScan | None) -> dict[str, Any] | None:
    """The scan that would tell most: when, and the spread of ovulation in days now and after it."""
    if scan is None:
        return None
    return {
        "on": scan.on.isoformat(),
        "sd_now_days": round(scan.sd_now_days, 3),
        "sd_after_days": round(scan.sd_after_days, 3),
    }


def span_json(span: Span) -> dict[str, str]:
    """A date with its spread."""
    return {level: getattr(span, level).isoformat() for level in ("q05", "q25", "q50", "q75", "q95")}
