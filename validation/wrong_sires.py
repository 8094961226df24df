"""One wrong sire in a colony of 200: is he among at most three suspects?

Detectable means: with everybody's true genotypes known, the noted looks of that clutch would be at least 20
times likelier from the true sire than from the recorded one (looks wrong in 1 of 200).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from eggtooth.engine.colony import Animal, Colony, Sex
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.pedigree.suspects import suspects

GENES = (
    "Clown",
    "Piebald",
    "Ghost",
    "Albino",
    "Pastel",
    "Enchi",
    "Fire",
    "Mojave",
    "Yellow Belly",
    "Orange Dream",
)
RECESSIVE = 4


@dataclass(frozen=True)
class Case:
    """Records with one wrong sire, which clutch it is, and how much likelier the truth makes its looks
    (log)."""

    colony: Colony
    eggs: frozenset[str]
    log_ratio: float


def case(seed: int, animals: int = 200, generations: int = 4) -> Case:
    """Breed a colony and swap the sire of one clutch for another male in use at the time."""
    rng = np.random.default_rng(seed)
    copies: dict[str, np.ndarray] = {}
    records: list[Animal] = []
    clutches: list[tuple[str, str, tuple[str, ...], list[str]]] = []
    living = _founders(rng, 24, copies, records)
    number = 0
    while len(records) < animals:
        males = [t for t in living if t.startswith("M")]
        females = [t for t in living if t.startswith("F")]
        used = list(rng.choice(males, min(4, len(males)), replace=False))
        for dam in rng.choice(females, min(8, len(females)), replace=False):
            number += 1
            sire, eggs = str(rng.choice(used)), []
            for _ in range(int(rng.integers(5, 9))):
                tag = f"{'MF'[int(rng.integers(2))]}{len(records):03d}"
                copies[tag] = _gamete(rng, copies[sire]) + _gamete(rng, copies[str(dam)])
                sex = Sex(tag[0])
                records.append(
                    Animal(
                        tag, sex, genes=_look(copies[tag]), sires=(sire,), dam=str(dam), clutch=f"C{number}"
                    )
                )
                eggs.append(tag)
            clutches.append((sire, str(dam), tuple(used), eggs))
            living += eggs[:2]
    return _swapped(rng, records, clutches, copies)


def _swapped(rng, records, clutches, copies) -> Case:
    sire, dam, used, eggs = clutches[int(rng.integers(len(clutches)))]
    wrong = str(rng.choice([m for m in used if m != sire]))
    changed = [replace(a, sires=(wrong,)) if a.tag in eggs else a for a in records]
    ratio = sum(_log_fit(copies, sire, dam, e) - _log_fit(copies, wrong, dam, e) for e in eggs)
    return Case(Colony.of(changed), frozenset(eggs), ratio)


def _log_fit(copies, sire: str, dam: str, egg: str, error: float = 0.005) -> float:
    """Log chance of an egg's look from two true parents, looks wrong now and then."""
    total = 0.0
    for locus in range(len(GENES)):
        s, d = copies[sire][locus] / 2, copies[dam][locus] / 2
        odds = np.array([(1 - s) * (1 - d), s * (1 - d) + d * (1 - s), s * d])
        seen = copies[egg][locus]
        fit = odds[2] if seen == 2 else odds[0] + odds[1] if locus < RECESSIVE else odds[seen]
        total += float(np.log(fit * (1 - error) + (1 - fit) * error))
    return total


def _founders(rng, count: int, copies: dict, records: list) -> list[str]:
    living = []
    for k in range(count):
        tag = f"{'MF'[k % 3 > 0]}{len(records):03d}"
        copies[tag] = np.zeros(len(GENES), dtype=int)
        for locus in rng.choice(len(GENES), 3, replace=False):
            copies[tag][locus] = 2 if locus < RECESSIVE and rng.random() < 0.4 else 1
        records.append(Animal(tag, Sex(tag[0]), genes=_look(copies[tag], known=True)))
        living.append(tag)
    return living


def _look(copies: np.ndarray, known: bool = False) -> str:
    words = []
    for locus, gene in enumerate(GENES):
        if locus < RECESSIVE:
            words += [gene] if copies[locus] == 2 else [f"het {gene}"] if known and copies[locus] == 1 else []
        elif copies[locus]:
            words.append(gene if copies[locus] == 1 else f"Super {gene}")
    shown = [w for w in words if not w.startswith("het ")]
    return " ".join([*(shown or ["Normal"]), *(w for w in words if w.startswith("het "))])


def _gamete(rng, copies: np.ndarray) -> np.ndarray:
    return (rng.random(len(copies)) < copies / 2).astype(int)


def main(cases: int = 60) -> bool:
    """Print how often the wrong sire is named; 1 when fewer than nine of ten detectable ones."""
    named = detectable = false = 0
    for seed in range(cases):
        made = case(seed)
        found = suspects(made.colony, standard())
        hit = any(set(s.eggs) == made.eggs for s in found)
        if made.log_ratio > np.log(20):
            detectable += 1
            named += hit
        false += len(found) - hit
    print(f"{named} of {detectable} detectable wrong sires named ({cases} colonies, {false} other suspects)")
    return bool(named >= 0.9 * detectable)


if __name__ == "__main__":
    raise SystemExit(not main())
