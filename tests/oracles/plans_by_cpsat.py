"""Makes `plans_by_cpsat.json`: plans chosen by the CP-SAT solver of OR-Tools, to proven optimality.

Run with a Python that has `requirements/oracles.txt`: `python tests/oracles/plans_by_cpsat.py`. Knows nothing
of the engine: effective numbers are whole tenths, the worth of each wish is a table over their sum (the
expected share of the number wanted, of a Poisson count), whole billionths.
"""

from __future__ import annotations

import json
import random
from pathlib import Path

from ortools.sat.python import cp_model
from plans import share

SCALE = 10**9
SIZES = [(3, 6, 2), (4, 8, 3), (5, 10, 3), (6, 12, 4), (8, 16, 4), (4, 20, 5), (10, 20, 3)]


def instance(seed, males, females, wishes):
    rng = random.Random(seed)
    goals = [(rng.choice([1, 2, 3, 5]), rng.choice([1, 2, 4])) for _ in range(wishes)]
    tenths = [
        [[rng.choice([0, 0, 0, 1, 2, 4, 7, 12]) for _ in range(females)] for _ in range(males)]
        for _ in range(wishes)
    ]
    may = [[rng.random() < 0.85 for _ in range(females)] for _ in range(males)]
    room = [rng.choice([1, 2, 3]) for _ in range(males)]
    return {"goals": goals, "tenths": tenths, "may": may, "room": room, "cost": rng.choice([0.0, 0.02])}


def solved(case):
    model = cp_model.CpModel()
    males, females = len(case["room"]), len(case["may"][0])
    x = {
        (i, j): model.new_bool_var(f"x{i}_{j}")
        for i in range(males) for j in range(females) if case["may"][i][j]
    }  # fmt: skip
    for j in range(females):
        model.add_at_most_one(x[i, j] for i in range(males) if (i, j) in x)
    for i in range(males):
        model.add(sum(x[i, j] for j in range(females) if (i, j) in x) <= case["room"][i])
    worth = []
    for w, (weight, count) in enumerate(case["goals"]):
        most = sum(max(row[j] for row in case["tenths"][w]) for j in range(females))
        table = [round(SCALE * weight * share(k / 10, count)) for k in range(most + 1)]
        total, value = model.new_int_var(0, most, f"m{w}"), model.new_int_var(0, table[-1], f"v{w}")
        model.add(total == sum(case["tenths"][w][i][j] * v for (i, j), v in x.items()))
        model.add_element(total, table, value)
        worth.append(value)
    model.maximize(sum(worth) - round(SCALE * case["cost"]) * sum(x.values()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = 120
    if solver.solve(model) != cp_model.OPTIMAL:
        raise SystemExit(f"not proven optimal: {solver.status_name()}")
    return solver.objective_value / SCALE


def main():
    cases = [instance(seed, *size) for seed, size in enumerate(SIZES)]
    for case in cases:
        case["best"] = solved(case)
        print(case["best"], flush=True)
    Path(__file__).with_suffix(".json").write_text(json.dumps(cases) + "\n")


if __name__ == "__main__":
    main()
