"""The tool's own moves as a policy, so that an invented house can live under its advice."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.condition.readiness import MONTH_DAYS
from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.nights import Action, moves_on
from eggtooth.engine.planning.occupants import room_on, sittings
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.planning.wanted import Wanted
from eggtooth.engine.simulate.policy import Decision, RoomView


class ByTheRound:
    """Does each evening what the round says: moves in, leaves in, parts and rests, from the entries alone.

    `rests` turned off works males on against its advice, which some do not survive.
    """

    def __init__(
        self, settings: Settings | None = None, wanted: Wanted | None = None, rests: bool = True
    ) -> None:
        """`settings` of the house, the defaults if not given; `wanted` pairs, else the settings' plan."""
        self.settings, self.wanted, self.rests = settings or Settings(), wanted, rests

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        colony = view.colony()
        room = room_on(self._concerned(colony, view), view.on, self.settings, all_dates=False)
        if not self.rests:
            room = {t: replace(o, wear=None) for t, o in room.items()}
        pairs = Pairs(colony, self.settings)
        moves = moves_on(room, sittings(room, self.settings), pairs, self.settings, self.wanted)
        carried = (Action.MOVE_IN, Action.LEAVE_IN)
        together = {m.male: m.female for m in moves if m.action in carried}
        worn = {t: o.wear.why for t, o in room.items() if o.wear and o.wear.state is WearState.REST}
        return Decision({m: f for m, f in together.items() if m not in worn}, worn)

    def _concerned(self, colony: Colony, view: RoomView) -> Colony:
        """The colony without those the moves cannot touch, who only cost time: the young, and on a night
        off the females that sit with nobody.
        """
        months = min(self.settings.male_floor_months, self.settings.female_floor_months)
        born = view.on - timedelta(days=months * MONTH_DAYS)
        apart = not self.settings.pairing_night(view.on)
        sit = set(view.sitting.values())

        def concerned(animal: Animal) -> bool:
            grown = animal.hatched is None or animal.hatched <= born
            return grown and not (apart and animal.sex is Sex.FEMALE and animal.tag not in sit)

        return replace(colony, animals={t: a for t, a in colony.animals.items() if concerned(a)})
