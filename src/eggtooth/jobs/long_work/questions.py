"""The questions that take long: what each is asked with, what its answer rests on, how it is worked out."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import Any, NamedTuple

from eggtooth.engine.colony import Colony
from eggtooth.engine.cycle.evidence import SEASON_KINDS
from eggtooth.engine.entries import LEFT, Entry, Kind
from eggtooth.engine.planning.generations.front import Leaders
from eggtooth.jobs import generations, learn, pairings
from eggtooth.jobs.family_kept import TELLING
from eggtooth.jobs.gather import Source
from eggtooth.jobs.review import look_back

CODE = Path(__file__).parents[2]
Work = Callable[[Source, date, Mapping[str, Any], float], Any]


@dataclass(frozen=True, slots=True)
class Question:
    """A kind of long work, the day it is asked for, and what else is asked, as json holds it."""

    kind: str
    on: date
    asked: Mapping[str, Any]

    def text(self) -> str:
        """The question as one line of json, the same for the same question."""
        said = {"kind": self.kind, "on": self.on.isoformat(), "asked": self.asked}
        return json.dumps(said, sort_keys=True, ensure_ascii=True)

    def words(self) -> str:
        """The question for people."""
        return f"{self.kind} on {self.on.isoformat()} {self.asked.get('wish', '')}".strip()

    @property
    def digest(self) -> str:
        """What tells this question from others."""
        return hashlib.sha256(self.text().encode()).hexdigest()

    @classmethod
    def read(cls, text: str) -> Question:
        """The question of a line that `text` wrote."""
        said = json.loads(text)
        return cls(said["kind"], date.fromisoformat(said["on"]), said["asked"])


def _whole_house(source: Source) -> object:
    colony = source.colony
    boxes = list(colony.incubators.values())
    return (
        colony.wishes,
        boxes,
        source.settings,
        sorted(source.choices.items()),
        sorted(source.choices_end.items()),
    )


@dataclass(frozen=True, slots=True)
class Way:
    """How a kind of question is worked out, and what bears on the answer besides the animals: which kinds of
    entry (`None`: any), only those of its day and before (`past`), and what else there is in the house.
    """

    work: Work
    reads: frozenset[Kind] | None = None
    past: bool = False
    house: Callable[[Source], object] = _whole_house


def plan_asked(choices: Mapping[pairings.Pair, str], without: Iterable[str], on: date) -> Question:
    """The plan of pairs, with choices over those kept and animals left out."""
    told = sorted([male, female, says] for (male, female), says in choices.items())
    return Question("plan", on, {"choices": told, "without": sorted(without)})


def routes_asked(wish: str, seasons: int, on: date) -> Question:
    """Ways to a wish over some seasons."""
    return Question("routes", on, {"wish": wish, "seasons": seasons})


def lesson_asked(source: Source, on: date) -> Question:
    """The house's own rates, from the seasons over by a day: the same all through a breeding year."""
    return Question("lesson", source.settings.season_start(on), {})


def review_asked(source: Source, this_season: bool, on: date) -> Question:
    """The season looked back on: a finished one is the same whatever the day it is asked for."""
    told = on if this_season else source.settings.season_start(on)
    return Question("review", told, {"this_season": this_season})


def worked_out(question: Question, source: Source, seconds: float) -> Any:
    """The answer, in about so many seconds at most. Raises `ValueError` where it cannot be asked so."""
    return WAYS[question.kind].work(source, question.on, question.asked, seconds)


def state(question: Question, source: Source) -> str:
    """A digest of all that the answer rests on: the code, the animals, the entries that bear on it, all.

    An entry never changes once it is kept, so its id stands for it. Quick for the colony asked of last; for
    another, linear in its animals and in the entries of those of whom something was noted.
    """
    asked_of = source.settings, dict(source.choices), dict(source.choices_end)
    with _one_at_a_time:
        last = _last.get(question.digest)
        if last is None or last.colony is not source.colony or last.asked_of != asked_of:
            last = _last[question.digest] = _Last(source.colony, asked_of, _state(question, source))
            while len(_last) > MOST_KEPT:
                _last.pop(next(iter(_last)))
        return last.state


def _state(question: Question, source: Source) -> str:
    colony, way = source.colony, WAYS[question.kind]
    found = hashlib.sha256(f"{_code()} {question.text()}".encode())
    found.update(repr((list(colony.animals.values()), way.house(source))).encode())
    for digest in _of_animals(question.kind, way, question.on if way.past else None, colony):
        found.update(digest)
    return found.hexdigest()


class _Last(NamedTuple):
    colony: Colony
    asked_of: object
    state: str


MOST_KEPT = 6
_one_at_a_time = Lock()
_last: dict[str, _Last] = {}
_animals: dict[object, dict[str, tuple[Sequence[Entry], bytes]]] = {}


def _of_animals(kind: str, way: Way, until: date | None, colony: Colony) -> Iterator[bytes]:
    """A digest of each animal's entries that bear on the answer, by tag; empty for none."""
    known, fresh = _animals.pop((kind, until), {}), {}
    for tag in sorted(colony.entries):
        entries = colony.entries[tag]
        before = known.get(tag)
        fresh[tag] = (
            before if before and before[0] is entries else (entries, _digest(tag, entries, way, until))
        )
        yield fresh[tag][1]
    _animals[kind, until] = fresh
    while len(_animals) > MOST_KEPT:
        _animals.pop(next(iter(_animals)))


def _digest(tag: str, entries: Sequence[Entry], way: Way, until: date | None) -> bytes:
    ids = [
        e.id
        for e in entries
        if (way.reads is None or e.kind in way.reads) and (until is None or e.on <= until)
    ]
    return hashlib.sha256(f"{tag!r} {' '.join(ids)}".encode()).digest() if ids else b""


@cache
def _code() -> str:
    """A digest of this very code: what other code worked out is not shown as its own."""
    found = hashlib.sha256()
    for file in sorted(CODE.rglob("*.py")):
        if "web" not in file.relative_to(CODE).parts:
            found.update(file.read_bytes())
    return found.hexdigest()


def _plan(source: Source, on: date, asked: Mapping[str, Any], seconds: float) -> Any:
    choices = {(male, female): says for male, female, says in asked["choices"]}
    question = pairings.Asked(choices, frozenset(asked["without"]), seconds=seconds)
    return pairings.plan_for(source, on, question)


def _routes(source: Source, on: date, asked: Mapping[str, Any], seconds: float) -> Any:
    until = monotonic() + seconds
    question = generations.Asked(asked["wish"], asked["seasons"])
    task = generations.task_of(question, source, on)
    search = generations.searched(task, lambda: monotonic() > until)
    found = generations.answer(question, task, search)
    # What the search needed to go on is not part of the answer.
    return replace(found, search=replace(search, enough=bool, each=None, leaders=Leaders(), _seen=set()))


def _lesson(source: Source, on: date, asked: Mapping[str, Any], seconds: float) -> Any:
    return learn.lesson_kept(source, on)


def _review(source: Source, on: date, asked: Mapping[str, Any], seconds: float) -> Any:
    return look_back(source, on, asked["this_season"])


def _rules(source: Source) -> object:
    """Incubators, and the settings without what the house chose to go by."""
    told = replace(source.settings, season_plan="", season_plan_until="", learned_rates="")
    return list(source.colony.incubators.values()), told


WAYS = {
    "plan": Way(_plan),
    # What was noted later does not change what was told then; dates are told by the facts.
    "review": Way(_review, past=True, house=_rules),
    # Who carries what rests on these alone (`family_kept`), and who is still here on who left.
    "routes": Way(_routes, TELLING | LEFT),
    # What is learned does not rest on what was learned before, nor on the season that is on.
    "lesson": Way(
        _lesson, frozenset(SEASON_KINDS), past=True, house=lambda source: source.settings.year_turns
    ),
}
