"""Which incubator a clutch lies in, and the temperatures it had there.

An `eggs` entry of the dam says it in its detail, `in BOX` (or `candled, in BOX`): there the clutch lies from
that day on, the first such entry counting from the laying. With one incubator all lie in it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.colony import Colony, Incubator
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings

_MEANT = re.compile(r"(?:.*\S\s*[,;]\s*)?in\s+(?P<box>\S.*)", re.I)
_PLACED = re.compile(r"(?:(?P<more>.*\S)[,;\s]\s*)?in\s+(?P<box>\S.*)", re.I)


@dataclass(frozen=True, slots=True)
class Warmed:
    """The incubators of a house with their temperatures up to a day, and what they are set to: where it is
    not known which of several holds a clutch, the mean of the targets, and no temperatures. `by_name` has
    them by their tag in small letters.
    """

    boxes: Mapping[str, Incubator]
    noted: Mapping[str, Sequence[Entry]]
    target_c: float
    by_name: Mapping[str, Incubator]

    def of(self, seen: History, laid: Entry) -> tuple[list[Entry], float]:
        """Temperatures and target of one clutch; `seen` is its dam's."""
        stays = self.stays(seen, laid)
        if not stays:
            return [], self.target_c
        ends = [on - timedelta(days=1) for on, _ in stays[1:]] + [date.max]
        heat = [
            e
            for (first, box), last in zip(stays, ends, strict=True)
            for e in self.noted[box.tag]
            if len(stays) == 1 or first <= e.on <= last
        ]
        return heat, stays[-1][1].target_c

    def stays(self, seen: History, laid: Entry) -> list[tuple[date, Incubator]]:
        """The incubators it lay in, each from a day on; none where that is not known."""
        if len(self.boxes) == 1:
            return [(laid.on, box) for box in self.boxes.values()]
        later = next((e.on for e in seen.all(Kind.LAID) if e.on > laid.on), date.max)
        found = [(e.on, box) for e in seen.all(Kind.EGGS, laid.on) if e.on < later and (box := self.named(e))]
        return [(laid.on, found[0][1]), *found[1:]] if found else []

    def named(self, entry: Entry) -> Incubator | None:
        """The incubator an `eggs` entry names, whatever its case."""
        said = _PLACED.fullmatch(entry.detail) if isinstance(entry.detail, str) else None
        return self.by_name.get(said["box"].strip().casefold()) if said else None

    def only_placed(self, entry: Entry) -> bool:
        """Whether an `eggs` entry says nothing but where they lie: nobody held them to the light."""
        said = _PLACED.fullmatch(entry.detail) if isinstance(entry.detail, str) else None
        return said is not None and not said["more"] and self.named(entry) is not None


def warmed(colony: Colony, on: date, settings: Settings) -> Warmed:
    """The incubators as known on a day."""
    boxes = dict(colony.incubators)
    noted = {tag: History(colony.of_animal(tag), on).all(Kind.TEMPERATURE) for tag in boxes}
    targets = [box.target_c for box in boxes.values()]
    by_name = {tag.casefold(): box for tag, box in reversed(boxes.items())}
    return Warmed(boxes, noted, sum(targets) / len(targets) if targets else settings.incubator_c, by_name)


def no_incubator(entry: Entry, boxes: Collection[str]) -> str:
    """What an `eggs` entry means for an incubator (`in BXO`, `candled, in BXO`) though none is called so.

    Empty where it names none or one of `boxes`, and where no incubator is known at all.
    """
    if entry.kind is not Kind.EGGS or not isinstance(entry.detail, str) or not boxes:
        return ""
    said = _MEANT.fullmatch(entry.detail)
    box = said["box"].strip() if said else ""
    known = not box or box in boxes or box.casefold() in map(str.casefold, boxes)
    return "" if known else box
