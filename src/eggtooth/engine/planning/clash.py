"""Pins that cannot all be kept: the smallest set of demands that already clash, in words.

A set of pins can be kept if and only if each pin alone breaks no rule on two animals, no pin is banned, no
female has two pins and no male more than he may serve: so the smallest clash is one of these, and is found
without search.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from eggtooth.engine.planning.stakes import TOLERANCE, Stakes
from eggtooth.engine.wording import say, say_n

Pair = tuple[str, str]


def smallest_clash(
    stakes: Stakes,
    pins: Iterable[Pair],
    bans: Iterable[Pair],
    out: Mapping[str, str],
    harm: Mapping[Pair, str],
) -> tuple[str, ...]:
    """The fewest demands that cannot be kept together, one sentence each; empty when all pins can be.

    `pins` and `bans` by tags, `out` why an animal takes no part, `harm` the caution that blocks a pinned
    pair.
    """
    wanted = sorted(set(pins))
    found = list(_clashes(stakes, wanted, set(bans), out, harm))
    return min(found, key=len, default=())


def _clashes(
    stakes: Stakes, pins: list[Pair], bans: set[Pair], out: Mapping[str, str], harm: Mapping[Pair, str]
) -> Iterator[tuple[str, ...]]:
    for pair in pins:
        if why := _alone(stakes, pair, out, harm):
            yield (say("{pin} cannot be: {why}", pin=_pin(pair), why=why),)
        if pair in bans:
            yield _pin(pair), say("{male} is banned from {female}", male=pair[0], female=pair[1])
    yield from _two_for_one(pins)
    yield from _too_many(stakes, pins)


def _alone(stakes: Stakes, pair: Pair, out: Mapping[str, str], harm: Mapping[Pair, str]) -> str:
    """What stands against one pin by itself."""
    male, female = pair
    for tag, side in ((male, stakes.males), (female, stakes.females)):
        if tag in out:
            return say("{tag} takes no part ({out})", tag=tag, out=out[tag])
        if tag not in side:
            return say(
                "{tag} is not a male in the room"
                if side is stakes.males
                else "{tag} is not a female in the room",
                tag=tag,
            )
    i, j = stakes.males.index(male), stakes.females.index(female)
    if stakes.harmful[i, j]:
        return harm.get(pair, say("a caution blocks the pair"))
    if stakes.kinship[i, j] > stakes.kinship_limit + TOLERANCE:
        inbred = say("their young would be inbred {kinship:.1%}", kinship=stakes.kinship[i, j])
        return say(
            "{inbred}; the house allows {limit:.1%}",
            inbred=inbred,
            limit=stakes.kinship_limit,
        )
    return say("{male} may serve no female now", male=male) if stakes.room[i] < 1 else ""


def _two_for_one(pins: list[Pair]) -> Iterator[tuple[str, ...]]:
    by_female: defaultdict[str, list[Pair]] = defaultdict(list)
    for pair in pins:
        by_female[pair[1]].append(pair)
    for female, asked in by_female.items():
        if len(asked) > 1:
            yield (*map(_pin, asked[:2]), say("{female} can have one first male", female=female))


def _too_many(stakes: Stakes, pins: list[Pair]) -> Iterator[tuple[str, ...]]:
    by_male: defaultdict[str, list[Pair]] = defaultdict(list)
    for pair in pins:
        by_male[pair[0]].append(pair)
    for i, male in enumerate(stakes.males):
        room, asked = stakes.room[i], by_male.get(male, [])
        if len(asked) > room:
            yield (
                *map(_pin, asked[: room + 1]),
                say_n("{male} may serve {n} female", "{male} may serve {n} females", n=room, male=male),
            )


def _pin(pair: Pair) -> str:
    return say("{male} pinned to {female}", male=pair[0], female=pair[1])
