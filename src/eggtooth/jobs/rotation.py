"""The coming nights: gather, ask the engine; the season's plan the rotation goes by, read and kept."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.by_wishes import by_wishes
from eggtooth.engine.planning.coming import ComingNight, coming_nights
from eggtooth.engine.planning.occupants import room_on
from eggtooth.engine.planning.plan import Role, SeasonPlan
from eggtooth.engine.planning.wanted import Wanted, written
from eggtooth.jobs.gather import Source
from eggtooth.records.files.refusal import nearest

BEHIND = 0.9
"""How much of the first's worth a spare counts at most."""


class PlanFault(ValueError):
    """A file that is no plan of pairs for this colony; says what was found and what to do."""


def rotation(source: Source, on: date, nights: int, kept: Kept | None = None) -> list[ComingNight]:
    """Tonight and the nights after it. Raises `ValueError` for a number of nights that cannot be planned."""
    return coming_nights(source.colony, on, nights, source.settings, kept)


def with_plan(source: Source, path: Path) -> Source:
    """The same colony under the plan in a file, as `eggtooth pairings --json` writes it."""
    wanted = plan_in(path, source.colony)
    settings = replace(source.settings, season_plan=written(wanted), season_plan_until="")
    return replace(source, settings=settings)


def plan_in(path: Path, colony: Colony) -> Wanted:
    """Read a plan. Raises `PlanFault` when it is none, or names an animal that is not here."""
    try:
        pairs = [_pair(p) for p in json.loads(path.read_text("utf-8"))["pairs"]]
        _known({tag for p in pairs for tag in (p.male, p.female)}, colony, path)
        return _wanted(pairs)
    except PlanFault:
        raise
    except OSError as wrong:
        raise PlanFault(f"{path}: cannot be read: {wrong.strerror}") from None
    except (ValueError, KeyError, TypeError) as wrong:
        raise PlanFault(f"{path}: not a plan as `eggtooth pairings --json` writes it ({wrong!r})") from None


def wanted_by(plan: SeasonPlan) -> Wanted:
    """How much each pair of a plan is wanted, and for what."""
    return _wanted(
        [
            _Pair(p.male, p.female, p.value, p.role, [(w.wish, w.expected) for w in p.wishes])
            for p in plan.pairs
        ]
    )


def wanted_by_wishes(source: Source, on: date) -> Wanted:
    """Every fit female with the male worth most for the wishes, and others that may stand in."""
    room = room_on(source.colony, on, source.settings, all_dates=False)
    fit = {o.tag: o.animal.sex for o in room.values() if not o.unready and not o.quarantine}
    males, females = ([t for t, s in fit.items() if s is sex] for sex in (Sex.MALE, Sex.FEMALE))
    return by_wishes(source.colony, males, females, source.settings)


class _Pair(NamedTuple):
    """A planned pair, with what it is expected to give of each wish."""

    male: str
    female: str
    value: float
    role: str
    wishes: list[tuple[str, float]]


def _pair(said: dict[str, Any]) -> _Pair:
    wishes = [(str(w["wish"]), float(w.get("expected", w["p"]))) for w in said.get("p_wishes", [])]
    role = str(said.get("role", Role.FIRST))
    return _Pair(str(said["male"]), str(said["female"]), float(said["value"]), role, wishes)


def _wanted(pairs: list[_Pair]) -> Wanted:
    """A spare's value is what he saves when the first cannot: he never outranks the first meanwhile."""
    first = {p.female: p.value for p in pairs if p.role == Role.FIRST}
    values = {
        (p.male, p.female): p.value
        if p.role == Role.FIRST
        else min(p.value, BEHIND * first.get(p.female, p.value))
        for p in pairs
    }
    return Wanted(values, {(p.male, p.female): said for p in pairs if (said := _names(p))})


def _names(pair: _Pair) -> str:
    """The two wishes a pair gives most of."""
    best = sorted((w for w in pair.wishes if w[1] > 0), key=lambda w: (-w[1], w[0]))
    return " and ".join(wish for wish, _ in best[:2])


def _known(tags: set[str], colony: Colony, path: Path) -> None:
    for tag in sorted(tags - set(colony.animals)):
        near = nearest(tag, colony.animals)
        raise PlanFault(f"{path}: {tag} is not an animal here" + (f"; did you mean {near}?" if near else ""))


def keep(settings: Settings, by: str = "") -> None:
    """Put the plan of these settings in force; the former choice stays in the record."""
    from eggtooth.records import store

    store.save_settings(settings, by)
