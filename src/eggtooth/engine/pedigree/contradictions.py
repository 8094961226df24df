"""Which records cannot all be true: a set small enough to look at, none of which can be left out of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.elimination import TooTangled
from eggtooth.engine.pedigree.evidence import Evidence, Question, Record
from eggtooth.engine.pedigree.family import Impossible
from eggtooth.engine.pedigree.network import build
from eggtooth.engine.pedigree.peeling import solve
from eggtooth.engine.wording import joined, say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

MOST_STEPS = 40


@dataclass(frozen=True)
class Contradiction:
    """Records at one locus that cannot all be true. `tags`: the animals spoken of, parents among them first;
    `said`: each record and each descent in words, with the animal it is of."""

    locus: str
    records: tuple[Record, ...]
    tags: tuple[str, ...]
    text: str
    said: tuple[tuple[str, str], ...] = ()


def possible(question: Question) -> bool:
    """Whether everything in a question can be true."""
    try:
        solve(build(question.family))
    except Impossible:
        return False
    except TooTangled:
        return True
    return True


def contradiction(
    evidence: Evidence, locus: Locus, rows: Sequence[int], doubted: Sequence[Record]
) -> Contradiction:
    """Find records that cannot all be true near some skeleton `rows` where the question came out impossible.

    Grows a neighbourhood until its own records contradict each other, then leaves out every record that is
    not needed for that, the farthest first. What is found is minimal: without any one of its records the rest
    can be true. Cost: some tens of small exact sums.
    """
    near = _neighbourhood(evidence, locus, rows, doubted)
    records = [r for r in _records(evidence, locus, near) if r not in doubted]
    dropped: list[Record] = []
    for record in records:
        question = evidence.question(locus, doubted=doubted, within=near, dropped=[*dropped, record])
        if not possible(question):
            dropped.append(record)
    kept = tuple(r for r in reversed(records) if r not in dropped)
    return _told(evidence, locus, kept)


def _neighbourhood(evidence: Evidence, locus: Locus, rows: Sequence[int], doubted: Sequence[Record]) -> Ints:
    """The smallest ring of relatives around the first impossible row that is impossible by itself."""
    import numpy as np

    offspring = evidence.skeleton.offspring_of()
    ordered = [int(rows[0])]
    inside = set(ordered)
    for _ in range(MOST_STEPS):
        if not possible(evidence.question(locus, doubted=doubted, within=np.array(sorted(inside)))):
            return _by_distance(ordered)
        ring = [r for row in ordered for r in _next_to(evidence, offspring, row) if r not in inside]
        fresh = list(dict.fromkeys(ring))
        if not fresh:
            break
        ordered += fresh
        inside |= set(fresh)
    raise LookupError(f"no contradiction found near rows {list(rows)[:5]} at {locus.name}")


def _by_distance(ordered: Sequence[int]) -> Ints:
    import numpy as np

    return np.array(sorted(ordered), dtype=np.int64)


def _next_to(evidence: Evidence, offspring: Sequence[Sequence[int]], row: int) -> list[int]:
    """Parents, offspring and their other parents, and candidates of choices."""
    skeleton = evidence.skeleton
    out = [r for r in (skeleton.sire[row], skeleton.dam[row]) if r >= 0]
    for child in offspring[row]:
        out += [child, skeleton.sire[child], skeleton.dam[child]]
    for choice in skeleton.chosen:
        if row == choice.row:
            out += choice.candidates
        elif row in choice.candidates:
            out += [choice.row, *choice.candidates]
    return out


def _records(evidence: Evidence, locus: Locus, rows: Ints) -> list[Record]:
    """Records of some rows, youngest animals first (so that the oldest that matter stay)."""
    out: list[Record] = []
    for row in sorted(rows.tolist(), reverse=True):
        tag = evidence.skeleton.rows[row].tag
        if not tag:
            continue
        out += [("test", entry.id) for entry, _, at in evidence.tests.get(tag, ()) if at == locus]
        if evidence.statements[tag].noted or evidence.sire[row] < 0:
            out.append(("genes", tag))
    return out


def _told(evidence: Evidence, locus: Locus, records: tuple[Record, ...]) -> Contradiction:
    """The set in words."""
    owner = {entry.id: tag for tag, tests in evidence.tests.items() for entry, _, _ in tests}
    tags = tuple(dict.fromkeys(key if kind == "genes" else owner[key] for kind, key in records))
    said = [
        (key if kind == "genes" else owner[key], _words(evidence, locus, (kind, key), owner))
        for kind, key in records
    ]
    said += [
        (tag, say("is from {parents}", parents=_parents(evidence, tag)))
        for tag in tags
        if _parents(evidence, tag)
    ]
    told = joined("; ", (joined(" ", one) for one in said))
    text = say("at {name}: {told}. These cannot all be true.", name=locus.name, told=told)
    return Contradiction(locus.name, records, tags, text, tuple(said))


def _parents(evidence: Evidence, tag: str) -> str:
    animal = evidence.colony.animals[tag]
    return " × ".join(filter(None, ("|".join(animal.sires), animal.dam)))


def _words(evidence: Evidence, locus: Locus, record: Record, owner: dict[str, str]) -> str:
    kind, key = record
    if kind == "test":
        entry, test, _ = next(t for t in evidence.tests[owner[key]] if t[0].id == key)
        return say(
            "was tested on {on} and {copies} of {gene} found", on=entry.on, copies=test.copies, gene=test.gene
        )
    genes = evidence.colony.animals[key].genes
    if not genes:
        return say("has no noted look")
    if evidence.sire[evidence.skeleton.position[key]] < 0:
        return say("(parents unknown) is noted as {genes} and so carries no more than that", genes=genes)
    return say("is noted as {genes}", genes=genes)
