"""`python -m benchmarks.pedigree [path to AlphaPeel]`: who carries what in 10,000 animals of 60 loci, a
clutch more, a rival on the same loci, inbreeding, kinship."""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from benchmarks.pedigree_colony import Bred, breed, young_of
from benchmarks.pedigree_house import breed_house
from benchmarks.pedigree_records import genes_for, look_text, records, tags
from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.inheritance import Catalogue, Locus
from eggtooth.engine.pedigree.carriers import Carriers, carriers
from eggtooth.engine.pedigree.kinship import inbreeding, kinship
from eggtooth.engine.pedigree.lineage import Lineage, sorted_lineage
from eggtooth.engine.pedigree.pieces import UNSETTLED


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Print how long something took and the most memory so far."""
    start, begun = time.perf_counter(), time.process_time()
    out = work()
    wall, used = time.perf_counter() - start, time.process_time() - begun
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{wall:8.2f} s wall, {used:6.2f} s of processor, {most:6.0f} MB at most: {what}", flush=True)
    return out


def main() -> int:
    """Run everything; `--small` for a quick look, a path to AlphaPeel to run that too."""
    small = "--small" in sys.argv
    rival = next((word for word in sys.argv[1:] if word.endswith("AlphaPeel")), "")
    animals = 2_000 if small else 10_000
    bred = breed(1, animals=animals, generations=12, sires=12, dams=125 if not small else 25)
    carrying(bred, "a colony of few sires", rival)
    carrying(breed_house(1, animals=animals), "a colony bred as the invented house breeds", rival)
    for n, generations, sires, dams in ((100_000, 12, 300, 1300), (100_000, 20, 150, 800)):
        pedigree = random_lineage(n, generations, sires, dams)
        timed(f"inbreeding of {n:,} animals, {generations} generations", lambda p=pedigree: inbreeding(p))
    pedigree = random_lineage(10_000, 12, 40, 130)
    rng = np.random.default_rng(1)
    some, others = rng.choice(10_000, 300), rng.choice(10_000, 800)
    timed("kinship of 300 x 800 among 10,000", lambda: kinship(pedigree, some, others))
    return 0


def carrying(bred: Bred, what: str, program: str) -> None:
    """The whole answer from the records, clutches more, and the rival on the same loci."""
    from validation.peeling_rival import rival

    print(f"{what}: {len(bred.sire):,} animals at {bred.copies.shape[1]} loci")
    known, loci = genes_for(bred)
    colony = records(bred, loci)
    found: Carriers = timed("who carries what, texts read", lambda: carriers(colony, known))
    _describe(found)
    _clutches_more(found, colony, bred, loci, known)
    ours = _posteriors(found, bred, loci)
    truth = np.eye(3)[bred.copies]
    print(f"           mean squared error {((ours - truth) ** 2).sum(axis=2).mean():.5f}", flush=True)
    if program:
        tiny = breed(1, animals=240, generations=4, loci=6, sires=3, dams=6)
        rival(program, tiny)
        _, start, start_used = rival(program, tiny)
        theirs, wall, used = rival(program, bred)
        print(f"{wall:8.2f} s wall, {used:6.2f} s of processor: AlphaPeel, of which its start on 240 animals "
              f"{start:.2f} s, {start_used:.2f} s")  # fmt: skip
        print(f"           mean squared error {((theirs - truth) ** 2).sum(axis=2).mean():.5f}", flush=True)


def _describe(found: Carriers) -> None:
    tangled = {name: a for name, a in found.loci.items() if a.tangled}
    errors = [a.posterior.error.max(axis=1) for a in tangled.values() if a.posterior.error is not None]
    every = np.concatenate([e[e > 0] for e in errors] or [np.zeros(1)])
    print(f"           {len(found.loci) - len(tangled)} loci exact, {len(tangled)} sampled in part "
          f"(standard error: mean {every.mean():.4f}, largest {every.max():.3f}; {(every > UNSETTLED).sum()} "
          f"of {len(every):,} figures not settled); {len(found.contradictions)} contradictions")  # fmt: skip


def _clutches_more(found: Carriers, colony: Colony, bred: Bred, loci: list[Locus], known: Catalogue) -> None:
    """Ten times one clutch of six of a pair of the last generation's parents."""
    rng, times, used = np.random.default_rng(5), [], []
    dams = np.unique(bred.dam[-len(bred.dam) // 12 :])
    for dam in rng.choice(dams, 10, replace=False).tolist():
        more = one_clutch_more(colony, bred, loci, int(bred.sire[bred.dam == dam][-1]), dam, rng)
        start, begun = time.perf_counter(), time.process_time()
        carriers(more, known, before=found)
        times.append(time.perf_counter() - start)
        used.append(time.process_time() - begun)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{np.median(times):8.2f} s wall, {np.median(used):6.2f} s of processor, {most:6.0f} MB at most: "
          f"again with one clutch more, the middle of ten; at most {max(times):.2f} and {max(used):.2f} s",
          flush=True)  # fmt: skip


def one_clutch_more(
    colony: Colony, bred: Bred, loci: list[Locus], sire: int, dam: int, rng: np.random.Generator
) -> Colony:
    """Six eggs of two animals, as Mendel has it, looks noted."""
    names = tags(bred)
    alleles = [locus.alleles[0] for locus in loci]
    eggs = [
        Animal(f"new{k}", Sex.UNKNOWN, genes=look_text(alleles, copies), sires=(names[sire],), dam=names[dam],
               clutch="new")
        for k, copies in enumerate(young_of(bred, sire, dam, 6, rng))
    ]  # fmt: skip
    return Colony.of([*colony.animals.values(), *eggs])


def _posteriors(found: Carriers, bred: Bred, loci: list[Locus]) -> np.ndarray:
    """Posterior of copies [n, L, 3]; surely wild type where a locus does not ask of an animal."""
    out = np.zeros((*bred.copies.shape, 3))
    out[:, :, 0] = 1
    names = tags(bred)
    for k, locus in enumerate(loci):
        answer = found.loci.get(locus.name)
        for row, tag in enumerate(names) if answer else ():
            place = found.place(tag, locus.name)
            if answer and place >= 0:
                out[row, k] = answer.posterior.p[place]
    return out


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
