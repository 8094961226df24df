"""The seasons the round reads: stage and last entry as seen, dates ahead by the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from eggtooth.engine.cycle.season import Season, Stage, late_signs, mm_now, scan_every_days, season_of
from eggtooth.engine.facts.fact import LogNormal, Normal
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.spans import Span

if TYPE_CHECKING:
    from eggtooth.engine.cycle.prior import Rates, Trait

BEFORE_OVULATION = frozenset({Stage.GROWING, Stage.BUILDING})

TEACH_THE_ROUND = 100
"""Of the females scanned or further this season, how many teach the house's running season to the round's
dates: it must be quick, and a hundred tell nearly as much as all (our choice)."""


def seasons_of(seen: Sequence[History], settings: Settings, all_dates: bool = True) -> list[Season]:
    """Each female's season, with the dates of the forecast where follicles grow or a milestone was seen.

    With `all_dates` false, growing females of whom nothing is due keep plain rates: the round says
    no date of them. Cost: about 1 ms a forecast, on the coarser grid; next to nothing after ovulation,
    where only the known waits are left.
    """
    seasons = [season_of(s, settings) for s in seen]
    if settings.learned_rates:
        from eggtooth.engine.cycle.prior import read

        rates = read(settings.learned_rates)
        seasons = [_after_milestone(s, rates) for s in seasons]
    wanted = [
        i
        for i, (season, s) in enumerate(zip(seasons, seen, strict=True))
        if season.stage in BEFORE_OVULATION and (all_dates or _told_today(season, s, settings))
    ]
    return _forecast(seasons, wanted, seen, settings) if wanted else seasons


def _forecast(
    seasons: list[Season], wanted: list[int], seen: Sequence[History], settings: Settings
) -> list[Season]:
    from eggtooth.engine.cycle.evidence import evidence_of
    from eggtooth.engine.cycle.forecast import late_dates
    from eggtooth.engine.cycle.grid import ROUND
    from eggtooth.engine.cycle.prior import read
    from eggtooth.engine.cycle.together import taught

    told_of = [i for i, season in enumerate(seasons) if season.basis is not None]
    teachers = set(told_of[:: -(-len(told_of) // TEACH_THE_ROUND)])
    who = [*wanted, *sorted(teachers.difference(wanted))]
    found = [evidence_of(seen[i], settings.season_start(seen[i].on)) for i in who]
    teach = [k for k, i in enumerate(who) if i in teachers]
    rates = taught(found, [read(settings.learned_rates)] * len(found), ROUND, teach)
    told = late_dates(found[: len(wanted)], rates[: len(wanted)], ROUND)
    for i, (ovulation, shed, laid) in zip(wanted, told, strict=True):
        seasons[i] = replace(seasons[i], ovulation=ovulation, prelay_shed=shed, laid=laid)
    return seasons


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
