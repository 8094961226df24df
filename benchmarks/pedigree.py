"""`python -m benchmarks.pedigree`: who carries what in 10,000 animals of 60 loci, a clutch more, inbreeding,
kinship."""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from benchmarks.pedigree_colony import breed
from benchmarks.pedigree_records import genes_for, records, tag_of
from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.kinship import inbreeding, kinship
from eggtooth.engine.pedigree.lineage import Lineage, sorted_lineage


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Print how long something took and the most memory so far."""
    start = time.perf_counter()
    out = work()
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{time.perf_counter() - start:8.2f} s  {most:6.0f} MB at most  {what}", flush=True)
    return out


def main() -> int:
    """Run everything; `--small` for a quick look."""
    small = "--small" in sys.argv
    animals = 2_000 if small else 10_000
    bred = breed(1, animals=animals, generations=12, sires=12, dams=125 if not small else 25)
    known, loci = genes_for(bred)
    colony = records(bred, loci)
    found: Carriers = timed(
        f"carriers of {animals:,} animals at {len(loci)} loci", lambda: carriers(colony, known)
    )
    _describe(found)
    more = _one_clutch_more(colony, bred)
    timed("again with one clutch more", lambda: carriers(more, known, before=found))
    for n, generations, sires, dams in ((100_000, 12, 300, 1300), (100_000, 20, 150, 800)):
        pedigree = random_lineage(n, generations, sires, dams)
        timed(f"inbreeding of {n:,} animals, {generations} generations", lambda p=pedigree: inbreeding(p))
    pedigree = random_lineage(10_000, 12, 40, 130)
    rng = np.random.default_rng(1)
    some, others = rng.choice(10_000, 300), rng.choice(10_000, 800)
    timed("kinship of 300 x 800 among 10,000", lambda: kinship(pedigree, some, others))
    return 0


def _describe(found: Carriers) -> None:
    tangled = {name: a for name, a in found.loci.items() if a.tangled}
    worst = max(
        (float(a.posterior.error.max()) for a in tangled.values() if a.posterior.error is not None), default=0
    )
    mean = [
        float(a.posterior.error[a.posterior.error > 0].mean())
        for a in tangled.values()
        if a.posterior.error is not None
    ]
    print(f"           {len(found.loci) - len(tangled)} loci exact, {len(tangled)} sampled in part "
          f"(standard error: mean {np.mean(mean or [0]):.4f}, largest {worst:.3f}); "
          f"{len(found.contradictions)} contradictions")  # fmt: skip


def _one_clutch_more(colony: Colony, bred: Any) -> Colony:
    sire, dam = tag_of(int(bred.sire[-1])), tag_of(int(bred.dam[-1]))
    eggs = [Animal(f"new{i}", Sex.UNKNOWN, genes="", sires=(sire,), dam=dam, clutch="new") for i in range(6)]
    like = [
        replace(e, genes=colony.animals[tag_of(len(bred.sire) - 1 - i)].genes) for i, e in enumerate(eggs)
    ]
    return Colony.of([*colony.animals.values(), *like])


def random_lineage(n: int, generations: int, sires: int, dams: int, seed: int = 0) -> Lineage:
    """Discrete generations, each dam one clutch of one sire."""
    rng = np.random.default_rng(seed)
    per = n // generations
    sire, dam = np.full(n, -1), np.full(n, -1)
    for g in range(1, generations):
        before = rng.permutation(np.arange((g - 1) * per, g * per))
        males, females = before[:sires], before[sires : sires + dams]
        young = np.arange(g * per, n if g == generations - 1 else (g + 1) * per)
        clutch = (young - g * per) * dams // len(young)
        dam[young], sire[young] = females[clutch], rng.choice(males, dams)[clutch]
    links = np.stack([dam, sire], axis=1)
    known = links >= 0
    tags = [str(i) for i in range(n)]
    return sorted_lineage(tags, known.sum(axis=1), links[known], np.full(known.sum(), 0.5), dam >= 0)


if __name__ == "__main__":
    raise SystemExit(main())
