"""The words of a plan: why each pair, and why a female has no male."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from eggtooth.engine.planning.harm import said_of
from eggtooth.engine.planning.outlook import brought
from eggtooth.engine.planning.plan import PairWish, PlannedPair, Role, Unplaced
from eggtooth.engine.planning.plan_rules import Choice
from eggtooth.engine.planning.spares import saves
from eggtooth.engine.planning.stakes import Stakes
from eggtooth.engine.planning.wishes import Aim
from eggtooth.engine.wording import joined, say, say_n

if TYPE_CHECKING:
    from eggtooth.engine.planning.season_plan import Question

SAID = 3
"""Wishes named in a reason; the others are counted."""


def told_pairs(asked: Question, stakes: Stakes, choice: Choice) -> tuple[PlannedPair, ...]:
    """Every planned pair, female by female in walking order, the first before the spare."""
    found = []
    for j in sorted(choice.firsts):
        found.append(_first(asked, stakes, choice, j))
        if j in choice.spares:
            found.append(_spare(asked, stakes, choice, j))
    return tuple(found)


def _first(asked: Question, stakes: Stakes, choice: Choice, j: int) -> PlannedPair:
    i = choice.firsts[j]
    without = {k: m for k, m in choice.firsts.items() if k != j}
    value = stakes.worth(choice.firsts) - stakes.worth(without)
    wishes = pair_wishes(asked, i, j)
    his = sum(1 for m in choice.firsts.values() if m == i)
    parts = [_hope(wishes, asked), say("she: {why}", why=asked.prospects.females[j].why)]
    parts.append(say("he: {his} of the {room} females he may serve", his=his, room=stakes.room[i]))
    if about := asked.prospects.males[i].why:
        parts.append(about)
    pinned = (i, j) in stakes.pins
    if pinned:
        parts.insert(0, say("pinned by you"))
    return _pair(asked, stakes, (i, j), Role.FIRST, value, wishes, joined("; ", parts))


def _spare(asked: Question, stakes: Stakes, choice: Choice, j: int) -> PlannedPair:
    i, first = choice.spares[j], stakes.males[choice.firsts[j]]
    value = float(saves(stakes, choice.firsts, j)[i])
    wishes = pair_wishes(asked, i, j)
    why = say("steps in when {first} cannot; {hope}", first=first, hope=_hope(wishes, asked))
    return _pair(asked, stakes, (i, j), Role.SPARE, value, wishes, why)


def _pair(
    asked: Question,
    stakes: Stakes,
    at: tuple[int, int],
    role: Role,
    value: float,
    wishes: tuple[PairWish, ...],
    why: str,
) -> PlannedPair:
    i, j = at
    known = asked.family.genotypes
    said = said_of(asked.catalogue, known[stakes.males[i]], known[stakes.females[j]], asked.reasons)
    cautions = tuple(
        say("{text} (your reason: {reason})", text=c.text, reason=c.reason) if c.reason else c.text
        for c in said
    )
    if others := [m for m in asked.prospects.females[j].locked if m != stakes.males[i]]:
        cautions += (
            say("She has locked with {others} this season: her young may be his.", others=", ".join(others)),
        )
    pinned = role is Role.FIRST and at in stakes.pins
    names = stakes.males[i], stakes.females[j]
    return PlannedPair(*names, role, value, wishes, float(stakes.kinship[at]), cautions, pinned, why)


def pair_wishes(asked: Question, i: int, j: int) -> tuple[PairWish, ...]:
    """What a pair does for each wish it serves at all, in the order of the wishes."""
    his, hers = asked.prospects.males[i], asked.prospects.females[j]
    found = []
    for w, said in enumerate(asked.hopes.reads):
        p = float(asked.hopes.egg[w, i, j])
        if p <= 0:
            continue
        comes = his.p * hers.p
        if said.aim is Aim.PROVE:
            found.append(PairWish(said.text, p, p * comes, p * comes))
            continue
        some = 1 - float(brought(p, comes, hers.hatchlings)[0])
        found.append(PairWish(said.text, p, some, p * comes * hers.mean))
    return tuple(found)


def _hope(wishes: tuple[PairWish, ...], asked: Question) -> str:
    """The wishes a pair serves, those that matter most first."""
    if not wishes:
        return say("serves no wish")
    weight = {goal.text: goal.weight for goal in asked.hopes.goals}
    order = sorted(wishes, key=lambda w: (-weight[w.wish] * w.at_least_one, w.wish))
    said = [_one_hope(w) for w in order[:SAID]]
    more = len(order) - SAID
    named = joined(", ", said)
    if more <= 0:
        return named
    return say_n("{named} and {n} more wish", "{named} and {n} more wishes", n=more, named=named)


def _one_hope(w: PairWish) -> str:
    if w.wish.startswith(f"{Aim.PROVE} "):
        return say("{wish}: a clutch settles {p:.0%} of the doubt", wish=w.wish, p=w.p)
    return say(
        "{wish}: {p:.3g} an egg, {seen:.0f} of 100 to see at least one",
        wish=w.wish,
        p=w.p,
        seen=100 * w.at_least_one,
    )


def told_unplaced(asked: Question, stakes: Stakes, choice: Choice) -> tuple[Unplaced, ...]:
    """Females without a male: those left out from the start, then those the plan leaves over."""
    sex = asked.family.animals
    out = [Unplaced(tag, why) for tag, why in asked.prospects.out if tag in sex and sex[tag].sex.value == "F"]
    rest = [j for j in range(len(stakes.females)) if j not in choice.firsts]
    return (*out, *(Unplaced(stakes.females[j], _why_not(asked, stakes, choice, j)) for j in rest))


def _why_not(asked: Question, stakes: Stakes, choice: Choice, j: int) -> str:
    """Why the plan leaves a female over: by the rules, by the wishes, or because the males are full."""
    import numpy as np

    if not stakes.goals:
        return say("no wish is written down, so there is nothing to plan for")
    does = (stakes.effect[:, :, j] > 0).any(axis=0)
    if not does.any():
        return say("with no male here can she bring what is wished")
    able = does & stakes.open[:, j]
    if not able.any():
        return say(
            "every male with whom she could serve a wish is kept from her: {kept}",
            kept=_kept(stakes, does, j),
        )
    gains = np.where(able, stakes.gains(stakes.means(choice.firsts), j), -np.inf)
    i = int(gains.argmax())
    served = Counter(choice.firsts.values())
    added = max(0.0, float(gains[i]) + stakes.cost)
    worth = say("with {male}, the best of them, she would add {added:.2g}", male=stakes.males[i], added=added)
    if all(served[m] >= stakes.room[m] for m in np.flatnonzero(able).tolist()):
        return say(
            "the males that could serve a wish with her are full with females who add more; {worth}",
            worth=worth,
        )
    return say(
        "{worth}, less than a clutch must add: what is wished is as good as reached without her", worth=worth
    )


def _kept(stakes: Stakes, does: object, j: int) -> str:
    import numpy as np

    rows = np.flatnonzero(np.asarray(does))
    near = int((stakes.kinship[rows, j] > stakes.kinship_limit).sum())
    harm = int(stakes.harmful[rows, j].sum())
    bans = sum((int(i), j) in stakes.bans for i in rows)
    counts = (
        (near, say("{n} too closely related", n=near)),
        (harm, say("{n} by a blocking caution for their young", n=harm)),
        (bans, say("{n} by your bans", n=bans)),
    )
    return joined(", ", (said for n, said in counts if n))
