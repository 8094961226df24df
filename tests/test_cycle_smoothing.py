"""The lattice equals its slow twins: a dense hidden Markov chain, and a sum over every course of a season."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from eggtooth.engine.cycle.evidence import Evidence, Seen
from eggtooth.engine.cycle.grid import FINE, LEARN, ROUND, Fate, Grid, Shape, grid_of
from eggtooth.engine.cycle.milestones import DAYS, backward, dates, sightings_of, waits_of
from eggtooth.engine.cycle.prior import PRIOR
from eggtooth.engine.cycle.smoothing import (
    Forward,
    exit_shares,
    fate_chances,
    forward,
    joined,
    log_lattice,
    noted_any,
    ovulation_message,
    weights_of,
)
from eggtooth.engine.facts import biology
from tests.oracles.dense_season import all_courses, chain_of, dense, sum_to_one

START = date(2025, 9, 1)
SMALL = Shape(
    slow_z=(-1.0, 1.0),
    turn_z=(0.0,),
    fast_z=(-0.5, 1.0),
    fading_z=(0.0,),
    small_mm=(14.0,),
    large_mm=(25.0,),
    first_start=0,
    starts=12,
    step=2,
)


FASTING = replace(SMALL, fasts_mm=(25.0,))
"""With females that stay off food once large follicles are reabsorbed."""


def random_evidence(rng: np.random.Generator, days: int) -> Evidence:
    """Sightings on random days, of every kind that bears on follicles."""
    seen = []
    for day in sorted(rng.choice(days, rng.integers(0, 9), replace=False)):
        kind = rng.choice(["scan", "scan of many", "meal", "sign"])
        value = {"meal": float(rng.integers(2)), "sign": 1.0}.get(
            kind, float(rng.choice([0, 6.5, 13, 19.5, 31]))
        )
        seen.append(Seen(int(day), (str(kind), value)))
    last = max((s.day for s in seen if s.what[0].startswith("scan") and s.what[1]), default=-1)
    return Evidence(
        START, days, tuple(seen), met_male=bool(rng.integers(2)), not_before=last + 1, watched=days
    )


def worked(evidence: Evidence, grid: Grid) -> Forward:
    """The forward pass in double precision."""
    return forward(log_lattice([evidence], grid, np.float64), grid, weights_of([evidence], grid, [PRIOR]))


@pytest.mark.parametrize("seed", range(6))
def test_lattice_equals_a_dense_hidden_markov_chain(seed: int) -> None:
    grid, days = grid_of(FASTING if seed % 2 else SMALL), 70
    evidence = random_evidence(np.random.default_rng(seed), days)
    ahead = worked(evidence, grid)
    chain = chain_of(evidence, grid, weights_of([evidence], grid, [PRIOR]), days)
    posterior, log_likelihood = dense(chain)
    for day in (0, days // 2, days - 1):
        ours = ahead.cells[0] / ahead.cells[0].sum()
        theirs = np.array(
            [
                [posterior[day, chain.cell[c, day - int(s)]] for s in grid.starts]
                for c in range(len(grid.fate))
            ]
        )
        np.testing.assert_allclose(ours, theirs, atol=1e-9)
    np.testing.assert_allclose(np.log(ahead.cells[0].sum()) + ahead.log_scale[0], log_likelihood, atol=1e-9)


def noted(kind: str) -> dict[str, object]:
    """Milestones and signs noted, by the name of the case."""
    return {
        "none": {},
        "signs": {"warm": (70,), "swollen": (61,)},
        "ordinary shed": {"sheds": (75, 20)},
        "ovulation": {"ovulation": 62},
        "shed": {"shed": 80},
        "ovulation and eggs": {"ovulation": 62, "laid": 112},
        "odd shed": {"ovulation": 40, "shed": 118},
    }[kind]


@pytest.mark.parametrize(
    "kind", ["none", "signs", "ordinary shed", "ovulation", "shed", "ovulation and eggs", "odd shed"]
)
def test_dates_and_fates_equal_the_sum_over_all_courses(kind: str) -> None:
    grid = grid_of(SMALL)
    seen = (Seen(30, ("scan", 14.0)), Seen(45, ("meal", 0.0)))
    evidence = Evidence(START, 70, seen, not_before=31, watched=66, **noted(kind))  # type: ignore[arg-type]
    ahead, waits, sightings = worked(evidence, grid), waits_of(PRIOR), sightings_of([evidence], PRIOR)
    back, message = backward(sightings, waits), ovulation_message(ahead)
    flags = noted_any([evidence])
    told, chances = dates(message, sightings, back, waits), fate_chances(ahead, grid, message, back, flags)
    slow = all_courses(ahead.cells[0], grid, ahead.ovulates, sightings, waits, bool(flags[0]), DAYS)
    np.testing.assert_allclose(chances[0], sum_to_one(slow.fates), atol=1e-9)
    for ours, theirs in ((told.ovulation, slow.ovulation), (told.shed, slow.shed), (told.laid, slow.laid)):
        np.testing.assert_allclose(ours[0], sum_to_one(theirs), atol=1e-9)


def test_posterior_cells_agree_with_fates() -> None:
    grid = grid_of(SMALL)
    evidence = random_evidence(np.random.default_rng(3), 60)
    ahead, sightings = worked(evidence, grid), sightings_of([evidence], PRIOR)
    back, flags = backward(sightings, waits_of(PRIOR)), noted_any([evidence])
    cells = joined(ahead, grid, back.ovulation, flags)[0]
    chances = fate_chances(ahead, grid, ovulation_message(ahead), back, flags)[0]
    by_fate = [cells[grid.fate == f].sum() for f in Fate]
    np.testing.assert_allclose(sum_to_one(np.array(by_fate)), chances, atol=1e-6)


def test_lattice_equals_hmmlearn() -> None:
    """Golden file by `tests/oracles/season_by_hmmlearn.py`: its emissions are put in as tables of our own."""
    golden = json.loads((Path(__file__).parent / "oracles" / "season_by_hmmlearn.json").read_text())
    grid = grid_of(SMALL)
    for k, table in enumerate(golden["log_emission"]):
        grid.tables[("symbol", float(k)), "d"] = np.array(table)[grid.binned]
    seen = tuple(Seen(day, ("symbol", float(k))) for day, k in golden["seen"])
    ahead = worked(Evidence(START, 60, seen, met_male=True), grid)
    posterior = ahead.cells[0] / ahead.cells[0].sum()
    np.testing.assert_allclose(posterior, np.array(golden["posterior"]), atol=1e-9)
    total = np.log(ahead.cells[0].sum()) + ahead.log_scale[0]
    np.testing.assert_allclose(total, golden["log_likelihood"], atol=1e-8)


@pytest.mark.parametrize("shape", [FINE, LEARN, ROUND, SMALL])
def test_places_of_reabsorption_share_each_fate_among_them(shape: Shape) -> None:
    """Early: even from 12 mm, where a start is told, to the published 20 mm, but for a tenth below; late: by
    the facts' own chances more than half below 30 mm."""
    grid = grid_of(shape)
    one_rate = exit_shares(shape)[(grid.levels[:, 0] == 0) & (grid.levels[:, 1] < 0)]
    at = grid.exit_mm[(grid.levels[:, 0] == 0) & (grid.levels[:, 1] < 0)]
    assert one_rate[at < 20].sum() == pytest.approx(1) and one_rate[at >= 20].sum() == pytest.approx(1)
    if len(shape.small_mm) > 1:
        assert one_rate[at < 12].sum() == pytest.approx(0.1)
        early = one_rate[(at > 12) & (at < 20)]
        assert early.max() < 1.25 * early.min()
        assert 0.5 < one_rate[(at > 20) & (at < 30)].sum() < 0.8


def test_with_a_male_the_share_lays_that_the_facts_tell() -> None:
    assert PRIOR.lays(1.0) == pytest.approx(biology.LAYS.value, abs=0.005)
