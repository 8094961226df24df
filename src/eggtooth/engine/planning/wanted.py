"""How much each pair is wanted: the worth of its pairs by a season's plan, or all pairs alike without one."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

import numpy as np
from numpy.typing import NDArray

from eggtooth.engine.wording import say

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Worth of pairs, in units of the plan's usual pair (the median over females of the best pair of each).

    Without `values` every pair is worth 1; with them a pair that is not named is worth nothing and not put
    together. `named` says in words what a pair is wanted for. Raises `ValueError` on a worth below zero.
    """

    values: Mapping[tuple[str, str], float] | None = None
    named: Mapping[tuple[str, str], str] = field(default_factory=dict)
    _unit: float = field(init=False, default=1.0)

    def __post_init__(self) -> None:
        """Find the unit."""
        bad = next((p for p, v in (self.values or {}).items() if not 0 <= v < float("inf")), None)
        if bad is not None and self.values is not None:
            raise ValueError(f"a pair's worth is 0 or more, not {self.values[bad]} for {bad[0]} and {bad[1]}")
        best: dict[str, float] = {}
        for (_, female), value in (self.values or {}).items():
            best[female] = max(value, best.get(female, 0.0))
        above = [v for v in best.values() if v > 0]
        object.__setattr__(self, "_unit", median(above) if above else 1.0)

    def __call__(self, male: str, female: str) -> float:
        """Worth of a pair."""
        return 1.0 if self.values is None else self.values.get((male, female), 0.0) / self._unit

    def table(self, males: Sequence[str], females: Sequence[str]) -> Floats:
        """Worth of all pairs, (males, females)."""
        if self.values is None:
            return np.ones((len(males), len(females)))
        found = np.zeros((len(males), len(females)))
        row, column = ({tag: i for i, tag in enumerate(tags)} for tags in (males, females))
        for (male, female), value in self.values.items():
            if male in row and female in column:
                found[row[male], column[female]] = value / self._unit
        return found

    def why(self, male: str, female: str) -> str:
        """What the pair is wanted for, in words; empty when nothing is named."""
        name = self.named.get((male, female), "")
        return say("wanted for {name}", name=name) if name else ""


def written(wanted: Wanted) -> str:
    """A plan's pairs as one line of json, as they are kept in the house's settings."""
    rows = [[m, f, v, wanted.named.get((m, f), "")] for (m, f), v in sorted((wanted.values or {}).items())]
    return json.dumps(rows, ensure_ascii=False, separators=(",", ":"))


def read(text: str) -> Wanted:
    """A plan's pairs from that line; empty text is no plan. Raises `ValueError` on anything else."""
    if not text:
        return ALL_ALIKE
    try:
        rows = [(str(m), str(f), float(v), str(name)) for m, f, v, name in json.loads(text)]
    except (TypeError, ValueError) as wrong:
        raise ValueError(f"not a plan of pairs: {text[:60]!r} ({wrong})") from None
    return Wanted({(m, f): v for m, f, v, _ in rows}, {(m, f): name for m, f, _, name in rows if name})


ALL_ALIKE = Wanted()
"""No plan: a fertile clutch of any pair is worth the same."""
