"""Clutches that lie: when they pip, how many hatch, and how this house's differ from the usual."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Colony, Sex
from eggtooth.engine.eggs.hatching import CANDLED_FROM_DAYS, Hatch, hatch_of, warm_share
from eggtooth.engine.eggs.house import House, house_of, usual, worth_days
from eggtooth.engine.eggs.incubation import pip_days, warmth
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.occupants import Occupant, Room
from eggtooth.engine.planning.warmed import Warmed, warmed
from eggtooth.engine.spans import Span
from eggtooth.engine.wording import joined, say

if TYPE_CHECKING:
    pass

GIVEN_UP_AFTER_DAYS = 100


@dataclass(frozen=True, slots=True)
class Clutch:
    """One clutch in the incubator: the entries it rests on, when it pips and how many hatch; `box` is the tag
    of its incubator where that is known.
    """

    dam: str
    laid: Entry
    eggs: int
    pip: Span
    hatch: Hatch
    why: str
    box: str = ""


def clutches_on(colony: Colony, on: date, settings: Settings, kept: Kept | None = None) -> list[Clutch]:
    """Every clutch that lies on a day: not hatched, not lost, not given up; in walking order of the dams."""
    kept = kept or Kept()
    boxes, house = boxes_on(colony, on, settings, kept), house_on(colony, on, settings, kept)
    lies = {tag: (seen, laid) for tag, seen in _dams(colony, on, kept) if (laid := _lies(seen))}
    rests_on = {tag: (colony.of_animal(tag), boxes, house) for tag in lies}
    return kept.each("clutch", rests_on, lambda tags: [_clutch(t, *lies[t], boxes, house) for t in tags])


def _dams(colony: Colony, on: date, kept: Kept) -> list[tuple[str, History]]:
    """Who in the room ever laid, in walking order."""
    laid = {t for t, told in _noted_of_eggs(colony, kept).items() if any(e.kind is Kind.LAID for e in told)}
    here = [a.tag for a in colony.here(on) if a.tag in laid and not (a.hatched and a.hatched > on)]
    tubs = {tag: colony.tub_of(tag, on) for tag in here}
    here.sort(key=lambda tag: (tubs[tag] is None, tubs[tag] or ("", 0, 0), tag))
    return [(tag, History(colony.of_animal(tag), on)) for tag in here]


def _noted_of_eggs(colony: Colony, kept: Kept) -> dict[str, Sequence[Entry]]:
    """What was noted of clutches, by whoever may lay."""
    laid, eggs, pipped, animals = Kind.LAID, Kind.EGGS, Kind.PIPPED, colony.animals
    dams = {t: (e,) for t, e in colony.entries.items() if t in animals and animals[t].sex is not Sex.MALE}

    def told(tags: list[str]) -> list[list[Entry]]:
        return [
            [e for e in colony.entries[t] if (k := e.kind) is laid or k is eggs or k is pipped] for t in tags
        ]

    return dict(zip(dams, kept.each("of eggs", dams, told), strict=True))


def boxes_on(colony: Colony, on: date, settings: Settings, kept: Kept | None) -> Warmed:
    """The incubators as known on a day, the same object while nothing was noted of them."""
    told = tuple(x for box in colony.incubators.values() for x in (box, colony.of_animal(box.tag)))
    return (kept or Kept()).get("incubators", told, lambda: warmed(colony, on, settings))


def clutch_of(colony: Colony, dam: str, laid: Entry, on: date, boxes: Warmed) -> Clutch:
    """One clutch as known on a day, whoever of the room is still there; the usual incubation. `boxes` are the
    incubators as known on that day.
    """
    return _clutch(dam, History(colony.of_animal(dam), on), laid, boxes, usual())


def lying(room: Room) -> Iterator[tuple[Occupant, Entry]]:
    """Females with a clutch that has not hatched, failed or been given up, each with its `laid` entry."""
    for occupant in room.values():
        if laid := _lies(occupant.seen):
            yield occupant, laid


def _lies(seen: History) -> Entry | None:
    """The `laid` entry of the clutch of hers that lies."""
    laid = seen.last(Kind.LAID)
    if not (laid and laid.value and laid.since(seen.on) <= GIVEN_UP_AFTER_DAYS):
        return None
    eggs, hatched = (seen.last(k, laid.on) for k in (Kind.EGGS, Kind.HATCHED))
    return None if hatched or (eggs is not None and eggs.value == 0) else laid


def house_on(colony: Colony, on: date, settings: Settings, kept: Kept | None = None) -> House:
    """How this house's finished clutches differ from the usual, as known on a day."""
    kept = kept or Kept()
    boxes = boxes_on(colony, on, settings, kept)
    of_eggs = _noted_of_eggs(colony, kept)

    def worths(tags: list[str]) -> list[list[float]]:
        return [list(_worths(of_eggs[tag], on, boxes)) for tag in tags]

    def heated(entries: Sequence[Entry]) -> bool:
        """Whether temperatures of an incubator bear on these clutches."""
        return len(boxes.boxes) == 1 or any(e.kind is Kind.EGGS and boxes.named(e) for e in entries)

    rests_on = {t: (e, boxes if heated(e) else boxes.target_c) for t, e in of_eggs.items()}
    found = kept.each("clutches", rests_on, worths)
    return kept.equal("house", (found,), lambda: house_of([days for one in found for days in one]))


def _worths(entries: Sequence[Entry], on: date, boxes: Warmed) -> Iterator[float]:
    """What each finished clutch of an animal was worth in days."""
    seen = History(entries, on)
    for laid in seen.all(Kind.LAID):
        pipped = seen.first(Kind.PIPPED, laid.on)
        if pipped and 0 < (days := (pipped.on - laid.on).days) <= GIVEN_UP_AFTER_DAYS:
            heat, target = boxes.of(seen, laid)
            yield worth_days(warmth(laid.on, heat, target, pipped.on).celsius[:days])


def _clutch(dam: str, seen: History, laid: Entry, boxes: Warmed, house: House) -> Clutch:
    heat, target = boxes.of(seen, laid)
    on, checked, pipped = seen.on, seen.last(Kind.EGGS, laid.on), seen.last(Kind.PIPPED, laid.on)
    eggs = int((checked or laid).value or 0)
    warm = warmth(laid.on, heat, target, on)
    days = pip_days(warm, (on - laid.on).days, house)
    pip = Span.seen(pipped.on) if pipped else Span(*(laid.on + timedelta(days=round(d)) for d in days))
    held = [e for e in seen.all(Kind.EGGS, laid.on) if not boxes.only_placed(e)][-1:]
    candled = bool(held) and (held[0].on - laid.on).days >= CANDLED_FROM_DAYS
    share = warm_share(warm)
    why = (
        say("{mean:.1f} °C so far", mean=warm.mean(max(1, warm.known)))
        if heat and warm.known
        else say("kept at {target:g} °C", target=target)
    )
    box = boxes.stays(seen, laid)[-1:]
    lies = [say("in {box}", box=box[0][1].tag) if box else say("in which incubator is not noted")]
    several = lies if len(boxes.boxes) > 1 else []
    why = joined(", ", (why, *several, say("candled") if candled else say("not candled yet")))
    return Clutch(dam, laid, eggs, pip, hatch_of(eggs, share, candled), why, box[0][1].tag if box else "")
