"""Import and export: all or nothing, twice is the same as once, out and in again is the same store."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.jobs.bring_in import bring_in
from eggtooth.jobs.gather import NOTATION, Refused
from eggtooth.jobs.take_out import Occupied, choices_in, paths_in, take_out
from eggtooth.records import store
from eggtooth.records.files.reading import Paths

LATEST = date(2026, 2, 1)
ANIMALS = """tag,name,sex,hatched,genes,sire,dam,clutch,tub,state,note
M1,"Rowan, the old",M,2018-06-01,Clown,,,,A-1-1,,
M2,,M,2019-06-01,Pastel het Clown,,,,A-1-2,,bought
F1,,F,2018-07-01,,,,,B-2-1,,"two
lines"
C1,,,2022-07-01,,M1|M2,F1,F1-22,,sold,
"""
LOG = """date,tag,kind,value,detail,mood
2026-01-05,F1,weight,1520,,calm
2026-01-05,F1,meal,0,medium rat,
2026-01-05,F1,meal,0,medium rat,
2026-01-06T21:30,M1,paired,,F1,
2026-01-07T07:00,M1,lock,,F1,
2026-01-08,I1,temperature,31.5,probe 1,
2026-01-09,F1,scan,18.5,7 follicles,
2026-01-10,M2,test,,Clown 1 error 2%,
"""
WISHES = "wish,weight,count\nClown Pastel,2,3\n"
INCUBATORS = "tag,places,target_c\nI1,6,31.5\n"


@pytest.fixture
def sheets(tmp_path: Path) -> Paths:
    folder = tmp_path / "sheets"
    folder.mkdir()
    texts = {"animals": ANIMALS, "log": LOG, "wishes": WISHES, "incubators": INCUBATORS}
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return Paths(**{name: folder / f"{name}.csv" for name in texts})


def past() -> tuple[object, ...]:
    return store.settings_past(), store.choices_past()


def everything() -> tuple[object, ...]:
    return store.colony(), store.entries(), store.noted_at(), store.voided(), past()


def test_the_same_files_twice_are_the_same_as_once(fresh_store: Path, sheets: Paths) -> None:
    once = bring_in(sheets, LATEST, notation=NOTATION)
    assert (once.animals, once.entries, once.entries_new, once.wishes, once.incubators) == (4, 8, 8, 1, 1)
    kept = everything()
    assert bring_in(sheets, LATEST, notation=NOTATION).entries_new == 0
    assert everything() == kept
    assert store.entries()[0].note == "mood: calm"


def test_lines_moved_about_or_added_count_once(fresh_store: Path, sheets: Paths) -> None:
    bring_in(sheets, LATEST)
    assert sheets.log
    head, *lines = LOG.splitlines(keepends=True)
    sheets.log.write_text("".join([head, *reversed(lines), "2026-01-11,F1,shed,,,\n"]))
    assert bring_in(Paths(log=sheets.log), LATEST).entries_new == 1


def test_out_and_in_again_is_the_same_store(fresh_store: Path, sheets: Paths, tmp_path: Path) -> None:
    bring_in(sheets, LATEST, notation=NOTATION)
    store.void(UUID(store.entries()[1].id), by="Ada", why="noted\ntwice")
    store.add_entries(
        [Entry(uuid4().hex, date(2026, 1, 12), None, "F1", Kind.SHED, None, None, "Ben", "=1+1")]
    )
    store.save_settings(Settings(pairing_nights=(1, 2)), by="Ada")
    store.save_settings(Settings(), by="Ben")
    store.choose("M1", "F1", "pin", by="Ada")
    store.choose("M1", "F1", "", by="Ada")
    store.choose("M2", "F1", "ban", by="Ben")
    kept = everything()
    take_out(tmp_path / "out")
    store.open_store(tmp_path / "other" / "room.sqlite3")
    paths, settings = paths_in(tmp_path / "out")
    bring_in(paths, LATEST, settings=settings, choices=choices_in(tmp_path / "out"), notation=NOTATION)
    assert everything() == kept
    bring_in(paths, LATEST, settings=settings)
    assert everything() == kept


def test_an_export_writes_over_nothing(fresh_store: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(Occupied, match="holds something already"):
        take_out(tmp_path)
    with pytest.raises(Occupied, match="holds something already"):
        take_out(tmp_path / "mine.txt")
    (tmp_path / "empty").mkdir()
    assert [f.name for f in take_out(tmp_path / "empty")] == [
        "animals.csv", "incubators.csv", "log.csv", "wishes.csv",
    ]  # fmt: skip
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith(".")) == []


def test_one_bad_line_and_nothing_is_kept(fresh_store: Path, sheets: Paths) -> None:
    assert sheets.log
    sheets.log.write_text(LOG + "2026-01-11,F-1,shed,,,\n")
    before = everything()
    with pytest.raises(Refused, match=r"log.csv line 10, tag: F-1 is not an animal here; did you mean F1?"):
        bring_in(sheets, LATEST)
    assert everything() == before


def test_an_animal_cannot_take_an_incubator_s_tag(fresh_store: Path, sheets: Paths, tmp_path: Path) -> None:
    """Found by fuzzing: it was kept, and then the house's own files were refused."""
    bring_in(sheets, LATEST)
    before = everything()
    (more := tmp_path / "more.csv").write_text(ANIMALS.splitlines()[0] + "\nI1,,,,,,,,,,\n")
    with pytest.raises(Refused, match=r"more.csv line 2, tag: I1 is the tag of an incubator"):
        bring_in(Paths(animals=more), LATEST)
    assert everything() == before


def test_the_good_lines_when_asked_for(fresh_store: Path, sheets: Paths) -> None:
    assert sheets.log
    sheets.log.write_text(LOG + "2026-01-11,F-1,shed,,,\n2026-01-12,F1,shed,,,\n")
    done = bring_in(sheets, LATEST, keep_good=True)
    assert done.entries_new == 9 and len(done.refusals) == 1
    (beside,) = done.refused_files
    assert beside.name == "log.refused.csv"
    assert beside.read_text() == (
        "date,tag,kind,value,detail,mood,why\n"
        "2026-01-11,F-1,shed,,,,F-1 is not an animal here; did you mean F1?\n"
    )


def test_a_file_that_breaks_off_is_refused_even_then(fresh_store: Path, sheets: Paths) -> None:
    assert sheets.log
    sheets.log.write_text(LOG + '2026-01-11,F1,rested,,"wor')
    with pytest.raises(Refused, match="a quote is opened and never closed"):
        bring_in(sheets, LATEST, keep_good=True)
    assert store.entries() == []


@pytest.mark.parametrize("stage", ["save_incubators", "save_wishes", "add_entries"])
def test_interrupted_it_leaves_nothing(
    fresh_store: Path, sheets: Paths, monkeypatch: pytest.MonkeyPatch, stage: str
) -> None:
    real = getattr(store, stage)

    def cut_off(*args: object) -> None:
        real(*args)
        raise KeyboardInterrupt

    before = everything()
    monkeypatch.setattr(store, stage, cut_off)
    with pytest.raises(KeyboardInterrupt):
        bring_in(sheets, LATEST)
    assert everything() == before


def test_an_entry_that_was_edited_in_an_export_is_refused(
    fresh_store: Path, sheets: Paths, tmp_path: Path
) -> None:
    bring_in(sheets, LATEST)
    take_out(tmp_path / "out")
    log = tmp_path / "out" / "log.csv"
    log.write_text(log.read_text().replace(",1520,", ",1250,"))
    before = everything()
    with pytest.raises(Refused, match="is kept here as 2026-01-05 F1 weight 1520; entries do not change"):
        bring_in(Paths(log=log), LATEST)
    assert everything() == before


@pytest.mark.parametrize(
    "text", ["", "{", "[1]", '{"a": 1}', '[{"when":"x","by":"","settings":{}}]', "[" * 100_000]
)
def test_settings_that_cannot_be_read(fresh_store: Path, tmp_path: Path, text: str) -> None:
    path = tmp_path / "settings.json"
    path.write_text(text)
    with pytest.raises(Refused, match=r"settings.json: the settings cannot be read"):
        bring_in(Paths(), LATEST, settings=path)
    assert store.settings_past() == []


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2026-01-05,F1,weight,1520,,,,,", "entry id: the entry id is missing"),
        ("2026-01-05,F1,weight,1520,", "5 fields where the header has 9"),
        (
            f"2026-01-05,F1,weight,1520,,{UUID(int=9)},keeper,yesterday,slip",
            "voided at: yesterday is not a moment",
        ),
    ],
)
def test_a_voided_line_that_says_too_little_is_refused(
    fresh_store: Path, sheets: Paths, tmp_path: Path, line: str, told: str
) -> None:
    voided = tmp_path / "voided.csv"
    head = "date,tag,kind,value,detail,entry id,voided by,voided at,why"
    voided.write_text(f"{head}\n{line}\n", encoding="utf-8")
    with pytest.raises(Refused, match=f"^voided.csv line 2(, |: ){told}"):
        bring_in(Paths(animals=sheets.animals, voided=voided), LATEST, notation=NOTATION)
    assert store.colony().animals == {}


@pytest.mark.parametrize(
    ("by", "female", "told"),
    [("keeper", "F0", "female: F0 is not an animal here"), ("\ud800", "F1", "surrogates not allowed")],
)
def test_a_pair_that_cannot_be_kept_is_a_refusal(
    fresh_store: Path, sheets: Paths, tmp_path: Path, by: str, female: str, told: str
) -> None:
    pairs = tmp_path / "pairs.json"
    said = {"when": "2026-01-01T00:00:00+00:00", "by": by, "male": "M1", "female": female, "says": "pin"}
    pairs.write_text(json.dumps([said]), encoding="utf-8")
    with pytest.raises(Refused, match=f"^pairs.json: .*{told}"):
        bring_in(sheets, LATEST, choices=pairs, notation=NOTATION)
    assert store.colony().animals == {}
