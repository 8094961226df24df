"""Gathering a colony, from files or from the store, for whatever is asked of the engine."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.engine.wording import joined
from eggtooth.records import store
from eggtooth.records.files.reading import Notation, Paths, Reading, read_files
from eggtooth.records.files.refusal import Refusal
from eggtooth.records.files.wishes import wish_text
from eggtooth.records.store import StoreFault, open_store

__all__ = ["NOTATION", "Refused", "Source", "StoreFault", "from_files", "from_store", "open_store", "warn"]


@lru_cache(maxsize=65_536)
def _problem(text: str) -> str | None:
    """What is wrong with a text in trade notation. The notation is loaded only when a file holds genes."""
    from eggtooth.engine.genetics.notation import problem

    return problem(text)


NOTATION = Notation(genes_problem=_problem, wish_text=wish_text)
"""Genes and wishes as the trade writes them; what cannot be read is refused, nearest names told."""


def warn(tell: Callable[[str], None]) -> None:
    """Tell of a database server that does not keep what it says it has kept."""
    for words in store.careless():
        tell(f"WARNING: {words}")


AHEAD = timedelta(days=3 * 365)
"""Files may hold later days than the one asked about (a past season looked at again), but not far ones."""


class Refused(Exception):
    """The data is at fault; carries every refusal."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        """Keep the refusals."""
        super().__init__(joined("\n", map(str, refusals)))
        self.refusals = tuple(refusals)


@dataclass(frozen=True, slots=True)
class Source:
    """The colony, the house's settings, and the keeper's choices (pin, ban) about pairs (male, female), each
    with the last day it holds; one without such a day holds for good.
    """

    colony: Colony
    settings: Settings
    choices: Mapping[tuple[str, str], str] = field(default_factory=dict)
    choices_end: Mapping[tuple[str, str], date] = field(default_factory=dict)

    def choices_on(self, on: date) -> dict[tuple[str, str], str]:
        """The choices in force on a day."""
        ends = self.choices_end
        return {pair: says for pair, says in self.choices.items() if on <= ends.get(pair, on)}


def from_files(paths: Paths, on: date) -> Source:
    """The colony of plain files, with the usual settings. Raises `Refused`: all lines must be good."""
    found: Reading = read_files(paths, min(on, date.max - AHEAD) + AHEAD, notation=NOTATION)
    if found.refusals:
        raise Refused(found.refusals)
    return Source(found.colony(), Settings())


def from_store() -> Source:
    """The colony, settings and choices of the open store; a choice ends with the season it was made in, or
    before which it was made.
    """
    colony, settings, made = store.colony(), store.settings(), store.choices_made()
    ends = {pair: settings.season_end(choice.when.date()) for pair, choice in made.items()}
    return Source(colony, settings, {pair: choice.says for pair, choice in made.items()}, ends)
