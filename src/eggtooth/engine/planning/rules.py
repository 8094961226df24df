"""Who may go to whom tonight, one rule a function. Each returns why not, or an empty text."""

from __future__ import annotations

from collections.abc import Callable

from eggtooth.engine.condition.meals import fed_on
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.cycle.season import PAST_OVULATION, Stage
from eggtooth.engine.entries import Kind
from eggtooth.engine.planning.occupants import Occupant

Rule = Callable[[Occupant], str]

STAGE_SAID = {
    Stage.OVULATED: "has ovulated",
    Stage.SHED: "has had her pre-lay shed",
    Stage.LAID: "has laid this season",
}


def out_of_quarantine(o: Occupant) -> str:
    """Nobody in quarantine meets anybody."""
    return o.quarantine


def big_and_old_enough(o: Occupant) -> str:
    """Mass and age gates."""
    return o.unready


def not_fed_today(o: Occupant) -> str:
    """No handling on the day of a meal."""
    return "ate today" if fed_on(o.seen, o.seen.on) else ""


def not_shed_today(o: Occupant) -> str:
    """No visit on the day of a shed."""
    shed = o.seen.last(Kind.SHED)
    return "shed today" if shed and shed.on == o.seen.on else ""


def not_worn(o: Occupant) -> str:
    """A worn, resting or doubtful male stays home."""
    wear = o.wear
    if wear is None or wear.state is WearState.FIT:
        return ""
    doubtful = (
        bool(o.mass and o.mass.doubtful) and wear.state is WearState.WATCH and "weigh again" in wear.why
    )
    return wear.why if wear.state is not WearState.WATCH or doubtful else ""


def before_ovulation(o: Occupant) -> str:
    """A female past ovulation gets no male."""
    season = o.season
    return STAGE_SAID[season.stage] if season and season.stage in PAST_OVULATION else ""


BOTH: tuple[Rule, ...] = (out_of_quarantine, big_and_old_enough, not_fed_today, not_shed_today)


def male_stays_home(male: Occupant) -> str:
    """The first reason why a male does not go out tonight."""
    return _first((*BOTH, not_worn), male)


def female_gets_none(female: Occupant) -> str:
    """The first reason why a female gets no male tonight."""
    return _first((before_ovulation, *BOTH), female)


def _first(rules: tuple[Rule, ...], occupant: Occupant) -> str:
    return next((why for rule in rules if (why := rule(occupant))), "")
