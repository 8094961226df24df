"""Bringing in a sheet of one's own: kept aside while it is looked at, then taken in as a file is."""

from __future__ import annotations

import json
import re
import secrets
import shutil
import time
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from eggtooth.jobs.bring_in import BroughtIn, bring_in
from eggtooth.jobs.gather import NOTATION
from eggtooth.records import store
from eggtooth.records.files.fields import LEEWAY
from eggtooth.records.files.reading import Paths, Reading, read_files
from eggtooth.records.place import store_path
from eggtooth.records.sheets.matching import Match, as_file
from eggtooth.records.sheets.opening import BOOKS, TEXTS, Sheet, as_its_ending_says, open_sheet

KEPT_S = 24 * 3600
_KEY = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Preview:
    """What taking a sheet in would do: how many good lines, how many new animals, and everything refused."""

    reading: Reading
    new: int


def lay_aside(name: str, data: bytes) -> str:
    """Keep an uploaded file for a day under a key nobody can guess; returns the key. Raises `Unfit`."""
    as_its_ending_says(_bare(name), data)
    open_sheet(_plain(name), data)
    _sweep()
    key = secrets.token_hex(16)
    folder = _folder() / key
    folder.mkdir(parents=True, mode=0o700)
    (folder / "sheet").write_bytes(data)
    (folder / "name").write_text(json.dumps(_plain(name)), encoding="utf-8")
    return key


def laid_aside(key: str) -> Sheet:
    """The sheet with this key. Raises `LookupError` when it is gone."""
    folder = _folder() / key
    if not _KEY.fullmatch(key) or not (folder / "sheet").is_file():
        raise LookupError("this sheet is no longer here; upload it again")
    name = json.loads((folder / "name").read_text(encoding="utf-8"))
    return open_sheet(name, (folder / "sheet").read_bytes())


def preview(sheet: Sheet, match: Match, key: str, on: date) -> Preview:
    """Read the sheet as the file it is matched to, and keep nothing."""
    kept = store.colony()
    found = read_files(_paths(sheet, match, key), on + LEEWAY, kept, NOTATION)
    return Preview(found, len(found.animals.keys() - kept.animals.keys()))


def take_in(sheet: Sheet, match: Match, key: str, on: date, keep_good: bool) -> BroughtIn:
    """Take the sheet in: all its lines, or with `keep_good` the good ones. Raises `Refused`."""
    paths = _paths(sheet, match, key)
    return bring_in(paths, on + LEEWAY, keep_good=keep_good, notation=NOTATION)


def put_away(key: str) -> None:
    """Forget a sheet."""
    if _KEY.fullmatch(key):
        shutil.rmtree(_folder() / key, ignore_errors=True)


def _paths(sheet: Sheet, match: Match, key: str) -> Paths:
    """The sheet as a csv file beside its upload, under its own name, so that refusals speak of it."""
    path = _folder() / key / f"{sheet.name}.csv"
    path.write_text(as_file(sheet, match), encoding="utf-8", newline="")
    return Paths(animals=path) if match.role == "animals" else Paths(log=path)


def _folder() -> Path:
    return store_path().absolute().with_suffix(".uploads")


def _plain(name: str) -> str:
    """The file's own name, without folders, signs a file system minds, and its ending."""
    return re.sub(rf"\.({'|'.join(TEXTS + BOOKS)})$", "", _bare(name), flags=re.I)[:80] or "sheet"


def _bare(name: str) -> str:
    """The file's own name with its ending."""
    return re.sub(r"[^\w .-]+", "_", name.replace("\\", "/").rsplit("/", 1)[-1]).strip(" .")


def _sweep() -> None:
    """Forget sheets older than a day."""
    for old in _folder().glob("*"):
        if time.time() - old.stat().st_mtime > KEPT_S:
            shutil.rmtree(old, ignore_errors=True)
