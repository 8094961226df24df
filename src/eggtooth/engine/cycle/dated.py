"""The seasons the round reads: stage and last entry as seen, dates ahead by the forecast."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from eggtooth.engine.cycle.season import Season, Stage, late_signs, mm_now, scan_every_days, season_of
from eggtooth.engine.entries import Entry
from eggtooth.engine.facts.fact import LogNormal, Normal
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.spans import Span

if TYPE_CHECKING:
    from eggtooth.engine.cycle.evidence import Evidence
    from eggtooth.engine.cycle.prior import Rates, Trait

BEFORE_OVULATION = frozenset({Stage.GROWING, Stage.BUILDING})

TEACH_THE_ROUND = 100
"""Of the females scanned or further this season, how many teach the house's running season to the round's
dates: it must be quick, and a hundred tell nearly as much as all (our choice)."""


def seasons_of(
    noted: Mapping[str, Sequence[Entry]],
    on: date,
    settings: Settings,
    all_dates: bool = True,
    kept: Kept | None = None,
) -> dict[str, Season]:
    """Each female's season from what is noted of her, by tag, with the dates of the forecast where follicles
    grow or a milestone was seen.

    With `all_dates` false, growing females of whom nothing is due keep plain rates: the round says no date of
    them. `kept` holds what the same entries told before on this day with these settings. Cost: about 1 ms a
    forecast, on the coarser grid; next to nothing after ovulation, where only the known waits are left.
    """
    kept = kept or Kept()

    def looked_at(tags: list[str]) -> Iterator[tuple[Season, bool]]:
        return (_looked(History(noted[tag], on), settings) for tag in tags)

    looked = kept.each("season looked at", {tag: (entries,) for tag, entries in noted.items()}, looked_at)
    seasons = {tag: season for tag, (season, _) in zip(noted, looked, strict=True)}
    wanted = [
        tag
        for tag, (season, told) in zip(noted, looked, strict=True)
        if season.stage in BEFORE_OVULATION and (all_dates or told)
    ]
    if wanted:
        for tag, (ovulation, shed, laid) in _late(seasons, wanted, noted, on, settings, kept).items():
            seasons[tag] = replace(seasons[tag], ovulation=ovulation, prelay_shed=shed, laid=laid)
    return seasons


def _looked(seen: History, settings: Settings) -> tuple[Season, bool]:
    """A season by plain rates, and whether the round of this day says a date of hers."""
    season = season_of(seen, settings)
    if settings.learned_rates:
        from eggtooth.engine.cycle.prior import read

        season = _after_milestone(season, read(settings.learned_rates))
    return season, _told_today(season, seen, settings)


def _late(
    seasons: Mapping[str, Season],
    wanted: Sequence[str],
    noted: Mapping[str, Sequence[Entry]],
    on: date,
    settings: Settings,
    kept: Kept,
) -> dict[str, tuple[Span, Span, Span]]:
    """Ovulation, pre-lay shed and eggs of the wanted, as some of the house teach them."""
    from eggtooth.engine.cycle.evidence import evidence_of
    from eggtooth.engine.cycle.forecast import late_dates
    from eggtooth.engine.cycle.grid import ROUND

    start = settings.season_start(on)
    told_of = [tag for tag, season in seasons.items() if season.basis is not None]
    teachers = told_of[:: -(-len(told_of) // TEACH_THE_ROUND)] if told_of else []
    who = list(dict.fromkeys((*wanted, *teachers)))
    read = kept.each(
        "evidence",
        {tag: (noted[tag],) for tag in who},
        lambda tags: (evidence_of(History(noted[tag], on), start) for tag in tags),
    )
    found = {t: kept.equal(("same evidence", t), (e,), lambda e=e: e) for t, e in zip(who, read, strict=True)}  # type: ignore[misc]
    rates = _rates([found[t] for t in teachers], teachers, wanted, (start, on), settings, kept)
    late = kept.each(
        "late dates",
        {tag: (found[tag], rates[tag]) for tag in wanted},
        lambda tags: late_dates([found[t] for t in tags], [rates[t] for t in tags], ROUND),
    )
    return dict(zip(wanted, late, strict=True))


def _rates(
    taught_by: Sequence[Evidence],
    teachers: Sequence[str],
    wanted: Sequence[str],
    days: tuple[date, date],
    settings: Settings,
    kept: Kept,
) -> dict[str, Rates]:
    """Rates of all teachers and of the wanted: whoever does not teach is taught the same as any other."""
    from eggtooth.engine.cycle.evidence import Evidence
    from eggtooth.engine.cycle.grid import ROUND
    from eggtooth.engine.cycle.prior import read
    from eggtooth.engine.cycle.together import taught

    start, on = days
    taught_too = not set(teachers).issuperset(wanted)
    found = (*taught_by, Evidence(start, (on - start).days)) if taught_too else tuple(taught_by)

    def work() -> list[Rates]:
        return taught(found, [read(settings.learned_rates)] * len(found), ROUND, range(len(teachers)))

    told = kept.equal("taught", found, work)
    return {**dict.fromkeys(wanted, told[-1]), **dict(zip(teachers, told, strict=False))}


def _told_today(season: Season, seen: History, settings: Settings) -> bool:
    """Whether the round of this day says a date of hers: large follicles, a scan due, or signs."""
    if season.stage is Stage.BUILDING or season.basis is None or season.follicle_mm is None:
        return True
    days = season.basis.since(seen.on)
    every = scan_every_days(season, mm_now(season.follicle_mm, days))
    return (every is not None and days >= every) or bool(late_signs(seen, settings.season_start(seen.on)))


def _after_milestone(season: Season, rates: Rates) -> Season:
    """Dates after ovulation or the pre-lay shed by the house's own waits."""
    if season.basis is None or season.stage not in (Stage.OVULATED, Stage.SHED):
        return season
    on = season.basis.on
    if season.stage is Stage.SHED:
        return replace(season, laid=Span.of(on, _spread(rates.lay)))
    whole = Normal(rates.shed.centre + rates.lay.centre, rates.whole_sd)
    return replace(season, prelay_shed=Span.of(on, _spread(rates.shed)), laid=Span.of(on, whole))


def _spread(trait: Trait) -> Normal | LogNormal:
    from math import expm1, sqrt

    return LogNormal(trait.centre, sqrt(expm1(trait.sd**2))) if trait.log else Normal(trait.mean, trait.sd)
