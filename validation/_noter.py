"""A hand that notes until it is killed: each thing is said before it is sent, and again once it is kept."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store

DAY = date(2026, 1, 13)


def main(plan: Iterable[Mapping[str, Any]]) -> None:
    """Open the store, then keep one batch after another."""
    store.open_store()
    say("ready", "")
    for batch in plan:
        say("sending", batch["id"])
        store.add_entries([entry_of(key, number) for key, number in batch["entries"]])
        if batch["void"]:
            store.void(UUID(batch["void"]), "hand", "tried")
        say("kept", batch["id"])


def entry_of(key: str, number: int) -> Entry:
    """The entry with this key; its weight says which it is."""
    return Entry(key, DAY, None, "F1", Kind.WEIGHT, float(1 + number % 9000), None, "hand", "")


def say(what: str, which: object) -> None:
    """One line, out at once."""
    os.write(1, f"{what} {which}\n".encode())


if __name__ == "__main__":
    main(map(json.loads, sys.stdin))
