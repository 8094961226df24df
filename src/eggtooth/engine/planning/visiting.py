"""Why he goes to her tonight: their nights so far, when she may ovulate, what the pair is wanted for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from eggtooth.engine.cycle.season import Season, Stage, mm_now
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.wanted import Wanted
from eggtooth.engine.spans import Span
from eggtooth.engine.wording import joined, say, say_n

Why = tuple[str, tuple[Entry, ...]]


def why_now(male: Occupant, female: Occupant, wanted: Wanted, settings: Settings) -> Why:
    """The reason of a visit and the entries it rests on."""
    start = settings.season_start(female.seen.on)
    so_far, seen = _so_far(male.tag, female, start)
    when, basis = _when(female.season)
    parts = (so_far, when, wanted.why(male.tag, female.tag))
    return joined("; ", (p for p in parts if p)), (*basis, *seen)


def _so_far(male: str, female: Occupant, start: date) -> Why:
    """Nights with him and locks, or with others when he is new to her."""
    locks = female.seen.all(Kind.LOCK, start)
    his = [e for e in locks if e.partner == male]
    stays = [e for e in female.seen.all(Kind.PAIRED, start) if e.partner == male]
    if his:
        return say("{locks} with him, the last on {on:%-d %b}", locks=_locks(his), on=his[-1].on), (his[-1],)
    others = say(", {locks} with others", locks=_locks(locks)) if locks else ""
    if stays:
        visits = say_n("one stay", "{n} stays", n=len(stays))
        return joined("", (say("{visits} with him so far, no lock seen", visits=visits), others)), (
            stays[-1],
            *locks[-1:],
        )
    return joined("", (say("not with him yet"), others or say(", no lock yet"))), tuple(locks[-1:])


def _locks(locks: Sequence[Entry]) -> str:
    days = len({e.on for e in locks})
    return say_n("one lock", "{n} locks", n=days)


def _when(season: Season | None) -> Why:
    """When she most likely ovulates, or why he may go though nothing grows yet."""
    if season is None or season.basis is None or season.follicle_mm is None:
        return say("no follicle noted; his presence may start her (common practice)"), ()
    scan = season.basis
    said = say("{mm:g} mm on {on:%-d %b}", mm=season.follicle_mm, on=scan.on)
    small = season.stage is Stage.RESTING or (
        mm_now(season.follicle_mm, 0) < biology.PAIRING_FROM.value and season.ovulation is None
    )
    if small or season.ovulation is None:
        return say("{said}; below 12 mm, his presence may start her (common practice)", said=said), (scan,)
    return say("{said}, ovulation most likely {when}", said=said, when=_middle(season.ovulation)), (scan,)


def _middle(span: Span) -> str:
    """The middle half of a span, e.g. `3-17 Mar`."""
    first, last = span.q25, span.q75
    if first == last:
        return say("{first:%-d %b}", first=first)
    same = (first.year, first.month) == (last.year, last.month)
    return say(
        "{first:%-d}-{last:%-d %b}" if same else "{first:%-d %b}-{last:%-d %b}", first=first, last=last
    )
