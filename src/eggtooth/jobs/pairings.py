"""The season's plan of pairs: gather animals, wishes, pins and bans, ask the engine, answer."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from eggtooth.engine.colony import Colony, Wish
from eggtooth.engine.condition.fitness import ready_all
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.sires import sire_odds
from eggtooth.engine.planning.hopes import Family, hopes
from eggtooth.engine.planning.occupants import room_on
from eggtooth.engine.planning.plan import PlannedPair, SeasonPlan, changes
from eggtooth.engine.planning.prospects import Prospect, Prospects, prospects
from eggtooth.engine.planning.season_plan import Question, season_plan
from eggtooth.engine.planning.stakes import Goal
from eggtooth.engine.planning.wishes import Aim, WishError, WishRead, read_wish
from eggtooth.engine.wording import joined
from eggtooth.jobs.family_odds import genotypes_in
from eggtooth.jobs.forecast import outlooks_on
from eggtooth.jobs.gather import Source
from eggtooth.jobs.kin import how_related
from eggtooth.records import store
from eggtooth.records.files.refusal import nearest

Pair = tuple[str, str]
SECONDS = 60.0


class UnknownTag(ValueError):
    """A pin, a ban or an animal to leave out names no animal, or one of the wrong sex."""


@dataclass(frozen=True)
class Asked:
    """What is asked of the plan: `choices` (pin, ban or empty by (male, female)) over those kept, animals to
    leave out ("what if"), the keeper's reasons for going against cautions, how near the best it must come and
    how long it may take."""

    choices: Mapping[Pair, str] = field(default_factory=dict)
    without: frozenset[str] = frozenset()
    reasons: Mapping[str, str] = field(default_factory=dict)
    aim: float | None = None
    seconds: float = SECONDS
    seed: int = 0


def plan_for(source: Source, on: date, asked: Asked) -> SeasonPlan:
    """The plan for the season that is on or comes next. Raises `UnknownTag`, and `WishError` for a wish."""
    until = time.monotonic() + asked.seconds
    return season_plan(question(source, on, asked), asked.aim, lambda: until - time.monotonic())


def question(source: Source, on: date, asked: Asked) -> Question:
    """Everything the plan rests on."""
    colony = source.colony.as_of(on)
    _check_tags(colony, asked)
    choices = {**source.choices_on(on), **asked.choices}
    pins, bans = (frozenset(p for p, says in choices.items() if says == word) for word in ("pin", "ban"))
    goals, reads = goals_of(colony.wishes, colony)
    who = _without(who_takes_part(source, on), asked.without)
    found = carriers(colony, standard(), None, sire_odds(colony), seed=asked.seed)
    family = _family(colony, found, who, pins)
    kin = how_related(source.colony, on, "breeding")
    males = [kin.rows.index(m.tag) for m in who.males]
    females = [kin.columns.index(f.tag) for f in who.females]
    return Question(
        who,
        hopes(goals, reads, who.males, who.females, family),
        family,
        kin.values[males][:, females],
        source.settings.kinship_limit,
        standard(),
        pins,
        bans,
        asked.reasons,
    )


def goals_of(wishes: Iterable[Wish], colony: Colony) -> tuple[list[Goal], list[WishRead]]:
    """Wishes as read, with weight and count; one that matters nothing is left out.

    Of one that stands twice weights and counts are added. Raises `WishError`.
    """
    goals: dict[str, Goal] = {}
    reads: dict[str, WishRead] = {}
    for wish in wishes:
        if wish.weight > 0:
            said = _read(wish, colony)
            reads[said.text] = said
            before = goals.get(said.text, Goal(said.text, 0.0, 0))
            count = 1 if said.aim is Aim.PROVE else before.count + wish.count
            goals[said.text] = Goal(said.text, before.weight + wish.weight, count)
    return list(goals.values()), list(reads.values())


def _read(wish: Wish, colony: Colony) -> WishRead:
    try:
        return read_wish(wish.text, colony.animals)
    except WishError as wrong:
        raise WishError(f"the wish {wish.text!r}: {wrong.tag} {wrong}".replace(":  ", ": ")) from None


def who_takes_part(source: Source, on: date) -> Prospects:
    """Every animal's prospects, in walking order of the tubs."""
    known = source.colony.as_of(on)
    room = room_on(known, on, source.settings, all_dates=False)
    ready = {r.tag: r for r in ready_all(known, on, source.settings)}
    order = [ready[tag] for tag in room if tag in ready]
    return prospects(room, order, outlooks_on(source, on), source.settings, on)


def _without(who: Prospects, tags: frozenset[str]) -> Prospects:
    def kept(side: Iterable[Prospect]) -> tuple[Prospect, ...]:
        return tuple(one for one in side if one.tag not in tags)

    out = (*((t, "left out, as you asked") for t in sorted(tags)), *(o for o in who.out if o[0] not in tags))
    return replace(who, males=kept(who.males), females=kept(who.females), out=out)


def _family(colony: Colony, found: Carriers, who: Prospects, pins: frozenset[Pair]) -> Family:
    named = {tag for pair in pins for tag in pair}
    tags = dict.fromkeys([*(p.tag for p in (*who.males, *who.females)), *sorted(named)])
    return Family(colony.animals, {tag: genotypes_in(found, tag) for tag in tags}, found)


def _check_tags(colony: Colony, asked: Asked) -> None:
    wrong = []
    for pair in sorted(asked.choices):
        for tag, sex, word in zip(pair, "MF", ("male", "female"), strict=True):
            if tag not in colony.animals:
                wrong.append(_unknown(tag, colony, ":".join(pair)))
            elif colony.animals[tag].sex != sex:
                wrong.append(f"{':'.join(pair)}: {tag} is not recorded as a {word}; write MALE:FEMALE")
    wrong += [_unknown(tag, colony, tag) for tag in sorted(asked.without) if tag not in colony.animals]
    if wrong:
        raise UnknownTag(joined("\n", dict.fromkeys(wrong)))


def _unknown(tag: str, colony: Colony, where: str) -> str:
    near = nearest(tag, colony.animals)
    return f"{where}: {tag} is not an animal here" + (f"; did you mean {near}?" if near else "")


def keep(choices: Mapping[Pair, str], by: str = "") -> None:
    """Keep choices about pairs in the open store, all or none."""
    with store.all_or_nothing():
        for (male, female), says in choices.items():
            store.choose(male, female, says, by)


def as_json(plan: SeasonPlan) -> dict[str, Any]:
    """The plan as one json document. `p` of a wish is for one fertile egg; `at_least_one` for the season."""
    return {
        "pairs": [_pair_json(p) for p in plan.pairs],
        "value": round(plan.value, 9),
        "bound": round(plan.bound, 9),
        "gap": round(plan.gap, 9),
        "status": plan.status.value,
        "unplaced": [{"tag": u.tag, "why": u.why} for u in plan.unplaced],
        "wishes": [
            {
                "wish": w.wish,
                "weight": w.weight,
                "count": w.count,
                "expected": round(w.expected, 6),
                "p": round(w.p, 6),
                "value": round(w.value, 9),
            }
            for w in plan.wishes
        ],
        "cost_of_a_pair": round(plan.cost, 9),
        "clash": list(plan.clash),
    }


def compared_json(before: SeasonPlan, after: SeasonPlan) -> dict[str, Any]:
    """What a "what if" changes: the value lost and each female whose first male is another."""
    changed = [{"female": f, "from": a, "to": b} for f, a, b in changes(before, after)]
    return {"costs": round(before.value - after.value, 9), "changed": changed}


def _pair_json(pair: PlannedPair) -> dict[str, Any]:
    return {
        "male": pair.male,
        "female": pair.female,
        "role": pair.role.value,
        "value": round(pair.value, 9),
        "p_wishes": [
            {
                "wish": w.wish,
                "p": w.p,
                "at_least_one": round(w.at_least_one, 6),
                "expected": round(w.expected, 6),
            }
            for w in pair.wishes
        ],
        "kinship": pair.kinship,
        "cautions": list(pair.cautions),
        "pinned": pair.pinned,
        "why": pair.why,
    }
