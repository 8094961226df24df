"""Long work as a page asks for it: worked out in the page over a file, by the queue over PostgreSQL."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from eggtooth.jobs.gather import Source
from eggtooth.jobs.long_work import here, queue, shelf
from eggtooth.jobs.long_work.hand import SECONDS
from eggtooth.jobs.long_work.questions import Question, state
from eggtooth.jobs.long_work.queue import Standing

__all__ = ["SECONDS", "Outcome", "Question", "Standing", "ask", "ask_anew", "look", "waits"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """An answer, and how things stand where it is not of now.

    `answer` is of the store as it is, unless one of the others says otherwise: then it is an earlier one,
    of `made_at`, or there is none. `standing`: it is being worked out. `fault`: what went wrong when it was.
    `unasked`: it is worked out when somebody asks for it (`wanted`).
    """

    answer: Any = None
    made_at: datetime | None = None
    standing: Standing | None = None
    fault: str = ""
    unasked: bool = False

    @property
    def current(self) -> bool:
        """Whether there is an answer and it is of now."""
        return self.answer is not None and not (self.standing or self.fault or self.unasked)


def waits() -> bool:
    """Whether long work goes through the queue here."""
    return queue.used()


def ask(question: Question, source: Source, seconds: float, *, wanted: bool = False) -> Outcome:
    """The answer, or where it stands. Raises `ValueError` where the question cannot be asked so.

    Without a queue it is worked out now, in about `seconds` at most; in a large house only when it is
    `wanted`.
    """
    if queue.used():
        return _found(question, source, begin=True)
    return _outcome(here.answered(question, source, seconds, wanted))


def look(question: Question, source: Source) -> Outcome:
    """What there is of an answer already, and where it stands; nothing is begun."""
    if queue.used():
        return _found(question, source, begin=False)
    return _outcome(here.kept(question, source))


def _outcome(laid: here.Laid) -> Outcome:
    return Outcome(laid.answer, laid.made_at, unasked=not laid.current)


def _found(question: Question, source: Source, begin: bool) -> Outcome:
    now, key = state(question, source), question.digest
    with queue.connected() as connection:
        found = shelf.of(connection, key)
        standing = queue.standing(connection, key, now)
    fresh = next((f for f in found if f.state == now), None)
    if fresh and fresh.refusal:
        raise ValueError(fresh.refusal)
    if fresh and not fresh.fault:
        return Outcome(fresh.answer, fresh.made_at)
    earlier = next((f for f in found if f.answer is not None), None)
    before = Outcome(earlier.answer, earlier.made_at) if earlier else Outcome()
    if fresh:
        return replace(before, fault=fresh.fault)
    return replace(before, standing=standing or (_begun(question, now) if begin else None))


def _begun(question: Question, now: str) -> Standing:
    queue.put(question, now)
    with queue.connected() as connection:
        found = queue.standing(connection, question.digest, now)
        # A quick worker may have done it already; the next look finds the answer.
        return found or Standing(None, 0, queue.is_anybody_there(connection))


def ask_anew(question: str) -> None:
    """Have a question that failed, named by its digest, asked anew by the next who asks."""
    if queue.used():
        with queue.connected() as connection:
            shelf.forget_faults(connection, question)
