"""What is written reads back as the same values."""

from __future__ import annotations

import tempfile
from datetime import date, datetime
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.colony import Animal, Incubator, Sex, State, Tub, Wish
from eggtooth.engine.entries import Entry, Kind, LabTest, Prey, Sign
from eggtooth.records.files import writing
from eggtooth.records.files.log import Known, read_log
from eggtooth.records.files.reading import Paths, read_files

LATEST = date(2030, 1, 1)
TAGS = ["A", "B-1", "é 3"]
WORD = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), max_size=20).map(str.strip)
SAID = WORD.filter(bool)
PLAIN = SAID.filter(lambda t: "|" not in t and t.isprintable())
DAY = st.dates(date(1990, 1, 1), LATEST)
COUNT = st.integers(0, 99).map(float)
TENTHS = st.integers(1, 9000).map(lambda n: n / 10)
NUMBERS = {
    Kind.WEIGHT: st.floats(0.1, 99_999),
    Kind.SCAN: st.floats(0, 120),
    Kind.TEMPERATURE: st.floats(0, 60),
    **dict.fromkeys((Kind.MEAL, Kind.LAID, Kind.EGGS, Kind.PIPPED, Kind.HATCHED), COUNT),
}
NOT_GRAMS = SAID.filter(lambda t: not t.rstrip().endswith("g"))
DETAILS = {
    Kind.MEAL: st.none() | st.builds(Prey, NOT_GRAMS, st.none() | TENTHS.filter(lambda g: g <= 500)),
    Kind.SCAN: st.none() | st.integers(0, 99),
    Kind.LAID: st.none() | st.integers(0, 99),
    Kind.SIGN: st.sampled_from(list(Sign)),
    Kind.TEST: st.builds(
        LabTest, SAID, st.integers(0, 2), st.none() | st.integers(0, 50).map(lambda p: p / 100)
    ),
    Kind.MOVED: st.builds(lambda r, p: f"A-{r}-{p}", st.integers(0, 99), st.integers(0, 99)),
}
PAIRED = (Kind.PAIRED, Kind.PARTED, Kind.LOCK)


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    kind = draw(st.sampled_from(list(Kind)))
    on = draw(DAY)
    at = draw(st.none() | st.times().map(lambda t: datetime.combine(on, t)))
    tag = draw(st.sampled_from(TAGS))
    others = st.sampled_from([t for t in TAGS if t != tag])
    detail = draw(others if kind in PAIRED else DETAILS.get(kind, st.none() | SAID))
    value = draw(NUMBERS.get(kind, st.none()))
    return Entry(draw(st.uuids()).hex, on, at, tag, kind, value, detail, draw(WORD), draw(WORD))


@settings(max_examples=150, deadline=None)
@given(st.lists(entries(), max_size=8, unique_by=lambda e: e.id))
def test_logs_read_back_as_written(said: list[Entry]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_text(writing.log_text(said), encoding="utf-8", newline="")
        log = read_log(path, Known(TAGS), LATEST)
        assert log.refusals == []
        assert log.entries == said
        again = [e._replace(id="", by="", note="") for e in said]
        path.write_text(writing.log_text(said, more=False), encoding="utf-8", newline="")
        assert [e._replace(id="") for e in read_log(path, Known(TAGS), LATEST).entries] == again


ANIMALS = st.builds(
    Animal,
    tag=st.just(""),
    sex=st.sampled_from(list(Sex)),
    name=WORD,
    hatched=st.none() | DAY,
    genes=WORD,
    clutch=WORD,
    tub=st.none() | st.builds(Tub, st.sampled_from(["A", "Left-1"]), st.integers(0, 99), st.integers(0, 99)),
    state=st.sampled_from(list(State)),
    note=WORD,
)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(ANIMALS, max_size=5),
    st.lists(st.builds(Wish, SAID, st.floats(0, 1e6), st.integers(1, 100)), max_size=3),
    st.lists(st.builds(Incubator, PLAIN, st.integers(1, 99), st.floats(20, 40)),
             max_size=3, unique_by=lambda i: i.tag),
)  # fmt: skip
def test_the_other_files_read_back_as_written(
    animals: list[Animal], wishes: list[Wish], incubators: list[Incubator]
) -> None:
    from dataclasses import replace

    tagged = [replace(a, tag=f"#{n}") for n, a in enumerate(animals)]
    incubators = [i for i in incubators if not i.tag.startswith("#")]
    texts = {
        "animals": writing.animals_text(tagged),
        "wishes": writing.wishes_text(wishes),
        "incubators": writing.incubators_text(incubators),
    }
    with tempfile.TemporaryDirectory() as folder:
        for name, text in texts.items():
            (Path(folder) / name).write_text(text, encoding="utf-8", newline="")
        found = read_files(Paths(**{name: Path(folder) / name for name in texts}), LATEST)
    assert found.refusals == []
    assert (list(found.animals.values()), found.wishes, found.incubators) == (tagged, wishes, incubators)


def test_refused_lines_come_back_with_their_reason() -> None:
    text = writing.refused_text(["date", "tag"], [(["x"], "short"), (["y", "z", 'q"'], "long")])
    assert text == 'date,tag,why\nx,,short\ny,z,"q""",long\n'
