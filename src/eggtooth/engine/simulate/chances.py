"""Chance in streams by purpose, so that two policies tried on one seed meet the same luck."""

from __future__ import annotations

from zlib import crc32

import numpy as np

from eggtooth.engine.simulate.follicle import Floats


class Chances:
    """Random numbers by purpose. Daily draws always serve every place, so no choice shifts another's luck."""

    def __init__(self, seed: int, places: int) -> None:
        """`places` is the number of animals there is room for."""
        self.seed, self.places = seed, places
        self._streams: dict[str, np.random.Generator] = {}

    def stream(self, purpose: str) -> np.random.Generator:
        """The generator kept for one purpose."""
        if purpose not in self._streams:
            self._streams[purpose] = self.keyed(purpose)
        return self._streams[purpose]

    def uniform(self, purpose: str) -> Floats:
        """One uniform number for each place."""
        return self.stream(purpose).random(self.places)

    def normal(self, purpose: str) -> Floats:
        """One standard normal number for each place."""
        return self.stream(purpose).standard_normal(self.places)

    def keyed(self, purpose: str, *keys: int) -> np.random.Generator:
        """A generator of its own for one event, e.g. one clutch: the same whatever happened before."""
        return np.random.default_rng([self.seed, crc32(purpose.encode()), *keys])
