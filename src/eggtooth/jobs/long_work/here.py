"""Long work without a queue: at once in a small house, in a large one when somebody asks for it.

The latest answers are kept in the process, so that a large house is shown the last one while notes come in.
"""

from __future__ import annotations

from datetime import UTC, datetime
from threading import Lock
from typing import Any, NamedTuple

from eggtooth.jobs.gather import Source
from eggtooth.jobs.long_work.questions import Question, state, worked_out

MOST = 6
AT_ONCE_ANIMALS = 600
"""A house with more is asked before a page works for seconds or minutes (our choice: about five seconds)."""


class Laid(NamedTuple):
    """An answer, when it was worked out, and whether it is of the store as it is."""

    answer: Any = None
    made_at: datetime | None = None
    current: bool = False


class _Kept(NamedTuple):
    state: str
    laid: Laid


_answers: dict[str, _Kept] = {}
_one_at_a_time = Lock()


def answered(question: Question, source: Source, seconds: float, wanted: bool) -> Laid:
    """The answer of now, or the last one. Raises `ValueError` where the question cannot be asked so.

    `wanted`: work it out however large the house is, in about `seconds` at most where it is a search. One
    thing is worked out at a time; whoever only looks does not wait for it.
    """
    laid = kept(question, source)
    if laid.current or not (wanted or len(source.colony.animals) <= AT_ONCE_ANIMALS):
        return laid
    with _one_at_a_time:
        laid = kept(question, source)  # another may just have asked the same
        if not laid.current:
            laid = Laid(worked_out(question, source, seconds), datetime.now(UTC), True)
            _answers[question.digest] = _Kept(state(question, source), laid)
            while len(_answers) > MOST:
                _answers.pop(next(iter(_answers)))
        return laid


def kept(question: Question, source: Source) -> Laid:
    """What was worked out here before; nothing is begun."""
    found = _answers.get(question.digest)
    return found.laid._replace(current=found.state == state(question, source)) if found else Laid()


def forget() -> None:
    """Empty all, as in a new process."""
    with _one_at_a_time:
        _answers.clear()
