"""`eggtooth import` and `export` on the command line; files spoilt in thousands of ways."""

# ruff: noqa: E501 (one line for many odd texts)

from __future__ import annotations

import json
import os
import shutil
import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from eggtooth.cli import main
from eggtooth.jobs.gather import NOTATION
from eggtooth.jobs.take_out import paths_in
from eggtooth.records import store
from eggtooth.records.files.reading import read_files
from tests.test_jobs_bring_in import ANIMALS, INCUBATORS, LOG, WISHES

FILES = {"animals": ANIMALS, "log": LOG, "wishes": WISHES, "incubators": INCUBATORS}
ON = ["--on", "2026-02-01"]


def write(folder: Path, files: dict[str, bytes]) -> list[str]:
    folder.mkdir(exist_ok=True)
    asked = []
    for name, raw in files.items():
        (folder / f"{name}.csv").write_bytes(raw)
        asked += [f"--{name}", str(folder / f"{name}.csv")]
    return asked


def encoded(**changed: bytes) -> dict[str, bytes]:
    return {name: text.encode() for name, text in FILES.items()} | changed


def test_import_then_export(fresh_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import", *write(tmp_path / "in", encoded()), *ON, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["animals"], told["entries_new"], told["refused"]) == (4, 8, [])
    assert main(["export", str(tmp_path / "out")]) == 0
    assert str(tmp_path / "out" / "log.csv") in capsys.readouterr().out
    assert main(["export", str(tmp_path / "out")]) == 1
    assert "holds something already" in capsys.readouterr().err
    assert main(["import", str(tmp_path / "out"), *ON]) == 0
    assert "8 entries (0 of them new)" in capsys.readouterr().out


def test_refusals_stand_on_stderr_one_a_line(
    fresh_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = encoded(animals=ANIMALS.replace("Pastel het Clown", "Pastel het Clwn").encode())
    assert main(["import", *write(tmp_path / "in", files), *ON]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.splitlines() == [
        'animals.csv line 3, genes: "Clwn" is not a gene here; did you mean Clown?',
        "animals.csv line 6, sire: M2 is not an animal here",
        "log.csv line 9, tag: M2 is not an animal here",
        "Nothing was imported.",
    ]
    assert store.colony().animals == {}


def test_wrong_use(fresh_store: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["import"]) == 2
    assert "nothing to import" in capsys.readouterr().err
    assert main(["import", str(tmp_path / "nowhere")]) == 2
    with pytest.raises(SystemExit, match="2"):
        main(["import", "--on", "soon"])


ODD = [
    "", "nan", "-1", "1e999", "99999999999999999999", "1,5", "12g", "2207-01-01", "1890-01-01", "01/02/2026",
    "2026-02-30", "F1", "M1|M2", "M1|", "|", "F-1", "weight", "lock", "test", "A-1-1", "--1-1", "Clwn", "het", "super",
    "50% het", "66% het Clown Pastel", "Clown Clown Clown", '"', '""', "'", "=1+1", "\t", "\r", "\n", "\x00", "\x1b[31m",
    "‮abc", "١٢", "é", "💚", "x" * 300, "x" * 140_000, "Clown 3", "Clown 1 error 200%", "7 follicle", "9" * 40 + " slugs",
    "0g", "M", "F", "male", "here", "gone", ",", ",,,", "1.", ".5", "+5", "0x10", "1_0", "Infinity", "none", "null",
]  # fmt: skip


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, bytes]:
    """The good files with one to three of them changed: a field, a column, a line or the bytes."""
    rows = {name: [line.split(",") for line in text.splitlines()] for name, text in FILES.items()}
    for _ in range(draw(st.integers(1, 3))):
        table = rows[draw(st.sampled_from(sorted(rows)))]
        line = table[draw(st.integers(0, len(table) - 1))]
        place = draw(st.integers(0, len(line) - 1))
        match draw(st.sampled_from(["field", "text", "swap", "drop", "double", "more", "less"])):
            case "field":
                line[place] = draw(st.sampled_from(ODD))
            case "text":
                line[place] = draw(st.text(max_size=12))
            case "swap":
                other = draw(st.integers(0, len(line) - 1))
                line[place], line[other] = line[other], line[place]
            case "drop":
                if len(table) > 1:
                    table.remove(line)
            case "double":
                table.append(list(line))
            case "more":
                line.insert(place, draw(st.sampled_from(ODD)))
            case _:
                if len(line) > 1:
                    del line[place]
    files = {n: "\n".join(",".join(r) for r in t).encode("utf-8", "surrogatepass") for n, t in rows.items()}
    if draw(st.integers(0, 3)) == 0:
        name = draw(st.sampled_from(sorted(files)))
        raw, cut = files[name], draw(st.integers(0, len(files[name])))
        files[name] = draw(
            st.sampled_from([raw[:cut], raw[cut:], raw[:cut] + draw(st.binary(max_size=4)) + raw[cut:]])
        )
    if draw(st.integers(0, 7)) == 0:
        one, two = draw(st.permutations(sorted(files)))[:2]
        files[one], files[two] = files[two], files[one]
    return files


@pytest.mark.sqlite
@pytest.mark.parametrize("part", range(2))
def test_spoilt_files_are_kept_or_refused_in_words(
    fresh_store: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    part: int,
) -> None:
    """Exit 0 and a colony that can be loaded, or exit 1, one clear line a fault, and the store untouched."""
    from django.db import connection

    quick = (
        "PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF"  # what a power cut would do is tried elsewhere
    )
    monkeypatch.setitem(connection.settings_dict["OPTIONS"], "init_command", quick)
    connection.close()
    empty = tmp_path / "kept.sqlite3"
    shutil.copy(fresh_store, empty)
    before = store.colony()
    ends = {0: 0, 1: 0}

    @seed(part)
    @settings(
        max_examples=200,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(spoilt(), st.booleans())
    def spoil(files: dict[str, bytes], keep_good: bool) -> None:
        good = ["--keep-good"] if keep_good else []
        code = main(["import", *write(tmp_path / f"in{part}", files), *ON, *good])
        told = capsys.readouterr()
        ends[code] += 1
        assert "Traceback" not in told.err
        if code == 1:
            *faults, last = told.err.splitlines()
            assert last == "Nothing was imported." and faults
            assert all(f.split(" line ")[0].split(":")[0].endswith(".csv") for f in faults), faults
            assert store.colony() == before
        else:
            assert main(["check", *ON]) in (0, 1)
            capsys.readouterr()
            connection.close()
            for end in ("-wal", "-shm"):
                Path(f"{fresh_store}{end}").unlink(missing_ok=True)
            shutil.copy(empty, fresh_store)

    spoil()
    assert min(ends.values()) > 10, ends
    assert os.environ["EGGTOOTH_STORE"] == str(fresh_store)


@settings(max_examples=2000, deadline=None, database=None, suppress_health_check=list(HealthCheck))
@given(spoilt())
def test_spoilt_files_are_read_or_refused_in_words(files: dict[str, bytes]) -> None:
    """The same without a store, so that many more can be tried: good values and plain refusals, never an error."""
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder), files)
        found = read_files(paths_in(Path(folder))[0], date(2026, 2, 1), notation=NOTATION)
    for refusal in found.refusals:
        assert refusal.text and str(refusal).isprintable(), str(refusal)
    found.colony()
