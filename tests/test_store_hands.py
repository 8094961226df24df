"""Two people at once, and a store that cannot be written: nothing lost, nothing doubled, clear words."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest

from eggtooth.cli import main
from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store


def test_many_hands_lose_and_double_nothing(fresh_store: Path) -> None:
    store.save_animals([Animal("F1", Sex.FEMALE, tub=Tub("A", 1, 1))])
    entries = [
        Entry(str(uuid4()), date(2026, 1, 13), None, "F1", Kind.WEIGHT, 1500 + i, None, f"hand {i % 4}")
        for i in range(60)
    ]

    def keep(entry: Entry) -> None:
        from django.db import connection

        store.add_entries([entry])
        store.add_entries([entry])  # a tap that was sent twice
        connection.close()

    with ThreadPoolExecutor(8) as hands:
        list(hands.map(keep, entries))
    kept = store.colony().of_animal("F1")
    assert sorted(e.value or 0 for e in kept) == sorted(e.value or 0 for e in entries)


@pytest.mark.sqlite
def test_a_store_that_cannot_be_opened_is_told_plainly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], fresh_store: Path
) -> None:
    broken = tmp_path / "broken.sqlite3"
    broken.write_bytes(b"this is no database" * 100)
    monkeypatch.setenv("EGGTOOTH_STORE", str(broken))
    with pytest.raises(SystemExit, match="1"):
        main(["round", "--on", "2026-02-04"])
    assert "broken.sqlite3" in capsys.readouterr().err


@pytest.mark.sqlite
def test_a_full_disk_is_told_plainly_and_keeps_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], fresh_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite answers SQLITE_FULL when a store reaches its largest number of pages, as on a full disk."""
    from django.db import connection

    (tmp_path / "a.csv").write_text(
        "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\nF1,,F,,,,,,,,\n"
    )
    rows = "".join(f"2026-01-13,F1,weight,{1000 + i},\n" for i in range(5000))
    (tmp_path / "l.csv").write_text("date,tag,kind,value,detail\n" + rows)
    with connection.cursor() as cursor:
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count={pages + 20}")
    code = main(
        [
            "import",
            "--animals",
            str(tmp_path / "a.csv"),
            "--log",
            str(tmp_path / "l.csv"),
            "--on",
            "2026-02-04",
        ]
    )
    assert code == 1
    assert "full" in capsys.readouterr().err
    with sqlite3.connect(fresh_store) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert not store.colony().animals


def hears_ctrl_c() -> None:
    """A run of the tests started by a shell's `&` would hand on that Ctrl-C is ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.sqlite
def test_an_import_that_is_stopped_keeps_nothing(fresh_store: Path, tmp_path: Path) -> None:
    """Ctrl-C in the midst of it, and the terminal gone: neither leaves half an import."""
    from django.db import connection

    connection.close()
    (tmp_path / "a.csv").write_text(
        "tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note\nF1,,F,,,,,,,,\n"
    )
    rows = "".join(f"2026-01-13,F1,weight,{300 + i % 3000},\n" for i in range(60_000))
    (tmp_path / "l.csv").write_text("date,tag,kind,value,detail\n" + rows)
    stop = (
        "import os, signal, sys\n"
        "from eggtooth.cli import main\n"
        "from eggtooth.records import store\n"
        "keep = store.add_entries\n"
        "def stopped(entries, noted_at=None, tell=None):\n"
        "    return keep(entries, noted_at, lambda n: os.kill(os.getpid(), int(sys.argv[1])))\n"
        "store.add_entries = stopped\n"
        "sys.exit(main(['import', '--animals', sys.argv[2], '--log', sys.argv[3], '--on', '2026-02-04']))\n"
    )
    files = [str(tmp_path / "a.csv"), str(tmp_path / "l.csv")]
    for with_signal, code in ((signal.SIGINT, 130), (signal.SIGKILL, -signal.SIGKILL)):
        words = [sys.executable, "-c", stop, str(int(with_signal)), *files]
        done = subprocess.run(
            words, capture_output=True, text=True, timeout=60, check=False, preexec_fn=hears_ctrl_c
        )
        assert done.returncode == code, done.stderr
        if with_signal == signal.SIGINT:
            assert "Stopped; nothing half-done was kept." in done.stderr
    store.open_store()
    assert not store.colony().animals and not store.entries()
