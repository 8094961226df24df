"""The house's own rates: learned from its finished seasons, kept as a dated choice, given up again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from eggtooth.engine.colony import Sex
from eggtooth.engine.cycle.learn import Learned, finished_seasons, learn
from eggtooth.engine.cycle.parameters import Parameter, parameters
from eggtooth.engine.cycle.prior import written
from eggtooth.engine.history import History
from eggtooth.jobs.gather import Source


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the finished seasons say, the figures a breeder reads, and whether it is in use."""

    learned: Learned
    parameters: list[Parameter]
    in_use: bool


def lesson_of(source: Source, on: date) -> Lesson:
    """Learn from every season that was over on a day, of all females there ever were."""
    known = source.colony.as_of(on)
    females = [a.tag for a in known.animals.values() if a.sex is Sex.FEMALE]
    seasons = finished_seasons([History(known.of_animal(t), on) for t in females], source.settings)
    learned = learn(seasons)
    return Lesson(learned, parameters(learned), source.settings.learned_rates == written(learned.rates))


def use(source: Source, lesson: Lesson | None, by: str = "") -> None:
    """Put what was learned in force, or the facts again (`None`); the former choice stays in the record."""
    from eggtooth.records import store

    rates = written(lesson.learned.rates) if lesson else ""
    store.save_settings(replace(source.settings, learned_rates=rates), by)
