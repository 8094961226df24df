"""Every page of a house of 5,000 animals and 2,000,000 entries against its bare SQL in the same run.

For each page: processor time the first time (nothing kept from before), again, and after one more meal was
noted; its size without compression and its number of queries when asked again. Bare SQL is what the page
itself sends, run by the driver alone with `fetchall`: all it sends the first time, and all it sends again.

Run: OMP_NUM_THREADS=1 python -m benchmarks pages (python -m benchmarks.pages round season: these alone).
"""

from __future__ import annotations

import gc
import os
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from statistics import median
from types import SimpleNamespace
from typing import Any, NamedTuple
from urllib.parse import urlencode
from uuid import UUID, uuid4

from benchmarks.large_house import ON, large_house

HERE = {"HTTP_HOST": "127.0.0.1"}
NOTES, AGAIN = 21, 5
WANTED_RATIO, WANTED_KB = 5, 150
LEAST_MS = 2.0
"""Below this a ratio says nothing: the page sends next to no SQL."""
WORKED_OUT_WHEN_ASKED = {"plan", "review", "rates"}
"""In a house of this size. Their first line is of the page that asks, the others of the answer kept."""
Statements = list[tuple[str, Any]]


class Seen(NamedTuple):
    """One answer: seconds of processor time, bytes, and the statements sent for it."""

    seconds: float
    size: int
    sent: Statements


def main(wanted: Iterable[str] = ()) -> int:
    """Print a line a page; 1 when the round is too heavy or a page too slow."""
    os.environ |= {"EGGTOOTH_SIGN_IN": "0", "EGGTOOTH_TODAY": ON.isoformat()}
    with tempfile.TemporaryDirectory() as folder:
        house = _a_copy(large_house(), Path(folder))
        from eggtooth.cli.serve import RARELY

        gc.set_threshold(*RARELY)
        pages = {n: p for n, p in addresses().items() if not list(wanted) or n in list(wanted)}
        print(
            f"{'page':<14}{'first':>8}{'/bare':>7}{'again':>9}{'/bare':>7}{'noted':>9}{'kB':>7}{'queries':>9}"
        )
        missed = [name for name, path in pages.items() if not measured(name, path, house)]
        print(f"processor time in ms; memory {memory_mb():.0f} MB")
        notes()
    if missed:
        print(f"over {WANTED_RATIO} times the bare SQL, or over {WANTED_KB} kB: {', '.join(missed)}")
    return int(bool(missed))


def _a_copy(house: Path, folder: Path) -> Path:
    """The run notes things, so it works on a copy."""
    from eggtooth.records import store

    for end in ("", ".key"):
        shutil.copy(f"{house}{end}", folder / f"house.sqlite3{end}")
    return store.open_store(folder / "house.sqlite3")


def addresses() -> dict[str, str]:
    """An address for each page that shows something, by its name in `web/urls.py`."""
    from eggtooth.web.urls import urlpatterns

    female, entry = _a_female(), _an_entry()
    given = {
        "tub": f"tub/{female.tub}",
        "animal": f"animal/{female.tag}",
        "animal-note": f"animal/{female.tag}/note",
        "animal-edit": f"animal/{female.tag}/edit",
        "photos": f"animal/{female.tag}/photos",
        "papers": f"animal/{female.tag}/papers",
        "cross": f"cross?sire=Clown&dam={female.tag}",
        "entry": f"records/{UUID(entry)}",
        "labels": "labels?what=tubs",
    }
    left_out = {
        "note",
        "note-entry",
        "undo",
        "entry-correct",
        "sign-out",
        "look-around",
        "leave",
        "choose",
        "go-by",
        "again",
        "take",
        "calendar",
    }
    left_out |= {
        "rates-choose",
        "first-password",
        "photo",
        "photo-remove",
        "labels-pdf",
        "bring-sheet",
        "certificate",
        "hatch",
    }
    names = [p.name for p in urlpatterns if getattr(p, "name", None) and p.name not in left_out]
    plain = {p.name: str(p.pattern) for p in urlpatterns if getattr(p, "name", None)}
    found = {name: "/" + given.get(name, plain[name]) for name in names}
    found["round"] = f"/?{urlencode({'rack': _longest_rack()})}"
    return found | {"records-all": "/records", "records-one": f"/records?tag={female.tag}&kind=weight"}


def _longest_rack() -> str:
    """The rack with most lines: its page is the heaviest of the round."""
    from eggtooth.jobs.day import day
    from eggtooth.web.walk import rack_of

    return Counter(rack_of(task) for task in day(ON).round.tasks).most_common(1)[0][0]


def _a_female() -> Any:
    from eggtooth.records import models

    row = models.Animal.objects.filter(sex="F", state="here", tub__isnull=False).exclude(dam=None)
    found = row.select_related("tub__rack").order_by("id").first()
    assert found and found.tub
    tub = f"{found.tub.rack.name}-{found.tub.row}-{found.tub.place}"
    return SimpleNamespace(tag=found.tag, tub=tub)


def _an_entry() -> str:
    from eggtooth.records import models

    return models.Entry.objects.order_by("-seq").values_list("key", flat=True)[0].hex


def measured(name: str, path: str, house: Path) -> bool:
    """Print one page's line; whether it is as quick and as light as wanted."""
    forget()
    first = asked(path)
    if name in WORKED_OUT_WHEN_ASKED:
        print(f"{name:<14}{asked(f'{path}?work=out').seconds * 1000:8.0f} to work it out, when asked")
    again = min((asked(path) for _ in range(AGAIN)), key=lambda seen: seen.seconds)
    note_a_meal()
    noted = asked(path)
    bare_first, bare_again = bare(first.sent, house), bare(again.sent, house)
    ratios = [
        s / b if b * 1000 > LEAST_MS else None for s, b in ((first[0], bare_first), (again[0], bare_again))
    ]
    told = [f"{r:7.1f}" if r else f"{'-':>7}" for r in ratios]
    print(
        f"{name:<14}{first[0] * 1000:8.0f}{told[0]}{again[0] * 1000:9.1f}{told[1]}{noted[0] * 1000:9.0f}"
        f"{again.size / 1000:7.0f}{len(again.sent):9}",
        flush=True,
    )
    return all(r is None or r < WANTED_RATIO for r in ratios) and again.size < WANTED_KB * 1000


def forget() -> None:
    """Make the process as new: nothing kept."""
    from eggtooth.jobs import family_kept, keeping_answers
    from eggtooth.jobs.long_work import here
    from eggtooth.records import standing
    from eggtooth.web import drawn

    drawn.forget()
    standing.forget()
    keeping_answers.forget()
    here.forget()
    family_kept.forget()
    gc.collect()


def asked(path: str) -> Seen:
    """Ask for a page once."""
    from django.db import connection
    from django.test import Client

    sent: Statements = []

    def listen(execute: Callable[..., Any], sql: str, values: Any, many: bool, context: Any) -> Any:
        sent.append((sql, values))
        return execute(sql, values, many, context)

    client = Client()
    with connection.execute_wrapper(listen):
        begun = time.process_time()
        answer = client.get(path, **HERE)
        content = answer.getvalue()
        seconds = time.process_time() - begun
    assert answer.status_code == 200, (path, answer.status_code, content[:300])
    return Seen(seconds, len(content), sent)


def bare(sent: Statements, house: Path) -> float:
    """Seconds of processor time for the same statements by the driver alone; the least of some runs."""
    raw = sqlite3.connect(house, isolation_level=None)
    raw.execute("PRAGMA cache_size=-65536")
    ready = [(sql.replace("%s", "?"), _plain(values)) for sql, values in sent]
    times = list[float]()
    while len(times) < AGAIN and sum(times) < 1:
        begun = time.process_time()
        for sql, values in ready:
            raw.execute(sql, values).fetchall()
        times.append(time.process_time() - begun)
    raw.close()
    return min(times)


def _plain(values: Any) -> list[Any]:
    return [
        v.hex if isinstance(v, UUID) else v.isoformat() if isinstance(v, date) else v for v in values or ()
    ]


def note_a_meal(tag: str = "") -> float:
    """Note one meal as a tap of the round does; seconds on the clock."""
    from django.test import Client

    client, tap = Client(), f"{uuid4().hex}|ate1|{tag or _a_female().tag}|"
    begun = time.perf_counter()
    answer = client.post("/note", {"on": ON.isoformat(), "tap": tap}, HTTP_ACCEPT="application/json", **HERE)
    assert answer.status_code == 200, answer.content
    return time.perf_counter() - begun


def notes() -> None:
    """Print how long noting takes, on the clock, as the hand feels it."""
    times = sorted(note_a_meal() for _ in range(NOTES))
    p50, slowest = median(times) * 1000, times[-1] * 1000
    print(f"one note: p50 {p50:.1f} ms, slowest of {NOTES} {slowest:.1f} ms, on the clock")


def memory_mb() -> float:
    """Memory of this process now, in MB (Linux)."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
