"""How invented animals gain and lose mass, day by day and all at once.

Gut and body are apart: a meal lies in the gut for some days while its worth passes into the body, less of it
the closer the animal is to its grown size, and the body burns more right after a meal than in a long fast.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.simulate.follicle import Floats

EMPTIES_PER_DAY = 0.30
WORTH_AT_MOST, WORTH_AT_LEAST = 0.54, 0.15
BURNS_FED, BURNS_FASTING = 0.0021, 0.00105
FASTING_SINKS_DAYS = 20.0
YOUNG_G = 150.0
YOUNG_BURN = 1.5


@dataclass(slots=True)
class Bodies:
    """State of all bodies, each array of shape (animals,); `alive` is false before hatching too."""

    tissue_g: Floats
    grown_g: Floats
    thrift: Floats
    gut_g: Floats
    fasting_days: Floats
    reserve: Floats
    alive: NDArray[np.bool_]
    history: list[NDArray[np.float32]] = field(default_factory=list)

    @classmethod
    def empty(cls, places: int) -> Bodies:
        """Room for so many animals, none there yet."""

        def zeros() -> Floats:
            return np.zeros(places)

        return cls(
            zeros(),
            np.ones(places),
            np.ones(places),
            zeros(),
            zeros(),
            np.ones(places),
            np.zeros(places, bool),
        )

    def day(self) -> None:
        """One day passes for everybody."""
        passed = EMPTIES_PER_DAY * self.gut_g
        self.gut_g -= passed
        size = np.minimum(self.tissue_g / self.grown_g, 1.3)
        worth = np.maximum(WORTH_AT_LEAST, WORTH_AT_MOST * (1 - 0.65 * size**1.5))
        self.tissue_g += (passed * worth * self.thrift - self.tissue_g * self.burn()) * self.alive
        self.fasting_days += self.alive
        self.history.append(self.scale_g().astype(np.float32))

    def burn(self) -> Floats:
        """Share of the body burnt a day: sinks from the fed to the fasting rate, more in the young."""
        fed = np.exp(-np.maximum(self.fasting_days - 5, 0) / FASTING_SINKS_DAYS)
        share = BURNS_FASTING + (BURNS_FED - BURNS_FASTING) * fed
        return share * np.where(self.tissue_g < YOUNG_G, YOUNG_BURN, 1.0)

    def eat(self, i: int, grams: float) -> None:
        """Animal `i` swallows prey."""
        self.gut_g[i] += grams
        self.fasting_days[i] = 0

    def scale_g(self) -> Floats:
        """What a scale would show."""
        return self.tissue_g + self.gut_g
