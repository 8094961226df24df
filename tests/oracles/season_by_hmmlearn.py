"""Make `season_by_hmmlearn.json`: a small season solved by hmmlearn's categorical chain.

Run from the project's root with an environment that holds hmmlearn and numpy and sees `src`:
`PYTHONPATH=src:. python -m tests.oracles.season_by_hmmlearn` (scipy is needed too, for the grid).
Readings are cut into five classes of diameter and "not scanned"; a state emits "not scanned" half the time.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import numpy as np

from eggtooth.engine.cycle.evidence import Evidence
from eggtooth.engine.cycle.grid import MM, grid_of
from eggtooth.engine.cycle.prior import PRIOR
from eggtooth.engine.cycle.smoothing import weights_of
from tests.oracles.dense_season import _bin, chain_of
from tests.test_cycle_smoothing import SMALL

CUTS = (8.0, 13.0, 20.0, 30.0)
DAYS = 60
SEEN = ((5, 0), (19, 1), (33, 2), (47, 2), (54, 3))
NOT_SCANNED = 5


def emission() -> np.ndarray:
    """Chance of each class of reading by diameter bin, (5, bins): normal error of 2 mm."""
    from scipy.special import ndtr

    edges = np.array([-np.inf, *CUTS, np.inf])
    return np.diff(ndtr((edges[:, None] - MM[None, :]) / 2.0), axis=0)


def main() -> None:
    """Solve and write."""
    from hmmlearn.hmm import CategoricalHMM

    grid = grid_of(SMALL)
    blank = Evidence(date(2025, 9, 1), DAYS, met_male=True)
    chain = chain_of(blank, grid, weights_of([blank], grid, [PRIOR]), DAYS)
    read = emission()
    bins = np.array([_bin(grid, c, u) for c, u in chain.cell])
    model = CategoricalHMM(n_components=len(chain.cell), implementation="log")
    model.startprob_ = chain.start / chain.start.sum()
    model.transmat_ = chain.move
    model.emissionprob_ = np.concatenate([read[:, bins].T / 2, np.full((len(bins), 1), 0.5)], axis=1)
    model.n_features = NOT_SCANNED + 1
    days = np.full(DAYS, NOT_SCANNED)
    for day, k in SEEN:
        days[day] = k
    score, posterior = model.score_samples(days[:, None])
    last = [
        [float(posterior[-1, chain.cell[c, DAYS - 1 - int(s)]]) for s in grid.starts]
        for c in range(len(grid.fate))
    ]
    told = {
        "seen": SEEN,
        "log_emission": np.log(read + 1e-300).tolist(),
        "posterior": last,
        "log_likelihood": float(score) + DAYS * float(np.log(2)) + float(np.log(chain.start.sum())),
    }
    Path(__file__).with_suffix(".json").write_text(json.dumps(told))


if __name__ == "__main__":
    main()
