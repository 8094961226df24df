"""Which records moved an animal's odds at a locus: the answer with and without each group of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from eggtooth.engine.pedigree.elimination import TooTangled
from eggtooth.engine.pedigree.family import Impossible
from eggtooth.engine.pedigree.peeling import posterior
from eggtooth.engine.wording import say

if TYPE_CHECKING:
    from collections.abc import Collection

    from eggtooth.engine.pedigree.carriers import Carriers, LocusAnswer
    from eggtooth.engine.pedigree.evidence import Record

LEAST_MOVE = 0.0005


@dataclass(frozen=True, slots=True)
class Moved:
    """One group of records about `tags`: the chance of at least one copy without it and with it."""

    what: str
    tags: tuple[str, ...]
    without: float
    now: float


def chance(found: Carriers, tag: str, locus: str) -> float:
    """Chance that an animal carries at least one copy of anything but the wild type at a locus."""
    return 1.0 - sum(p for g, p in found.odds(tag, locus).items() if g.a == 0 and g.b == 0)


def moved_by(found: Carriers, tag: str, locus: str) -> list[Moved]:
    """The groups of records that move an animal's odds, strongest first: its own, its young, its siblings.

    Each is left out in turn and the locus answered again, so that the figures are exact, not shares of a sum.
    Cost: one answer of one locus a group. Empty when the locus cannot be answered exactly.
    """
    answer = found.loci.get(locus)
    if answer is None or answer.tangled or tag not in found.skeleton.position:
        return []
    now = chance(found, tag, locus)
    moved = []
    told: set[tuple[str, ...]] = set()
    for what, tags, records in _groups(found, answer, tag):
        if what.endswith(")") and tags in told:
            continue  # full siblings are met again from the other parent
        told.add(tags)
        without = _without(found, answer, tag, records)
        if without is not None and abs(without - now) > LEAST_MOVE:
            moved.append(Moved(what, tags, without, now))
    return sorted(moved, key=lambda m: -abs(m.now - m.without))


Group = tuple[str, tuple[str, ...], "Collection[Record]"]


def _groups(found: Carriers, answer: LocusAnswer, tag: str) -> Iterator[Group]:
    row = found.skeleton.position[tag]
    founder = found.skeleton.sire[row] < 0
    if not founder and found.evidence.statements[tag].noted:
        yield say("its own look and what is stated of it"), (tag,), {("genes", tag)}
    for entry, test, at in found.evidence.tests.get(tag, ()):
        if at == answer.model.locus:
            yield (
                say(
                    "its laboratory test of {on}: {gene} {copies}",
                    on=entry.on,
                    gene=test.gene,
                    copies=test.copies,
                ),
                (tag,),
                {("test", entry.id)},
            )
    yield from _clutches(found, answer, row, but=-1)
    for parent in (found.skeleton.sire[row], found.skeleton.dam[row]):
        if parent >= 0 and found.skeleton.rows[parent].tag:
            yield from _clutches(found, answer, parent, but=row)


def _clutches(found: Carriers, answer: LocusAnswer, parent: int, but: int) -> Iterator[Group]:
    """The clutches of a parent, each with the records of its hatchlings."""
    skeleton = found.skeleton
    by_clutch: dict[tuple[str, ...], list[str]] = {}
    for child in skeleton.offspring_of()[parent]:
        if child != but and skeleton.rows[child].tag:
            by_clutch.setdefault(skeleton.clutches[child], []).append(skeleton.rows[child].tag)
    for key, tags in by_clutch.items():
        records = {record for t in tags for record in _records(found, answer, t)}
        if records:
            what = say(
                "{n} young ({parents})" if but < 0 else "{n} siblings ({parents})",
                n=len(tags),
                parents=" ".join(key),
            )
            yield what, tuple(tags), records


def _records(found: Carriers, answer: LocusAnswer, tag: str) -> Iterator[Record]:
    if found.evidence.statements[tag].noted:
        yield ("genes", tag)
    for entry, _, at in found.evidence.tests.get(tag, ()):
        if at == answer.model.locus:
            yield ("test", entry.id)


def _without(found: Carriers, answer: LocusAnswer, tag: str, records: Collection[Record]) -> float | None:
    """The chance with some records left out; `None` when that cannot be answered exactly."""
    doubted = [r for c in found.contradictions if c.locus == answer.model.locus.name for r in c.records]
    question = found.evidence.question(answer.model.locus, doubted=doubted, dropped=records)
    place = (question.rows == found.skeleton.position[tag]).nonzero()[0]
    if not len(place):
        return 0.0
    try:
        p = posterior(question.family).p[place[0]]
    except (Impossible, TooTangled):
        return None
    wild = [i for i, w in enumerate(question.model.written) if w.a == 0 and w.b == 0]
    return float(1.0 - p[wild].sum())
