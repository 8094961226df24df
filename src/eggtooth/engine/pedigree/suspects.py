"""Recorded sires that what hatched speaks against: which clutches are worth a second look, and who fits
better.

For each clutch the records are weighed twice: with the recorded sire, and with a male of whom nothing is
known but what the colony's males are like. Odds of parents come down the pedigree and evidence of offspring
goes up it once (two passes, all loci), so this is close, not exact; it orders suspects and does not settle
them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log
from typing import TYPE_CHECKING

from eggtooth.engine.colony import Colony
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.pedigree.evidence import Evidence, Rates
from eggtooth.engine.pedigree.skeleton import Skeleton, skeleton
from eggtooth.engine.wording import joined, say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from eggtooth.engine.facts.inheritance import Catalogue

    Floats = NDArray[np.float64]

LOOK_ERROR = 0.005
"""Looks are never taken as quite certain here, so that one mistyped hatchling is not read as another sire."""
WRONG_SIRE = 0.01
"""Chance that a recorded sire is wrong, before any evidence (our choice)."""
WORTH_A_LOOK = 0.2


@dataclass(frozen=True)
class Suspect:
    """A clutch whose recorded sire is in doubt: chance that he is wrong, and males that explain it better."""

    dam: str
    sire: str
    eggs: tuple[str, ...]
    p_wrong: float
    better: tuple[str, ...]
    loci: tuple[str, ...]

    @property
    def text(self) -> str:
        """The doubt in words."""
        young = ", ".join(self.eggs[:3]) + (" …" if len(self.eggs) > 3 else "")
        doubt = say(
            "the clutch {young} of {dam} does not look like {sire}'s "
            "({p_wrong:.0%} likely another sire, by {loci})",
            young=young,
            dam=self.dam,
            sire=self.sire,
            p_wrong=self.p_wrong,
            loci=", ".join(self.loci),
        )
        if not self.better:
            return doubt
        return joined("; ", (doubt, say("{males} would fit better", males=joined(" or ", self.better))))


@dataclass(frozen=True)
class _Clutch:
    """Rows of one sire, one dam and their young."""

    sire: int
    dam: int
    eggs: tuple[int, ...]


def suspects(
    colony: Colony, catalogue: Catalogue, rates: Rates | None = None, most: int = 3
) -> list[Suspect]:
    """The clutches whose recorded sire is most in doubt, likeliest first, at most `most` of them.

    Only sires of whom it is at least 20 % likely that they are wrong. Cost: clutches x loci x genotypes
    cubed.
    """
    careful = replace(rates or Rates(), look_error=max(LOOK_ERROR, rates.look_error if rates else 0.0))
    evidence = Evidence(colony, catalogue, skeleton(colony), careful)
    clutches = _clutches(evidence.skeleton)
    if not clutches:
        return []
    scores: dict[int, dict[str, float]] = {k: {} for k in range(len(clutches))}
    males = _males(evidence)
    fits = {k: dict.fromkeys(males, 0.0) for k in scores}
    for locus in evidence.loci:
        for k, (against, by_male) in _Passes(evidence, locus, clutches).scores(males).items():
            scores[k][locus.name] = against
            for male, gain in by_male.items():
                fits[k][male] += gain
    found = [_suspect(evidence, clutch, scores[k], fits[k]) for k, clutch in enumerate(clutches)]
    doubtful = [s for s in found if s.p_wrong >= WORTH_A_LOOK]
    return sorted(doubtful, key=lambda s: (-s.p_wrong, s.dam, s.eggs))[:most]


def _suspect(
    evidence: Evidence, clutch: _Clutch, score: Mapping[str, float], fits: Mapping[int, float]
) -> Suspect:
    rows = evidence.skeleton.rows
    against = min(sum(score.values()), 600.0)
    odds = WRONG_SIRE / (1 - WRONG_SIRE) * exp(against)
    best = sorted((m for m in fits if m != clutch.sire), key=lambda m: -fits[m])[:2]
    better = tuple(rows[m].tag for m in best if fits[m] > max(fits[clutch.sire] + log(10), 0.0))
    loci = sorted((n for n in score if score[n] > 0.5), key=lambda n: -score[n])[:3]
    eggs = tuple(rows[e].tag for e in clutch.eggs)
    sire, dam = rows[clutch.sire].tag, rows[clutch.dam].tag
    return Suspect(dam, sire, eggs, odds / (1 + odds), better, tuple(loci))


def _clutches(layout: Skeleton) -> list[_Clutch]:
    """Clutches of two known parents, oldest first."""

    def known(row: int) -> bool:
        return row >= 0 and bool(layout.rows[row].tag)

    young: dict[tuple[int, int, object], list[int]] = {}
    for row, (sire, dam) in enumerate(zip(layout.sire, layout.dam, strict=True)):
        if known(sire) and known(dam):
            young.setdefault((sire, dam, layout.clutches[row]), []).append(row)
    return [_Clutch(sire, dam, tuple(eggs)) for (sire, dam, _), eggs in young.items()]


def _males(evidence: Evidence) -> list[int]:
    """Rows of males that are recorded as sires of anything."""
    return sorted({s for s in evidence.skeleton.sire if s >= 0 and evidence.skeleton.rows[s].tag})


class _Passes:
    """One locus: odds down the pedigree, then evidence of offspring up it."""

    def __init__(self, evidence: Evidence, locus: Locus, clutches: Sequence[_Clutch]) -> None:
        import numpy as np

        question = evidence.question(locus, within=np.arange(len(evidence.sire)))
        self.own = question.family.table
        founders = np.flatnonzero(evidence.sire < 0)
        whole = evidence.question(locus)
        at = np.searchsorted(whole.rows, founders)
        inside = (at < len(whole.rows)) & (np.take(whole.rows, at, mode="clip") == founders)
        wild = np.array([w == (0, 0) for w in question.model.written], dtype=float)
        self.own[founders] = np.where(
            inside[:, None], np.take(whole.family.table, at, axis=0, mode="clip"), wild
        )
        self.offspring = question.model.segregation.offspring
        self.clutches = clutches
        self.down = self._down(evidence)
        self.up = np.ones_like(self.own)
        self.tables = [np.ones(0)] * len(clutches)
        self.to_sire = [np.ones(0)] * len(clutches)
        self.to_dam = [np.ones(0)] * len(clutches)
        self._up()

    def _down(self, evidence: Evidence) -> Floats:
        """P(genotype | own record and what comes from the parents), row by row."""
        import numpy as np

        out = self.own.copy()
        choices = {c.row: c for c in evidence.skeleton.chosen}
        for row, (sire, dam) in enumerate(zip(evidence.skeleton.sire, evidence.skeleton.dam, strict=True)):
            if sire >= 0:
                out[row] *= np.tensordot(out[dam], np.tensordot(out[sire], self.offspring, 1), 1)
            elif row in choices:
                out[row] = np.array(choices[row].odds) @ out[list(choices[row].candidates)]
            out[row] /= max(out[row].sum(), 1e-300)
        return out

    def _up(self) -> None:
        """Evidence of each clutch on its parents, youngest first, so that grandchildren count."""
        import numpy as np

        for k in range(len(self.clutches) - 1, -1, -1):
            clutch = self.clutches[k]
            table = np.ones(self.offspring.shape[:2])
            for egg in clutch.eggs:
                table = table * (self.offspring @ (self.own[egg] * self.up[egg]))
            self.tables[k] = table / max(table.max(), 1e-300)
            self.to_sire[k] = self.tables[k] @ self.down[clutch.dam]
            self.to_dam[k] = self.down[clutch.sire] @ self.tables[k]
            self.up[clutch.sire] = _scaled(self.up[clutch.sire] * self.to_sire[k])
            self.up[clutch.dam] = _scaled(self.up[clutch.dam] * self.to_dam[k])

    def scores(self, males: Sequence[int]) -> dict[int, tuple[float, dict[int, float]]]:
        """Per clutch: log odds against the recorded sire, and log gain of each male over an unknown one."""
        import numpy as np

        known = {m: self.down[m] for m in males}
        anyone = np.mean([known[m] for m in males], axis=0)
        out = {}
        for k, clutch in enumerate(self.clutches):
            if (self.tables[k] == self.tables[k].flat[0]).all():
                continue
            sire = _without(self.down[clutch.sire] * self.up[clutch.sire], self.to_sire[k])
            dam = _without(self.down[clutch.dam] * self.up[clutch.dam], self.to_dam[k])
            by_sire = self.tables[k] @ dam
            unknown = log(max(float(anyone @ by_sire), 1e-300))
            against = unknown - log(max(float(sire @ by_sire), 1e-300))
            out[k] = (against, {m: log(max(float(p @ by_sire), 1e-300)) - unknown for m, p in known.items()})
        return out


def _scaled(values: Floats) -> Floats:
    return values / max(float(values.max()), 1e-300)


def _without(odds: Floats, message: Floats) -> Floats:
    """Odds with one message taken back out, normalised."""
    import numpy as np

    out = np.divide(odds, message, out=np.zeros_like(odds), where=message > 0)
    return out / max(float(out.sum()), 1e-300)
