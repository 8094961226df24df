"""The bred colony through AlphaPeel 1.4.0 (approximate peeling) and through our own: time of both, and
agreement.

AlphaPeel lives in an environment of its own: `python3 -m venv /tmp/oracles && /tmp/oracles/bin/pip install
AlphaPeel==1.4.0`; then `python -m validation.peeling_rival /tmp/oracles/bin/AlphaPeel [animals] [sires]`. Its
peeling is exact where families have no loops and iterative where they have; its times include compiling, told
apart by a first run on a tiny colony.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from benchmarks.pedigree_colony import Bred, breed

from eggtooth.engine.pedigree.family import Posterior
from eggtooth.engine.pedigree.peeling import posterior
from eggtooth.engine.pedigree.sampling import sample


def write(bred: Bred, folder: Path) -> None:
    """Pedigree, empty genotypes, and each animal's table as phased chances (aa, aA, Aa, AA)."""
    n, loci = bred.copies.shape
    name = lambda row: str(row + 1) if row >= 0 else "0"  # noqa: E731
    lines = (
        f"{name(i)} {name(s)} {name(d)}" for i, (s, d) in enumerate(zip(bred.sire, bred.dam, strict=True))
    )
    (folder / "ped.txt").write_text("\n".join(lines) + "\n")
    (folder / "geno.txt").write_text("\n".join(f"{i + 1} " + " ".join(["9"] * loci) for i in range(n)) + "\n")
    tables = np.stack([bred.family(k).table for k in range(loci)], axis=1)
    tables[: len(bred.prior), :, 1] /= 2  # a founder's prior is of unordered genotypes
    phased = tables[:, :, [0, 1, 1, 2]]
    phased = phased / phased.sum(axis=2, keepdims=True)
    with (folder / "start.txt").open("w") as out:
        for i in range(n):
            for k in range(4):
                out.write(f"{i + 1} " + " ".join(f"{p:.6f}" for p in phased[i, :, k]) + "\n")


def rival(program: str, bred: Bred) -> tuple[np.ndarray, float, float]:
    """Posterior [n, L, 3] by AlphaPeel, wall and processor seconds."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        write(bred, folder)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        words = [program, "-method", "single", "-ped_file", "ped.txt", "-geno_file", "geno.txt"]
        words += ["-phased_geno_prob_file", "start.txt", "-geno_prob", "-no_dosage", "-out_file", "out"]
        words += ["-out_digits", "6"]
        subprocess.run(words, cwd=folder, check=True, stdout=subprocess.DEVNULL)
        wall = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        rows = [line.split() for line in (folder / "out.geno_prob.txt").read_text().splitlines()]
        values = np.array([[float(x) for x in row[1:]] for row in rows]).reshape(len(bred.sire), 3, -1)
        order = np.array([int(row[0]) - 1 for row in rows[::3]])
    out = np.empty((len(order), values.shape[2], 3))
    out[order] = values.transpose(0, 2, 1)
    return out, wall, after.ru_utime - before.ru_utime


def ours(bred: Bred) -> tuple[list[Posterior], float, float]:
    """Our posteriors, locus by locus, wall and processor seconds."""
    wall, used = time.perf_counter(), time.process_time()
    rng = np.random.default_rng(0)
    found = [posterior(bred.family(k), sampler=lambda t: sample(t, rng)) for k in range(bred.copies.shape[1])]
    return found, time.perf_counter() - wall, time.process_time() - used


def main() -> bool:
    """Print times and differences."""
    program = next((word for word in sys.argv[1:] if word.endswith("AlphaPeel")), "")
    if not program:
        print("Left out: name the path to AlphaPeel.")
        return True
    animals, sires = 10_000, 12
    rival(program, breed(1, animals=240, generations=4, loci=6, sires=3, dams=6))
    tiny = rival(program, breed(1, animals=240, generations=4, loci=6, sires=3, dams=6))
    bred = breed(1, animals=animals, sires=sires, dams=max(10, animals // 80))
    mine, wall, used = ours(bred)
    theirs, their_wall, their_used = rival(program, bred)
    print(f"{animals:,} animals, {bred.copies.shape[1]} loci")
    print(f"ours      {wall:6.1f} s wall, {used:6.1f} s processor")
    print(f"AlphaPeel {their_wall:6.1f} s wall, {their_used:6.1f} s processor (start {tiny[1]:.1f} s wall)")
    exact = [k for k, p in enumerate(mine) if p.error is None]
    gaps = np.array([abs(mine[k].p - theirs[:, k]).max(axis=1) for k in exact])
    print(f"{len(exact)} loci exact; there they differ by {np.median(gaps):.2g} in the median, "
          f"{np.quantile(gaps, 0.99):.2g} at 99 %, {gaps.max():.2g} at most")  # fmt: skip
    truth = np.eye(3)[bred.copies]
    for name, p in (("ours", np.stack([m.p for m in mine], axis=1)), ("AlphaPeel", theirs)):
        print(f"{name:9} mean squared error against the truth {((p - truth) ** 2).sum(axis=2).mean():.5f}")
    return True


if __name__ == "__main__":
    raise SystemExit(not main())
