"""Clutches in the incubator: weekly checks, and the days they are due to hatch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from eggtooth.engine.eggs.house import House
from eggtooth.engine.eggs.incubation import pip_date
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.planning.clutches import house_on, lying
from eggtooth.engine.planning.occupants import Occupant
from eggtooth.engine.planning.warmed import warmed
from eggtooth.engine.rounds.task import Scene, Task, Todo, Urgency, task_for
from eggtooth.engine.spans import Span, ago
from eggtooth.engine.wording import joined, say

CHECK_EVERY_DAYS = 7
EARLIEST_PIP_DAYS = 40


def clutch_lines(scene: Scene) -> Iterator[Task]:
    """Lines under the dam's tag for every clutch that has not hatched, failed or been given up."""
    colony, room, on, settings = scene.colony, scene.room, scene.on, scene.settings
    due = [(occupant, laid) for occupant, laid in lying(room) if _due(occupant, laid, on)]
    if not due:
        return
    boxes = warmed(colony, on, settings)
    house = house_on(colony, on, settings, scene.kept)
    for occupant, laid in due:
        heat, target = boxes.of(occupant.seen, laid)
        yield from _clutch(occupant, laid, _pips(laid, heat, target, on, house), on)


@dataclass(frozen=True, slots=True)
class Pips:
    """When a clutch was to pip as its warmth alone tells, and when it pips given that it has not yet."""

    told: Span
    left: Span


def _pips(laid: Entry, heat: Sequence[Entry], target: float, on: date, house: House) -> Pips:
    told = pip_date(laid.on, heat, target, on, house=house)
    return Pips(told, pip_date(laid.on, heat, target, on, unpipped=True, house=house))


def _due(occupant: Occupant, laid: Entry, on: date) -> bool:
    """Whether anything can be due: a weekly look, or the weeks in which eggs pip."""
    looked = occupant.seen.last(Kind.EGGS, laid.on) or laid
    return looked.since(on) >= CHECK_EVERY_DAYS or laid.since(on) >= EARLIEST_PIP_DAYS


def _clutch(occupant: Occupant, laid: Entry, pips: Pips, on: date) -> Iterator[Task]:
    checked = occupant.seen.last(Kind.EGGS, laid.on) or laid
    left = int(checked.value or 0)
    pipped = occupant.seen.last(Kind.PIPPED, laid.on)
    if pipped:
        why = say(
            "{pipped:g} of {left} pipped on {on:%-d %b}; most leave the egg within one to three days "
            "(common practice)",
            pipped=pipped.value,
            left=left,
            on=pipped.on,
        )
        yield task_for(occupant, Todo.HATCH_DUE, why, (laid, pipped), Urgency.NOW, likely=float(left))
    elif on >= pips.told.q05 - timedelta(days=2):
        why = say(
            "laid {ago}, {left} eggs, none pipped; pips {pips}",
            ago=ago(laid.since(on)),
            left=left,
            pips=pips.left,
        )
        late = on > pips.told.q95 + timedelta(days=7)
        do = say("past its span: candle them") if late else say("do not cut or turn them")
        why = joined("; ", (why, do))
        yield task_for(occupant, Todo.HATCH_DUE, why, (laid, checked), likely=float(left))
    elif checked.since(on) >= CHECK_EVERY_DAYS:
        why = say(
            "{left} eggs, laid {laid}, last looked at {looked}; pips {pips}",
            left=left,
            laid=ago(laid.since(on)),
            looked=ago(checked.since(on)),
            pips=pips.left,
        )
        yield task_for(
            occupant,
            Todo.CHECK_EGGS,
            why,
            (laid, checked),
            Urgency.SOON,
            likely=float(left),
        )
