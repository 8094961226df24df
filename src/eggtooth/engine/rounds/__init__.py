"""The round: for any day, what to do in the room, in the order of the tubs, each line with its reason."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.nights import moves_on
from eggtooth.engine.planning.occupants import room_on, sittings
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.rounds.clutches import clutch_lines
from eggtooth.engine.rounds.doubtful import doubt_lines
from eggtooth.engine.rounds.feeding import feeding_lines
from eggtooth.engine.rounds.hatchlings import hatchling_lines
from eggtooth.engine.rounds.moving import climate_lines, moving_lines
from eggtooth.engine.rounds.task import Round, Scene, Task, Todo, Urgency, walking_order
from eggtooth.engine.rounds.watching import watching_lines
from eggtooth.engine.rounds.weighing import weighing_lines

__all__ = ["Round", "Task", "Todo", "Urgency", "round_for"]

Lines = Callable[[Scene], Iterator[Task]]

PARTS: tuple[Lines, ...] = (
    climate_lines,
    moving_lines,
    weighing_lines,
    feeding_lines,
    watching_lines,
    clutch_lines,
    hatchling_lines,
    doubt_lines,
)


def round_for(colony: Colony, on: date, settings: Settings | None = None, kept: Kept | None = None) -> Round:
    """The day's list, from entries dated `on` or earlier alone.

    `kept` holds what was worked out for this day and these settings before; it is added to. Cost: one pass
    over the entries of animals that are new or changed, plus free males x females called for the moves.
    """
    rules, kept = settings or Settings(), kept or Kept()
    room = room_on(colony, on, rules, all_dates=False, kept=kept)
    pairs = kept.get("pairs", (colony.animals,), lambda: Pairs(colony, rules))
    together = sittings(room, rules, kept)
    moves = moves_on(room, together, pairs, rules, kept=kept)
    scene = Scene(colony, room, together, moves, pairs, on, rules, kept)
    tasks = [t for part in PARTS for t in part(scene)]
    return Round(on, tuple(sorted(tasks, key=walking_order)), together)
