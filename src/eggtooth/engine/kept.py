"""What was worked out before and need not be again: answers kept with the very values they rest on."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

T = TypeVar("T")
V = TypeVar("V")


class Kept:
    """Answers by name. One is used again only while everything it rests on is the same object as before.

    All else an answer depends on (the day, the settings) must be the same for one `Kept`, or stand in its
    name. Values that may rest here never change; a changed animal, entry or colony is another object.
    """

    __slots__ = ("_found",)

    def __init__(self) -> None:
        """Nothing is kept yet."""
        self._found: dict[Hashable, tuple[tuple[Any, ...], Any]] = {}

    def get(self, name: Hashable, rests_on: tuple[Any, ...], work: Callable[[], T]) -> T:
        """The answer kept under `name`, else the one `work` gives, kept from now on."""
        found = self._found.get(name)
        if found is None or not _same(found[0], rests_on):
            found = rests_on, work()
            self._found[name] = found
        answer: T = found[1]
        return answer

    def equal(self, name: Hashable, rests_on: tuple[Any, ...], work: Callable[[], T]) -> T:
        """As `get`, for what may be made anew and be equal all the same."""
        found = self._found.get(name)
        if found is None or found[0] != rests_on:
            found = rests_on, work()
            self._found[name] = found
        answer: T = found[1]
        return answer

    def each(
        self, name: str, rests_on: Mapping[str, tuple[Any, ...]], work: Callable[[list[str]], Iterable[V]]
    ) -> list[V]:
        """One answer for each tag of `rests_on`, in its order; `work` is asked once, for those missing."""
        here = {tag: self._found.get((name, tag)) for tag in rests_on}
        answers: dict[str, V] = {
            tag: found[1] for tag, found in here.items() if found and _same(found[0], rests_on[tag])
        }
        missing = [tag for tag in rests_on if tag not in answers]
        for tag, answer in zip(missing, work(missing) if missing else (), strict=True):
            self._found[name, tag] = rests_on[tag], answer
            answers[tag] = answer
        return [answers[tag] for tag in rests_on]


def _same(one: Sequence[Any], other: Sequence[Any]) -> bool:
    return len(one) == len(other) and all(a is b for a, b in zip(one, other, strict=True))
