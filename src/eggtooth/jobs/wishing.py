"""The wishes of the open store: add one, weigh it anew, take it off the list."""

from __future__ import annotations

from eggtooth.engine.colony import Wish
from eggtooth.engine.wording import say
from eggtooth.records import store
from eggtooth.records.files.fields import LONGEST_WISH, words_of
from eggtooth.records.files.refusal import Wrong
from eggtooth.records.files.wishes import wish_of, wish_text


def wishes() -> tuple[Wish, ...]:
    """All wishes, in order."""
    return store.colony().wishes


def add(text: str, weight: str, count: str) -> Wish:
    """Add a wish as typed. Raises `ValueError` in a sentence: what cannot be read, and the nearest known."""
    colony = store.colony()
    words = words_of("wish", text, LONGEST_WISH)
    if not words:
        raise Wrong(
            "wish",
            "",
            say("the wish is missing"),
            say("write a look, like Clown Piebald or het Clown female"),
        )
    made = wish_of(wish_text(words, colony.animals), weight, count)
    if made.text in {w.text for w in colony.wishes}:
        raise Wrong("wish", made.text, say("stands here already"), say("change its weight or count instead"))
    store.save_wishes([*colony.wishes, made])
    return made


def change(text: str, weight: str, count: str) -> None:
    """Another weight and count for a wish. Raises `ValueError`."""
    _replaced(text, [wish_of(text, weight, count)])


def remove(text: str) -> None:
    """Take a wish off the list. Raises `ValueError` when it is not on it."""
    _replaced(text, [])


def _replaced(text: str, by: list[Wish]) -> None:
    with store.all_or_nothing():
        now = list(store.colony().wishes)
        place = next((i for i, w in enumerate(now) if w.text == text), None)
        if place is None:
            raise Wrong("wish", text, say("is not among the wishes"))
        store.save_wishes([*now[:place], *by, *now[place + 1 :]])
