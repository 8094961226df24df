"""The words of a plan: why each pair, and why a female has no male."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from eggtooth.engine.genetics.cautions import BLOCK
from eggtooth.engine.planning.harm import said_of
from eggtooth.engine.planning.outlook import brought
from eggtooth.engine.planning.plan import PairWish, PlannedPair, Role, Unplaced
from eggtooth.engine.planning.plan_rules import Choice
from eggtooth.engine.planning.spares import saves
from eggtooth.engine.planning.stakes import Stakes
from eggtooth.engine.planning.wishes import Aim

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
    parts = [_hope(wishes, asked), f"she: {asked.prospects.females[j].why}"]
    parts.append(f"he: {his} of the {stakes.room[i]} females he may serve")
    if about := asked.prospects.males[i].why:
        parts.append(about)
    pinned = (i, j) in stakes.pins
    if pinned:
        parts.insert(0, "pinned by you")
    return _pair(asked, stakes, (i, j), Role.FIRST, value, wishes, "; ".join(parts))


def _spare(asked: Question, stakes: Stakes, choice: Choice, j: int) -> PlannedPair:
    i, first = choice.spares[j], stakes.males[choice.firsts[j]]
    value = float(saves(stakes, choice.firsts, j)[i])
    wishes = pair_wishes(asked, i, j)
    why = f"steps in when {first} cannot; {_hope(wishes, asked)}"
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
    cautions = tuple(f"{c.text} (your reason: {c.reason})" if c.reason else c.text for c in said)
    if others := [m for m in asked.prospects.females[j].locked if m != stakes.males[i]]:
        cautions += (f"She has locked with {', '.join(others)} this season: her young may be his.",)
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
        return "serves no wish"
    weight = {goal.text: goal.weight for goal in asked.hopes.goals}
    order = sorted(wishes, key=lambda w: (-weight[w.wish] * w.at_least_one, w.wish))
    said = [_one_hope(w) for w in order[:SAID]]
    more = len(order) - SAID
    return ", ".join(said) + (f" and {more} more wish{'es' if more > 1 else ''}" if more > 0 else "")


def _one_hope(w: PairWish) -> str:
    if w.wish.startswith(f"{Aim.PROVE} "):
        return f"{w.wish}: a clutch settles {w.p:.0%} of the doubt"
    return f"{w.wish}: {w.p:.3g} an egg, {100 * w.at_least_one:.0f} of 100 to see at least one"


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
        return "no wish is written down, so there is nothing to plan for"
    does = (stakes.effect[:, :, j] > 0).any(axis=0)
    if not does.any():
        return "with no male here can she bring what is wished"
    able = does & stakes.open[:, j]
    if not able.any():
        return f"every male with whom she could serve a wish is kept from her: {_kept(stakes, does, j)}"
    gains = np.where(able, stakes.gains(stakes.means(choice.firsts), j), -np.inf)
    i = int(gains.argmax())
    served = Counter(choice.firsts.values())
    added = max(0.0, float(gains[i]) + stakes.cost)
    worth = f"with {stakes.males[i]}, the best of them, she would add {added:.2g}"
    if all(served[m] >= stakes.room[m] for m in np.flatnonzero(able).tolist()):
        return f"the males that could serve a wish with her are full with females who add more; {worth}"
    return f"{worth}, less than a clutch must add: what is wished is as good as reached without her"


def _kept(stakes: Stakes, does: object, j: int) -> str:
    import numpy as np

    rows = np.flatnonzero(np.asarray(does))
    counts = {
        "too closely related": int((stakes.kinship[rows, j] > stakes.kinship_limit).sum()),
        f"by a {BLOCK}ing caution for their young": int(stakes.harmful[rows, j].sum()),
        "by your bans": sum((int(i), j) in stakes.bans for i in rows),
    }
    return ", ".join(f"{n} {why}" for why, n in counts.items() if n)
