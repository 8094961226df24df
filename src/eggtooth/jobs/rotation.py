"""The coming nights: gather, ask the engine; the season's plan the rotation goes by, read and kept."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.coming import ComingNight, coming_nights
from eggtooth.engine.planning.wanted import Wanted, written
from eggtooth.jobs.gather import Source
from eggtooth.records.files.refusal import nearest


class PlanFault(ValueError):
    """A file that is no plan of pairs for this colony; says what was found and what to do."""


def rotation(source: Source, on: date, nights: int) -> list[ComingNight]:
    """Tonight and the nights after it. Raises `ValueError` for a number of nights that cannot be planned."""
    return coming_nights(source.colony, on, nights, source.settings)


def with_plan(source: Source, path: Path) -> Source:
    """The same colony under the plan in a file, as `eggtooth pairings --json` writes it."""
    wanted = plan_in(path, source.colony)
    return replace(source, settings=replace(source.settings, season_plan=written(wanted)))


def plan_in(path: Path, colony: Colony) -> Wanted:
    """Read a plan. Raises `PlanFault` when it is none, or names an animal that is not here."""
    try:
        pairs = json.loads(path.read_text("utf-8"))["pairs"]
        values = {(str(p["male"]), str(p["female"])): float(p["value"]) for p in pairs}
        named = {(str(p["male"]), str(p["female"])): _names(p) for p in pairs}
        _known({tag for pair in values for tag in pair}, colony, path)
        return Wanted(values, {pair: name for pair, name in named.items() if name})
    except PlanFault:
        raise
    except OSError as wrong:
        raise PlanFault(f"{path}: cannot be read: {wrong.strerror}") from None
    except (ValueError, KeyError, TypeError) as wrong:
        raise PlanFault(f"{path}: not a plan as `eggtooth pairings --json` writes it ({wrong!r})") from None


def _names(pair: dict[str, Any]) -> str:
    """The wishes a pair is mostly wanted for, the likeliest first."""
    wishes = sorted(pair.get("p_wishes", []), key=lambda w: (-float(w["p"]), str(w["wish"])))
    return " and ".join(str(w["wish"]) for w in wishes[:2] if float(w["p"]) > 0)


def _known(tags: set[str], colony: Colony, path: Path) -> None:
    for tag in sorted(tags - set(colony.animals)):
        near = nearest(tag, colony.animals)
        raise PlanFault(f"{path}: {tag} is not an animal here" + (f"; did you mean {near}?" if near else ""))


def keep(settings: Settings, by: str = "") -> None:
    """Put the plan of these settings in force; the former choice stays in the record."""
    from eggtooth.records import store

    store.save_settings(settings, by)
