"""Readers that keep: imports, uploads, typed lines and requests, each against a throw-away house.

After each input that kept anything the house is put back. What was refused must have kept nothing, and what
was kept must come out of the house as files that read back the same.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from validation._fuzz_readers import CSV_PARTS, LATEST, MEMORY, PART, Fault, must, told

ON = date(2026, 1, 13)
MACHINERY = ("django_", "sqlite_", "auth_")
NOT_SENT = ("/look-around", "/leave")
"""Addresses that start or stop a process."""


class House:
    """A small house in a file of its own, with a second connection that sees when anything was kept."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "room.sqlite3"
        os.environ |= {"EGGTOOTH_STORE": str(self.path), "EGGTOOTH_SIGN_IN": "0", "EGGTOOTH_TODAY": str(ON)}
        for name in ("EGGTOOTH_DATABASE", "EGGTOOTH_BACKUPS", "EGGTOOTH_SECRET_KEY"):
            os.environ.pop(name, None)
        from eggtooth.records import store

        store.open_store(self.path)
        self._quick()
        self._furnish()
        self.close()
        self.first = folder / "first"
        with sqlite3.connect(self.path) as kept:
            kept.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(self.path, self.first)
        self.open()

    def _quick(self) -> None:
        """What a power cut would do is tried elsewhere; slow passwords, too."""
        from django.conf import settings
        from django.db import connection

        quick = "PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF"
        connection.settings_dict["OPTIONS"]["init_command"] = quick
        connection.close()
        settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

    def _furnish(self) -> None:
        from eggtooth.jobs.bring_in import bring_in
        from eggtooth.jobs.gather import NOTATION
        from eggtooth.jobs.take_out import paths_in
        from validation._fuzz_corpus import FILES

        with tempfile.TemporaryDirectory() as folder:
            for name, text in FILES.items():
                (Path(folder) / name).write_text(text)
            bring_in(paths_in(Path(folder))[0], LATEST, notation=NOTATION)

    def open(self) -> None:
        """Look at the file with a connection of one's own."""
        self.looking = sqlite3.connect(self.path)
        self.version, self.said = self._version(), self.dump()

    def close(self) -> None:
        """End Django's connection."""
        from django.db import connection

        connection.close()

    def _version(self) -> int:
        return int(self.looking.execute("PRAGMA data_version").fetchone()[0])

    def dump(self) -> list[str]:
        """Everything kept, without sessions and the like."""
        return [line for line in self.looking.iterdump() if not line.startswith(_machinery())]

    def changed(self) -> bool:
        """Whether anything of the house is other than it was."""
        return self._version() != self.version and self.dump() != self.said

    def put_back(self) -> None:
        """The house as it was at first."""
        from eggtooth.records import standing

        if self._version() != self.version:
            self.close()
            self.looking.close()
            shutil.copy(self.first, self.path)
            standing.forget()
            self.open()


@cache
def _machinery() -> tuple[str, ...]:
    return tuple(f'INSERT INTO "{name}' for name in MACHINERY)


@cache
def house() -> House:
    """The house of this process."""
    return House(Path(tempfile.mkdtemp(prefix="fuzz-house-", dir=MEMORY)))


def _kept_or_refused(send: Callable[[], bool]) -> None:
    """`send` says whether it was refused; then nothing is kept, else what is kept can be taken out."""
    here = house()
    try:
        refused = send()
        if here.changed():
            must(not refused, "what was refused has changed the house")
            _comes_out()
            _is_shown()
    finally:
        here.put_back()


def _comes_out() -> None:
    """The house taken out reads back with nothing refused, and says the same."""
    from eggtooth.jobs.gather import NOTATION
    from eggtooth.jobs.take_out import paths_in, texts
    from eggtooth.records import store
    from eggtooth.records.files.reading import read_files

    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        for name, text in texts().items():
            (Path(folder) / name).write_text(text, encoding="utf-8", newline="")
        found = read_files(paths_in(Path(folder))[0], date(2101, 1, 1), notation=NOTATION)
    must(not found.refusals, f"what is kept is refused when taken out: {found.refusals[:1]}")
    must(found.entries == store.entries(), "entries come out of the house otherwise than they are kept")
    must(found.animals == dict(store.colony().animals), "animals come out otherwise than they are kept")


def _is_shown() -> None:
    """The pages of a house that took something in still open."""
    from django.test import Client

    for address in ("/", "/room", "/records"):
        answer = Client().get(address, HTTP_HOST="127.0.0.1")
        must(answer.status_code == 200, f"{address} answers {answer.status_code} afterwards")


def read_import(data: bytes) -> None:
    """The files of a house brought into one, parted as for the reader `csv`; settings and pairs too."""
    from eggtooth.jobs.bring_in import bring_in
    from eggtooth.jobs.gather import NOTATION, Refused
    from eggtooth.jobs.take_out import paths_in

    parts = dict(zip(CSV_PARTS, data[1:].split(PART, len(CSV_PARTS) - 1), strict=False))

    def send() -> bool:
        with tempfile.TemporaryDirectory(dir=MEMORY) as name:
            folder = Path(name)
            for file, raw in parts.items():
                if raw:
                    (folder / file).write_bytes(raw)
            settings, choices = (p if (p := folder / n).is_file() else None for n in CSV_PARTS[-2:])
            try:
                bring_in(
                    paths_in(folder)[0],
                    LATEST,
                    settings=settings,
                    choices=choices,
                    keep_good=data[:1] == b"g",
                    notation=NOTATION,
                )
            except Refused as refused:
                _told(refused.refusals)
                return True
        return False

    _kept_or_refused(send)


def _told(refusals: Any) -> None:
    must(refusals, "a refusal without words")
    told(r for r in refusals if r.file.endswith(".csv") and r.column != "entry id")
    for r in refusals:
        must(r.file and r.text.strip() and str(r).isprintable(), f"a refusal without words: {r!r}")


def read_upload(data: bytes) -> None:
    """A file's name, a line break and its bytes, uploaded and taken in; or, after `T`, lines typed."""
    _kept_or_refused(lambda: _typed(data[1:]) if data[:1] == b"T" else _uploaded(data))


def _uploaded(data: bytes) -> bool:
    from eggtooth.jobs.gather import Refused
    from eggtooth.jobs.upload import laid_aside, lay_aside, preview, put_away, take_in
    from eggtooth.records.sheets.matching import guess
    from eggtooth.records.sheets.opening import Unfit
    from validation._fuzz_readers import packed

    name, _, raw = data.partition(b"\n")
    if raw[:1] == b"X":
        raw = packed(raw[1:].split(PART))
    try:
        key = lay_aside(name.decode("utf-8", "replace"), raw)
    except Unfit as wrong:
        must(len(str(wrong)) > 10, f"a refusal without words: {wrong}")
        return True
    try:
        sheet = laid_aside(key)
        match = guess(sheet)
        told(preview(sheet, match, key, ON).reading.refusals)
        take_in(sheet, match, key, ON, keep_good=name.endswith(b"g"))
    except Refused as refused:
        _told(refused.refusals)
        return True
    finally:
        put_away(key)
    return False


def _typed(data: bytes) -> bool:
    from eggtooth.jobs.typed import FIELDS, Changed, save_changed

    texts = [part.decode("utf-8", "replace") for part in data.split(PART)]
    row = dict(zip(FIELDS, texts, strict=False))
    was = dict(zip(FIELDS, texts[len(FIELDS) :], strict=False))
    try:
        refusals = save_changed(row, was, ON)
    except Changed as wrong:
        must(len(str(wrong)) > 10, f"a refusal without words: {wrong}")
        return True
    for r in refusals:
        must(r.text.strip() and str(r).isprintable(), f"a refusal without words: {r!r}")
    return bool(refusals)


def read_http(data: bytes) -> None:
    """`METHOD ADDRESS TYPE`, a line break and the body, through every layer of the pages in this process."""
    head, _, body = data.partition(b"\n")
    words = [w.decode("latin-1") for w in head.split(b" ")]
    method, address = words[0].upper(), words[1] if len(words) > 1 else "/"
    kind = words[2] if len(words) > 2 else "application/x-www-form-urlencoded"
    if method in ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS") and address.startswith("/"):
        _kept_or_refused(lambda: _sent(method, address, kind, body))


def _sent(method: str, address: str, kind: str, body: bytes) -> bool:
    from django.test import Client

    path, _, query = address.partition("?")
    if path.startswith(NOT_SENT):
        return True
    path = path.replace("[", "%5B").replace("]", "%5D")  # the client here takes them for an address of IPv6
    more = {"HTTP_HOST": "127.0.0.1", "QUERY_STRING": query}
    answer = Client().generic(method, path or "/", body, content_type=kind.strip() or "text/plain", **more)
    said = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
    if answer.status_code >= 500:
        raise Fault(f"{answer.status_code}: {said[:300]!r}")
    wordless = method in ("HEAD", "OPTIONS") or answer.status_code == 405  # the header Allow says it
    must(answer.status_code < 400 or wordless or said.strip(), f"{answer.status_code} without words")
    return answer.status_code >= 400 or method in ("GET", "HEAD", "OPTIONS")
