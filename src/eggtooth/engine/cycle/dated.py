"""The seasons the round reads: stage and last entry as seen, dates ahead by the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from eggtooth.engine.cycle.season import Season, Stage, season_of
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

FORECAST = frozenset({Stage.GROWING, Stage.BUILDING, Stage.OVULATED, Stage.SHED})


def seasons_of(seen: Sequence[History], settings: Settings) -> list[Season]:
    """Each female's season. Only those with growing follicles or a milestone are forecast; others get none.

    Cost: about 1 ms for each of these, on the round's coarser grid.
    """
    seasons = [season_of(s, settings) for s in seen]
    dated = [i for i, s in enumerate(seasons) if s.stage in FORECAST]
    if dated:
        from eggtooth.engine.cycle.evidence import evidence_of
        from eggtooth.engine.cycle.forecast import late_dates
        from eggtooth.engine.cycle.grid import ROUND
        from eggtooth.engine.cycle.prior import read

        found = [evidence_of(seen[i], settings.season_start(seen[i].on)) for i in dated]
        told = late_dates(found, read(settings.learned_rates), ROUND)
        for i, (ovulation, shed, laid) in zip(dated, told, strict=True):
            seasons[i] = replace(seasons[i], ovulation=ovulation, prelay_shed=shed, laid=laid)
    return seasons
