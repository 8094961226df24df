"""Write tests/golden/pedigree_pgmpy.json: exact posteriors of random looped families by a general library.

Run in an environment of its own: `python3 -m venv /tmp/oracles && /tmp/oracles/bin/pip install pgmpy==1.1.2`,
then
`PYTHONPATH=src:. /tmp/oracles/bin/python -m tests.oracles.make_pedigree_golden`.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from eggtooth.engine.pedigree.family import Family
from eggtooth.engine.pedigree.segregation import autosomal
from tests.oracles.enumeration import births
from tests.oracles.random_families import random_family

GOLDEN = Path(__file__).parents[1] / "golden" / "pedigree_pgmpy.json"
FAMILIES = 24


def network(family: Family):
    """A Bayesian network of the family; what was seen hangs on each animal as a node of its own."""
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.models import DiscreteBayesianNetwork

    genotypes = family.segregation.genotypes
    size, model, tables, evidence = len(genotypes), DiscreteBayesianNetwork(), [], {}
    children = np.zeros((size, size * size))
    for i, sire in enumerate(genotypes):
        for j, dam in enumerate(genotypes):
            for (_, child), p in births(sire, dam, None).items():
                children[genotypes.index(child), i * size + j] += p
    for row, (sire, dam) in enumerate(zip(family.sire.tolist(), family.dam.tolist(), strict=True)):
        model.add_node(f"a{row}")
        seen = family.table[row] / family.table[row].max()
        if sire < 0:
            tables.append(TabularCPD(f"a{row}", size, np.full((size, 1), 1 / size)))
        else:
            parents = [f"a{sire}", f"a{dam}"]
            model.add_edges_from([(parent, f"a{row}") for parent in parents])
            tables.append(TabularCPD(f"a{row}", size, children, evidence=parents, evidence_card=[size, size]))
        model.add_edge(f"a{row}", f"seen{row}")
        tables.append(
            TabularCPD(
                f"seen{row}", 2, np.stack([1 - seen, seen]), evidence=[f"a{row}"], evidence_card=[size]
            )
        )
        evidence[f"seen{row}"] = 1
    model.add_cpds(*tables)
    assert model.check_model()
    return model, evidence


def answered(family: Family) -> list[list[float]] | None:
    """Posterior of every animal by variable elimination; None when what was seen cannot be."""
    from pgmpy.inference import VariableElimination

    model, evidence = network(family)
    engine, out = VariableElimination(model), []
    for row in range(len(family.sire)):
        values = engine.query([f"a{row}"], evidence=evidence, show_progress=False).values
        if not np.isfinite(values).all():
            return None
        out.append(values.tolist())
    return out


def main() -> None:
    """Draw families until enough have possible evidence, and write them with their answers."""
    rng, kept = np.random.default_rng(20), []
    while len(kept) < FAMILIES:
        alleles = 2 if len(kept) < FAMILIES * 2 // 3 else 3
        family = random_family(rng, autosomal(alleles), 14, founders=4)
        family = Family(family.segregation, family.sire[:14], family.dam[:14], family.table[:14])
        p = answered(family) if (family.table.max(axis=1) > 0).all() else None
        if p is not None:
            kept.append(
                {"alleles": alleles, "sire": family.sire.tolist(), "dam": family.dam.tolist(),
                 "table": family.table.tolist(), "p": p}
            )  # fmt: skip
            print(len(kept), flush=True)
    GOLDEN.write_text(json.dumps(kept) + "\n")


if __name__ == "__main__":
    main()
