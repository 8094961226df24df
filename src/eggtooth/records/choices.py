"""Pins and bans: dated choices about pairs. The latest about a pair counts; taking one back adds a row."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from eggtooth.engine.wording import say
from eggtooth.records import models
from eggtooth.records.files.refusal import Wrong, nearest
from eggtooth.records.store import Choice


def past() -> list[Choice]:
    """All choices there were, oldest first."""
    columns = "chosen_at", "chosen_by", "male__tag", "female__tag", "says"
    return [Choice(*row) for row in models.PairChoice.objects.order_by("id").values_list(*columns)]


def choose(male: str, female: str, says: str, by: str, when: datetime | None = None) -> None:
    """Add a choice. Raises `ValueError` on an unknown tag or word."""
    if says not in ("pin", "ban", ""):
        raise ValueError(f"a pair is a pin, a ban or neither, not {says!r}")
    ids = dict(models.Animal.objects.values_list("tag", "id"))
    for role, tag in (("male", male), ("female", female)):
        if tag not in ids:
            raise Wrong(role, tag, say("is not an animal here"), "", nearest(tag, ids))
    if male == female:
        raise ValueError(f"{male} cannot be paired with itself")
    said: dict[str, Any] = {"chosen_at": when} if when else {}
    models.PairChoice.objects.create(
        male_id=ids[male], female_id=ids[female], says=says, chosen_by=by, **said
    )
