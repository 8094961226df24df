"""A hand in a new house: makes the store, notes, copies the store half-way; says what is done once it is."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from eggtooth.engine.colony import Animal, Sex
from eggtooth.records import store
from eggtooth.records.backups import back_up
from eggtooth.records.place import backups_folder, store_path
from validation._noter import entry_of, say


def main(plan: list[dict[str, Any]]) -> None:
    """Keep one batch after another."""
    store.open_store()
    store.save_animals([Animal("F1", Sex.FEMALE)])
    say("made", "")
    for n, batch in enumerate(plan):
        store.add_entries([entry_of(key, number) for key, number in batch["entries"]])
        if batch["void"]:
            store.void(UUID(batch["void"]), "hand", "tried")
        say("kept", batch["id"])
        if n == len(plan) // 2:
            path = store_path()
            copy, counts = back_up(path, backups_folder(path), datetime(2026, 1, 13, 12, tzinfo=UTC))
            say("copied", f"{copy.file.name} {counts.entries}")


if __name__ == "__main__":
    main([json.loads(line) for line in sys.stdin])
