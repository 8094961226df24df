"""Everything at odds in a colony: in the notes, in what is inherited, and clutches whose sire is in doubt."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from eggtooth.engine.colony import Colony
from eggtooth.engine.doubts import Doubt, Grade, doubts_of
from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.kept import Kept
from eggtooth.jobs.family_kept import TELLING, known_now


def everything_odd(colony: Colony, on: date, kept: Kept | None = None) -> list[Doubt]:
    """Contradictions first, then doubts, as known at the end of a day; `kept` as for `round_for`."""
    kept, known = kept or Kept(), colony.as_of(on)
    noted = {tag: tuple(e for e in seen if e.kind in TELLING) for tag, seen in known.entries.items()}
    sires = kept.equal("wrong sires", (colony.animals, noted), lambda: list(_wrong_sires(known)))
    found = [*doubts_of(known, on, kept, colony.animals), *_inherited(colony, on), *sires]
    return sorted(found, key=lambda d: (d.grade is Grade.DOUBT, d.tag, d.on or date.min, d.text))


def _inherited(colony: Colony, on: date) -> Iterator[Doubt]:
    for c in known_now(colony, on).contradictions:
        tag = c.tags[-1] if c.tags else ""
        yield Doubt(Grade.CONTRADICTION, tag, c.text, records=c.said, gene=c.locus)


def _wrong_sires(known: Colony) -> Iterator[Doubt]:
    from eggtooth.engine.pedigree.suspects import suspects

    for suspect in suspects(known, standard()):
        yield Doubt(Grade.DOUBT, suspect.dam, suspect.text)
