"""The house's own rates: learned from its finished seasons, kept as a dated choice, given up again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from eggtooth.engine.colony import Sex
from eggtooth.engine.cycle.habit import Habit, habits_of
from eggtooth.engine.cycle.learn import Learned, finished_seasons, learn
from eggtooth.engine.cycle.parameters import Parameter, parameters
from eggtooth.engine.cycle.prior import read, written
from eggtooth.engine.history import History
from eggtooth.engine.house import Settings
from eggtooth.jobs.gather import Source
from eggtooth.jobs.keeping_answers import Answers
from eggtooth.records import store


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the finished seasons say, how many there are, the figures a breeder reads, each female's habit."""

    learned: Learned
    seasons: int
    parameters: list[Parameter]
    habits: dict[str, Habit]

    @property
    def rates(self) -> str:
        """What was learned, as the settings keep it."""
        return written(self.learned.rates)


_lessons = Answers[Lesson]()


def lesson_of(source: Source, on: date) -> Lesson:
    """Learn from every season that was over on a day, of all females there ever were."""
    known = source.colony.as_of(on)
    females = [a.tag for a in known.animals.values() if a.sex is Sex.FEMALE]
    seen = {tag: History(known.of_animal(tag), on) for tag in females}
    seasons = finished_seasons(list(seen.values()), source.settings)
    learned = learn(seasons)
    here = [a.tag for a in known.here(on) if a.tag in seen]
    habits = habits_of([seen[tag] for tag in here], source.settings, learned.rates)
    told = {tag: habit for tag, habit in zip(here, habits, strict=True) if habit.seasons}
    return Lesson(learned, len(seasons), parameters(learned), told)


def lesson_kept(source: Source, on: date) -> Lesson:
    """As `lesson_of`; a page asks again for what takes seconds. It does not rest on what is in use."""
    settings = replace(source.settings, learned_rates="", season_plan="", season_plan_until="")
    return _lessons.to(source.colony, on, settings, lambda _: lesson_of(source, on))


def use(settings: Settings, rates: str, by: str = "") -> None:
    """Put learned rates in force, or the facts again (empty); the former choice stays in the record.

    Raises `ValueError` when they are no rates.
    """
    read(rates)
    if rates != settings.learned_rates:
        store.save_settings(replace(settings, learned_rates=rates), by)


def choices_past() -> list[store.Setting]:
    """The settings by which other rates came in force than before, oldest first."""
    found: list[store.Setting] = []
    for setting in store.settings_past():
        before = found[-1].settings.learned_rates if found else ""
        if setting.settings.learned_rates != before:
            found.append(setting)
    return found
