"""Times of the invented world: female seasons, and colonies up to 1,000 animals.

Run: python -m benchmarks.simulating
"""

from __future__ import annotations

import time
from datetime import date

import numpy as np

from eggtooth.engine.simulate.colony import simulate_colony
from eggtooth.engine.simulate.season import draw_females, draw_seasons
from eggtooth.engine.simulate.world import WIDE

UNTIL = date(2026, 2, 10)


def seasons(n: int) -> None:
    """Draw `n` female seasons and their diameters on every day."""
    rng = np.random.default_rng(1)
    begun = time.process_time()
    drawn = draw_seasons(rng, WIDE, draw_females(rng, n, WIDE), date(2025, 9, 1))
    middle = time.process_time()
    drawn.diameter_mm(np.arange(0.0, 365.0))
    ended = time.process_time()
    print(f"{n} female seasons: {middle - begun:.2f} s, their diameters by day {ended - middle:.2f} s")


def colony(animals: int, years: int) -> None:
    """Live one colony."""
    begun = time.process_time()
    made = simulate_colony(np.random.default_rng(1), animals=animals, years=years, until=UNTIL)
    noted = len({e.id for seen in made.colony.entries.values() for e in seen})
    print(
        f"{animals} animals, {years} years, {noted} entries: {time.process_time() - begun:.1f} s of processor"
    )


if __name__ == "__main__":
    for size in (1000, 5000):
        seasons(size)
    for shape in ((60, 2), (300, 2), (1000, 3)):
        colony(*shape)
