"""A page over PostgreSQL with the copy a process keeps, against reading the whole store for it.

The rival is the same page in the same run with the copy thrown away first, as it would be without one. Beside
it: what the copy costs when nothing was noted, and when one meal was.

Run: OMP_NUM_THREADS=1 python -m benchmarks kept_copy
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median
from uuid import uuid4

import numpy as np

from eggtooth.engine.entries import Entry, Kind

ON = date(2026, 2, 4)
ANIMALS, YEARS, RUNS = 600, 3, 7
HERE = {"HTTP_HOST": "127.0.0.1"}


def main(animals: int = ANIMALS) -> int:
    """Print milliseconds and ratios; 1 when a page is not quicker with the copy."""
    from validation._postgres import server

    os.environ |= {"EGGTOOTH_SIGN_IN": "0", "EGGTOOTH_TODAY": ON.isoformat()}
    with server(safe=False) as started, tempfile.TemporaryDirectory() as folder:
        os.environ["EGGTOOTH_STORE"] = str(Path(folder) / "room.sqlite3")
        os.environ["EGGTOOTH_DATABASE"] = started.make("room")
        entries = _filled(animals)
        print(f"PostgreSQL, {animals} animals, {entries:,} entries; wall time in ms, the middle of {RUNS}")
        slower = [name for name, page in _pages().items() if not _measured(name, page)]
        from django.db import connection

        connection.close()
    return int(bool(slower))


def _filled(animals: int) -> int:
    from eggtooth.engine.simulate.colony import simulate_colony
    from eggtooth.jobs.invent import noted_once
    from eggtooth.records import store

    store.open_store()
    lived = simulate_colony(np.random.default_rng(1), animals=animals, years=YEARS, until=ON).colony
    store.save_incubators(lived.incubators.values())
    store.save_wishes(lived.wishes)
    store.save_animals(lived.animals.values())
    return store.add_entries(noted_once(lived))


def _pages() -> dict[str, Callable[[], object]]:
    from django.test import Client

    from eggtooth.records import store

    tag = next(iter(store.colony().animals))

    def page(path: str) -> Callable[[], object]:
        return lambda: Client().get(path, **HERE).content

    return {"colony alone": store.colony, "animal": page(f"/animal/{tag}"), "round": page("/")}


def _measured(name: str, page: Callable[[], object]) -> bool:
    from eggtooth.records import standing

    page()
    anew = _middle(page, standing.forget)
    same = _middle(page, lambda: None)
    noted = _middle(page, _a_meal)
    print(
        f"{name:<14}read anew {anew:8.1f}   nothing new {same:7.1f} ({anew / same:5.1f} times quicker)"
        f"   one meal noted {noted:7.1f} ({anew / noted:5.1f})",
        flush=True,
    )
    return anew > noted


def _middle(page: Callable[[], object], before: Callable[[], None]) -> float:
    times = []
    for _ in range(RUNS):
        before()
        begun = time.perf_counter()
        page()
        times.append(time.perf_counter() - begun)
    return 1000 * median(times)


def _a_meal() -> None:
    from eggtooth.records import store

    tag = next(iter(store.colony().animals))
    store.add_entries([Entry(uuid4().hex, ON, None, tag, Kind.MEAL, 1.0, None)])


if __name__ == "__main__":
    raise SystemExit(main())
