"""Racks and tubs of the invented house: who sits where, one animal a tub."""

from __future__ import annotations

from heapq import heappop, heappush

from eggtooth.engine.colony import Tub

ROWS, PLACES = 8, 5
MALES, FEMALES, GROWING, HATCHLINGS, QUARANTINE = "A", "B", "D", "H", "Q"


class Tubs:
    """Free tubs by rack letter; a full rack is followed by one with a number, `B`, `B2`, `B3` and so on."""

    def __init__(self) -> None:
        """No tub is taken."""
        self._free: dict[str, list[Tub]] = {}
        self._racks: dict[str, int] = {}

    def take(self, letter: str) -> Tub:
        """The first free tub of a rack letter in walking order."""
        free = self._free.setdefault(letter, [])
        if not free:
            number = self._racks[letter] = self._racks.get(letter, 0) + 1
            rack = letter if number == 1 else f"{letter}{number}"
            for row in range(1, ROWS + 1):
                for place in range(1, PLACES + 1):
                    heappush(free, Tub(rack, row, place))
        return heappop(free)

    def give_back(self, tub: Tub) -> None:
        """A tub is empty again."""
        heappush(self._free[tub.rack[0]], tub)
