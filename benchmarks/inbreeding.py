"""Inbreeding of 100,000 animals against pedigree-graph, whose compiled core walks each animal's ancestors.

pedigree-graph 0.13.0 was the quickest package on PyPI that was found for this. It needs Python 3.13, so it
lives in an environment of its own: `python3.13 -m venv ~/.cache/eggtooth/rivals`, then
`~/.cache/eggtooth/rivals/bin/pip install -r requirements/oracles313.in`; another Python may be named in
EGGTOOTH_RIVALS. Both answer the same pedigrees in this run, on one thread, and must agree to 1e-12; laying
out the pedigree is counted for neither. Where the rival is not installed that is said, and only our own time
printed.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np

from benchmarks.pedigree import random_lineage
from eggtooth.engine.pedigree.kinship import inbreeding
from eggtooth.engine.pedigree.lineage import Lineage

RIVAL = Path(os.environ.get("EGGTOOTH_RIVALS", "~/.cache/eggtooth/rivals/bin/python")).expanduser()
SHAPES = ((12, 300, 1300), (20, 150, 800))
"""Generations, and sires and dams in each."""

TIMES = 5

ASKED = """
import sys, time
import numpy as np
from pedigree_graph import PedigreeGraph
asked = np.load(sys.argv[1])
spent = []
for _ in range(int(sys.argv[3])):
    graph = PedigreeGraph.from_arrays(
        ids=np.arange(len(asked["sire"])), mother_ids=asked["dam"], father_ids=asked["sire"])
    start = time.perf_counter()
    found = graph.inbreeding()
    spent.append(time.perf_counter() - start)
np.savez(sys.argv[2], found=found, spent=min(spent))
"""


def main() -> int:
    """Print both times and their ratio; 1 when the answers differ or the rival is the quicker."""
    missed = False
    for generations, sires, dams in SHAPES:
        pedigree = random_lineage(100_000, generations, sires, dams)
        spent, found = ours(pedigree)
        print(f"{len(found):,} animals, {generations} generations: {spent:.3f} s, mean F {found.mean():.4f}")
        if not RIVAL.exists():
            print(f"  pedigree-graph is not installed at {RIVAL}: not compared")
            continue
        its, other = rival(pedigree)
        apart = float(np.abs(found - other).max())
        print(f"  pedigree-graph: {its:.3f} s; ours/its {spent / its:.2f}; largest difference {apart:.1e}")
        missed |= apart > 1e-12 or spent > its
    return int(missed)


def ours(pedigree: Lineage) -> tuple[float, np.ndarray]:
    """Least seconds of several runs, and the coefficients."""
    spent = []
    for _ in range(TIMES):
        start = time.perf_counter()
        found = inbreeding(pedigree)
        spent.append(time.perf_counter() - start)
    return min(spent), found


def rival(pedigree: Lineage) -> tuple[float, np.ndarray]:
    """The same of pedigree-graph, in a Python of its own."""
    first = pedigree.parent_ptr[:-1]
    born = np.diff(pedigree.parent_ptr) == 2
    dam, sire = np.full((2, len(first)), -1)
    dam[born], sire[born] = pedigree.parent[first[born]], pedigree.parent[first[born] + 1]
    with tempfile.TemporaryDirectory() as folder:
        asked, told = Path(folder) / "asked.npz", Path(folder) / "told.npz"
        np.savez(asked, sire=sire, dam=dam)
        subprocess.run([RIVAL, "-c", ASKED, asked, told, str(TIMES)], check=True)
        answer = np.load(told)
        return float(answer["spent"]), answer["found"]


if __name__ == "__main__":
    raise SystemExit(main())
