"""The tool's own moves as a policy, so that an invented house can live under its advice."""

from __future__ import annotations

from eggtooth.engine.condition.wear import WearState
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.nights import Action, moves_on
from eggtooth.engine.planning.occupants import room_on, sittings
from eggtooth.engine.planning.pairs import Pairs
from eggtooth.engine.simulate.policy import Decision, RoomView


class ByTheRound:
    """Does each evening what the round says: moves in, leaves in, parts and rests, from the entries alone."""

    def __init__(self, settings: Settings | None = None) -> None:
        """`settings` of the house; the defaults if not given."""
        self.settings = settings or Settings()

    def decide(self, view: RoomView) -> Decision:
        """See `Policy`."""
        colony = view.colony()
        room = room_on(colony, view.on, self.settings)
        moves = moves_on(room, sittings(room, self.settings), Pairs(colony, self.settings), self.settings)
        carried = (Action.MOVE_IN, Action.LEAVE_IN)
        together = {m.male: m.female for m in moves if m.action in carried}
        worn = {t: o.wear.why for t, o in room.items() if o.wear and o.wear.state is WearState.REST}
        return Decision({m: f for m, f in together.items() if m not in worn}, worn)
