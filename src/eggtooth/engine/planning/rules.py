"""Who may go to whom tonight, one rule a function. Each returns why not, or an empty text."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from eggtooth.engine.condition.meals import fed_on
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.cycle.season import PAST_OVULATION, Stage
from eggtooth.engine.entries import Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.wording import say

Rule = Callable[[Occupant], str]

STAGE_SAID = {
    Stage.OVULATED: say("has ovulated"),
    Stage.SHED: say("has had her pre-lay shed"),
    Stage.LAID: say("has laid this season"),
}


def out_of_quarantine(o: Occupant) -> str:
    """Nobody in quarantine meets anybody."""
    return o.quarantine


def big_and_old_enough(o: Occupant) -> str:
    """Mass and age gates."""
    return o.unready


def not_fed_today(o: Occupant) -> str:
    """No handling on the day of a meal."""
    return say("ate today") if fed_on(o.seen, o.seen.on) else ""


def not_shed_today(o: Occupant) -> str:
    """No visit on the day of a shed."""
    shed = o.seen.last(Kind.SHED)
    return say("shed today") if shed and shed.on == o.seen.on else ""


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


def few_enough_this_week(male: Occupant) -> str:
    """A male meets four females a week at most; one he sits with now is among them."""
    most = int(biology.FEMALES_A_WEEK.value)
    met = len(females_this_week(male))
    return (
        say("has been with {met} females this week, {most} at most (common practice)", met=met, most=most)
        if met >= most
        else ""
    )


def females_this_week(male: Occupant) -> set[str]:
    """The females a male was put to since Monday."""
    monday = male.seen.on - timedelta(days=male.seen.on.weekday())
    return {e.partner for e in male.seen.all(Kind.PAIRED, monday)}


LASTING: tuple[Rule, ...] = (out_of_quarantine, big_and_old_enough)
"""Rules for both that a day does not change."""

BOTH: tuple[Rule, ...] = (out_of_quarantine, big_and_old_enough, not_fed_today, not_shed_today)


def male_stays_home(male: Occupant) -> str:
    """The first reason why a male does not go out tonight."""
    return _first((*BOTH, not_worn, few_enough_this_week), male)


def male_out_for_now(male: Occupant) -> str:
    """The first reason why a male goes to nobody in the coming days."""
    return _first((*LASTING, not_worn), male)


def female_out_for_now(female: Occupant) -> str:
    """The first reason why nobody goes to a female in the coming days."""
    return _first((before_ovulation, *LASTING), female)


def female_gets_none(female: Occupant) -> str:
    """The first reason why a female gets no male tonight."""
    return _first((before_ovulation, *BOTH), female)


def _first(rules: tuple[Rule, ...], occupant: Occupant) -> str:
    return next((why for rule in rules if (why := rule(occupant))), "")
