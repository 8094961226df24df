"""Makes `crosses_by_pgmpy.json`: whole crosses as Bayesian networks, solved by pgmpy's variable elimination.

Run with a Python that has `requirements/oracles.txt`: `python tests/oracles/crosses_by_pgmpy.py`.
Knows nothing of the engine: loci, modes and parents are written out here, in plain tables.
"""

from __future__ import annotations

import itertools
import json
from pathlib import Path

from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

R = 0.07
# For each locus: alleles, looks by unordered pair (all others normal), parents as {(first, second): p}. For a
# male at the sex-linked locus the pair is (X, Y).
CLOWN = {("Clown", "Clown"): "Clown"}
PIED = {("Piebald", "Piebald"): "Piebald"}
PASTEL = {("+", "Pastel"): "Pastel", ("Pastel", "Pastel"): "Super Pastel"}
BANANA = {("+", "Banana"): "Banana", ("Banana", "Banana"): "Super Banana"}
BEL = {
    ("+", "Lesser"): "Lesser", ("+", "Mojave"): "Mojave", ("Lesser", "Lesser"): "Super Lesser",
    ("Mojave", "Mojave"): "Super Mojave", ("Lesser", "Mojave"): "Lesser Mojave",
}  # fmt: skip
ALBINO = {
    ("Albino", "Albino"): "Albino", ("Candy", "Candy"): "Candy", ("Albino", "Candy"): "Albino Candy",
}  # fmt: skip
WILD = {("+", "+"): 1.0}


def carrier(allele, p):
    return {("+", allele): p, ("+", "+"): 1 - p} if p < 1 else {("+", allele): 1.0}


CROSSES = [
    ("het Clown Piebald", "Pastel 66% het Clown", {
        "clown": (["+", "Clown"], CLOWN, carrier("Clown", 1), carrier("Clown", 2 / 3), False),
        "pied": (["+", "Piebald"], PIED, carrier("Piebald", 1), WILD, False),
        "pastel": (["+", "Pastel"], PASTEL, WILD, carrier("Pastel", 1), False),
    }),
    ("Lesser 50% het Piebald", "Lesser Mojave het Piebald", {
        "bel": (["+", "Lesser", "Mojave"], BEL, carrier("Lesser", 1), {("Lesser", "Mojave"): 1.0}, False),
        "pied": (["+", "Piebald"], PIED, carrier("Piebald", 0.5), carrier("Piebald", 1), False),
    }),
    ("Banana (male maker) het Clown", "Banana 33% het Clown", {
        "banana": (["+", "Banana"], BANANA, {("+", "Banana"): 1.0}, carrier("Banana", 1), True),
        "clown": (["+", "Clown"], CLOWN, carrier("Clown", 1), carrier("Clown", 1 / 3), False),
    }),
    ("Banana (female maker) Pastel", "Super Banana Pastel", {
        "banana": (["+", "Banana"], BANANA, {("Banana", "+"): 1.0}, {("Banana", "Banana"): 1.0}, True),
        "pastel": (["+", "Pastel"], PASTEL, carrier("Pastel", 1), carrier("Pastel", 1), False),
    }),
    ("Banana", "het Clown", {
        "banana": (["+", "Banana"], BANANA, {("+", "Banana"): 0.5, ("Banana", "+"): 0.5}, WILD, True),
        "clown": (["+", "Clown"], CLOWN, WILD, carrier("Clown", 1), False),
    }),
    ("25% het Albino 50% het Candy", "Albino Candy", {
        "albino": (
            ["+", "Albino", "Candy"], ALBINO,
            {("+", "Albino"): 0.25, ("+", "Candy"): 0.5, ("+", "+"): 0.25}, {("Albino", "Candy"): 1.0}, False,
        ),
    }),
]  # fmt: skip


def add_locus(net, name, alleles, looks, sire, dam, linked):
    pairs = list(itertools.product(alleles, repeat=2))
    for who, odds in (("sire", sire), ("dam", dam)):
        net.add_cpds(TabularCPD(f"{name} {who}", len(pairs), [[odds.get(p, 0.0)] for p in pairs]))
    n = len(alleles)
    paternal = [[0.0] * (len(pairs) * 2) for _ in alleles]
    maternal = [[0.0] * len(pairs) for _ in alleles]
    for i, (x, y) in enumerate(pairs):
        maternal[alleles.index(x)][i] += 0.5
        maternal[alleles.index(y)][i] += 0.5
        for s in (0, 1):  # 0 daughter, 1 son
            near, far = (y, x) if s else (x, y)
            paternal[alleles.index(near)][i * 2 + s] += 1 - R if linked else 0.5
            paternal[alleles.index(far)][i * 2 + s] += R if linked else 0.5
    names = sorted({"Normal", *looks.values()})
    shown = [[0.0] * (n * n) for _ in names]
    for i, (a, b) in enumerate(itertools.product(alleles, repeat=2)):
        look = looks.get((a, b)) or looks.get((b, a)) or "Normal"
        shown[names.index(look)][i] = 1.0
    net.add_edges_from([
        (f"{name} sire", f"{name} from sire"), ("sex", f"{name} from sire"),
        (f"{name} dam", f"{name} from dam"),
        (f"{name} from sire", f"{name} look"), (f"{name} from dam", f"{name} look"),
    ])  # fmt: skip
    net.add_cpds(
        TabularCPD(f"{name} from sire", n, paternal, [f"{name} sire", "sex"], [len(pairs), 2]),
        TabularCPD(f"{name} from dam", n, maternal, [f"{name} dam"], [len(pairs)]),
        TabularCPD(f"{name} look", len(names), shown, [f"{name} from sire", f"{name} from dam"], [n, n]),
    )
    return names


def solved(loci):
    net = DiscreteBayesianNetwork()
    net.add_node("sex")
    net.add_cpds(TabularCPD("sex", 2, [[0.5], [0.5]]))
    for name in loci:
        net.add_nodes_from([f"{name} sire", f"{name} dam"])
    names = {name: add_locus(net, name, *table) for name, table in loci.items()}
    assert net.check_model()
    order = ["sex", *(f"{name} look" for name in loci)]
    joint = VariableElimination(net).query(order, show_progress=False)
    place = {v: joint.variables.index(v) for v in order}
    odds = {}
    for at in itertools.product(*(range(c) for c in joint.cardinality)):
        looks = [names[name][at[place[f"{name} look"]]] for name in loci]
        words = sorted(w for w in looks if w != "Normal")
        key = ("F", "M")[at[place["sex"]]] + ": " + (" + ".join(words) or "Normal")
        odds[key] = odds.get(key, 0.0) + float(joint.values[at])
    return {key: p for key, p in sorted(odds.items()) if p > 0}


if __name__ == "__main__":
    found = [{"sire": sire, "dam": dam, "odds": solved(loci)} for sire, dam, loci in CROSSES]
    Path(__file__).with_suffix(".json").write_text(json.dumps(found, indent=1) + "\n")
