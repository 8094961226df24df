"""Answers asked again at the cost of what changed equal answers from nothing, on invented houses."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

import numpy as np
import pytest

from eggtooth.engine.colony import Colony
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.kept import Kept
from eggtooth.engine.rounds import Todo, round_for
from eggtooth.engine.simulate.colony import simulate_colony
from eggtooth.jobs.clutches import eggs_of
from eggtooth.jobs.family_kept import known_now
from eggtooth.jobs.feeders import order
from eggtooth.jobs.gather import Source
from eggtooth.jobs.hatching import hatched_clutches
from eggtooth.jobs.invent import noted_once
from eggtooth.jobs.looking import everything_odd
from eggtooth.jobs.males import males_on
from eggtooth.jobs.readiness import who_is_ready
from eggtooth.jobs.season import strips_on

ON = date(2026, 2, 4)
ASKED: dict[str, Callable[[Source, Kept | None], Any]] = {
    "round": lambda s, kept: round_for(s.colony, ON, s.settings, kept).tasks,
    "eggs": lambda s, kept: eggs_of(s, ON, kept),
    "feeders": lambda s, kept: order(s, ON, 3, kept),
    "hatched": lambda s, kept: hatched_clutches(s.colony, ON, s.settings, kept),
    "ready": lambda s, kept: [(r.tag, r.dates, r.why, round(r.p_now, 9)) for r in who_is_ready(s, ON, kept)],
    "males": lambda s, kept: [(m.animal, m.tub, m.season.wear, m.mass) for m in males_on(s, ON, kept)],
    "season": lambda s, kept: [
        (t.animal, t.tub, t.coming, t.outlook.dates, t.nights, t.next_scan)
        for t in strips_on(s, ON, 0, 9, kept).strips
    ],
    "odd": lambda s, kept: everything_odd(s.colony, ON, kept),
}


@pytest.fixture(scope="module")
def house() -> Colony:
    return simulate_colony(np.random.default_rng(4), animals=12, years=1, until=ON).colony


def changed(colony: Colony, luck: random.Random) -> Colony:
    """Something more noted of one animal, or its last entry taken back."""
    tags = [t for t in colony.animals if colony.of_animal(t)]
    tag = luck.choice(tags)
    kinds: list[tuple[Kind, float | None]] = [
        (Kind.MEAL, 1.0), (Kind.WEIGHT, 900.0), (Kind.SCAN, 21.0), (Kind.LAID, 5.0), (Kind.DIED, None)
    ]  # fmt: skip
    kind, value = luck.choice(kinds)
    made = Entry(UUID(int=luck.getrandbits(128)).hex, ON, None, tag, kind, value, None)
    mine = [e for e in noted_once(colony) if tag in (e.tag, e.partner)]
    return colony.told_again({tag}, [*mine, made] if luck.random() < 0.8 else mine[:-1])


def test_answers_kept_animal_by_animal_equal_those_from_nothing(house: Colony) -> None:
    luck, kept, settings = random.Random(1), Kept(), Settings()
    for _ in range(4):
        for name, ask in ASKED.items():
            source = Source(house, settings)
            assert ask(source, kept) == ask(source, None), name
        house = changed(house, luck)


def test_a_round_asked_again_after_each_note_of_an_evening_equals_one_from_nothing() -> None:
    """Females teach each other, males are sent out together: what one is said of bears on all."""
    house = simulate_colony(np.random.default_rng(6), animals=50, years=1, until=ON).colony
    luck, kept, settings = random.Random(2), Kept(), Settings()
    for _ in range(10):
        again = round_for(house, ON, settings, kept).tasks
        assert again == round_for(house, ON, settings).tasks
        move = next((t for t in again if t.todo is Todo.MOVE_IN), None)
        if move and luck.random() < 0.4:
            kind = luck.choice([Kind.PAIRED, Kind.LOCK])
            made = Entry(UUID(int=luck.getrandbits(128)).hex, ON, None, move.tag, kind, None, move.partner)
            told = {move.tag, move.partner}
            mine = [e for e in noted_once(house) if told & {e.tag, e.partner}]
            house = house.told_again(told, [*mine, made])
        else:
            house = changed(house, luck)


def test_who_carries_what_follows_the_colony(house: Colony) -> None:
    first = known_now(house, ON)
    tag = next(t for t, a in house.animals.items() if a.sex == "F")
    fed = house.told_again(
        {tag}, [*house.of_animal(tag), Entry("0" * 32, ON, None, tag, Kind.MOVED, None, "Z-1-1")]
    )
    again = known_now(fed, ON)
    assert again.loci is first.loci  # nothing that bears on it changed
    assert again.evidence.colony.tub_of(tag, ON) == fed.tub_of(tag, ON) != house.tub_of(tag, ON)
