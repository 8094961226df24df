"""Long work as a page asks for it: through the queue and a worker over PostgreSQL, at once over a file.

Those with the fixture `queued` run over PostgreSQL (`EGGTOOTH_TEST_DATABASE=postgresql`), with workers that
are processes of their own.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.test import Client

from eggtooth.cli import main
from eggtooth.engine.colony import Animal, Sex, Tub, Wish
from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs.gather import Source, from_store
from eggtooth.jobs.generations import Asked, task_of
from eggtooth.jobs.long_work import hand, queue, shelf
from eggtooth.jobs.long_work.questions import Question, plan_asked, routes_asked, state
from eggtooth.records import store

HERE = {"HTTP_HOST": "127.0.0.1"}
ON = date(2025, 12, 1)
MASS_G = {"M1": 800, "M2": 820, "F1": 1900, "F2": 1800}
GENES = {"M1": "Clown", "M2": "Piebald", "F1": "Clown", "F2": "het Piebald"}
WAIT_SECONDS = 180


@pytest.fixture
def house(fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two males and two females, fit, in December; two wishes."""
    monkeypatch.setenv("EGGTOOTH_TODAY", ON.isoformat())
    store.save_animals(
        Animal(tag, Sex(tag[0]), "", date(2019, 6, 1), GENES[tag], tub=Tub("A", 1, k))
        for k, tag in enumerate(MASS_G, 1)
    )
    store.add_entries(note(tag, Kind.WEIGHT, float(g), ON - timedelta(10)) for tag, g in MASS_G.items())
    store.save_wishes([Wish("Clown", 3.0, 2), Wish("Piebald", 2.0, 1)])


@pytest.fixture
def queued(house: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    if "EGGTOOTH_DATABASE" not in os.environ:
        pytest.skip("over a file there is no queue (EGGTOOTH_TEST_DATABASE=postgresql tries this)")
    monkeypatch.delenv("EGGTOOTH_WORK")
    queue.close()
    with psycopg_connection() as connection:
        connection.execute(f"DROP SCHEMA IF EXISTS {queue.SCHEMA} CASCADE")
    yield
    queue.close()


def psycopg_connection() -> object:
    import psycopg

    return psycopg.connect(os.environ["EGGTOOTH_DATABASE"], autocommit=True)


def note(tag: str, kind: Kind, value: float | None = None, on: date = ON) -> Entry:
    return Entry(uuid4().hex, on, None, tag, kind, value, None)


def page(path: str = "/plan", status: int = 200) -> tuple[str, str | None]:
    """A page, and after how many seconds it is loaded again."""
    answer = Client().get(path, **HERE)
    assert answer.status_code == status, answer.content
    return answer.content.decode(), answer.headers.get("Refresh")


def work_once() -> str:
    said = subprocess.run(
        [sys.executable, "-m", "eggtooth", "work", "--once"],
        capture_output=True,
        text=True,
        timeout=WAIT_SECONDS,
    )
    assert said.returncode == 0, said.stderr
    return said.stdout


WORKER = """
import sys
from eggtooth.jobs.gather import open_store
from eggtooth.jobs.long_work import worker
open_store()
worker.work(print, once=True, hand=(sys.executable, "-c", sys.argv[1]))
"""
"""A worker whose work is done by another process than usual."""

SLEEPS = "import sys; sys.stdin.read()"
DIES = "import os, sys; sys.stdin.readline(); os.kill(os.getpid(), 9)"
BREAKS = """
from eggtooth.jobs.long_work import hand, questions
def breaks(*asked):
    raise RuntimeError("the solver gave up")
questions.WAYS["plan"] = questions.Way(breaks)
hand.main()
"""


def worker(by: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", WORKER, by], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + WAIT_SECONDS
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.1)


def waiting() -> list[tuple[str, int]]:
    with queue.connected() as connection:
        found = connection.execute(
            "SELECT status::text, attempts FROM procrastinate_jobs ORDER BY id"
        ).fetchall()
        return [tuple(row) for row in found]


def test_a_page_answers_at_once_and_shows_the_answer_when_it_is_there(
    queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    said, again = page()
    assert "No worker is running" in said and "eggtooth work" in said and again == "15"
    page()
    assert waiting() == [("todo", 0)], "asked twice, it waits once"
    assert "working out: plan on 2025-12-01" in work_once()
    said, again = page()
    assert again is None and "No plan within the rules is worth more" in said and 'id="work"' not in said
    monkeypatch.setenv("EGGTOOTH_WORK", "here")
    assert without_keys(said) == without_keys(page()[0]), "the same as worked out while the page waits"
    assert waiting() == []


def without_keys(said: str) -> str:
    """A page without the token that each form has."""
    return "\n".join(line for line in said.splitlines() if "csrfmiddlewaretoken" not in line)


def test_an_answer_is_not_shown_as_fresh_once_something_is_noted(queued: None) -> None:
    page()
    work_once()
    store.add_entries([note("F1", Kind.DIED)])
    said, again = page()
    assert "since then something was noted or changed" in said and 'id="F1"' in said and again is None
    refused = Client().post("/plan/go-by", {"says": "plan"}, **HERE)
    assert refused.status_code == 409 and store.settings().season_plan == ""
    work_once()
    said, _ = page()
    assert 'id="work"' not in said and 'id="F1"' not in said
    assert Client().post("/plan/go-by", {"says": "plan"}, **HERE).status_code == 302
    assert store.settings().season_plan


def test_routes_stay_when_what_was_noted_does_not_bear_on_them(queued: None) -> None:
    path = "/routes?wish=Clown&seasons=1"
    assert "Looking takes up to 60 seconds" in page(path)[0]
    work_once()
    store.add_entries([note("F1", Kind.MEAL, 1.0)])
    said, _ = page(path)
    assert 'id="work"' not in said and "every route there is was looked at" in said.lower()
    store.add_entries([note("M1", Kind.DIED)])
    assert "since then something was noted" in page(path)[0]


def test_work_whose_worker_was_killed_is_begun_again(queued: None) -> None:
    page()
    sleepy = worker(SLEEPS)
    until(lambda: waiting() == [("doing", 0)])
    said, again = page()
    assert "This is being worked out" in said and again == "3"
    sleepy.kill()
    sleepy.communicate()
    with queue.connected() as connection:  # as it is half a minute later
        connection.execute("UPDATE procrastinate_workers SET last_heartbeat = now() - interval '40 s'")
    assert "No worker is running" in page()[0]
    assert "taken up again: plan" in work_once()
    assert "No plan within the rules is worth more" in page()[0]


def test_work_that_has_taken_three_workers_along_is_given_up(queued: None) -> None:
    page()
    with queue.connected() as connection:
        connection.execute("UPDATE procrastinate_jobs SET status = 'doing', attempts = 2")
    assert "given up" in work_once()
    assert "its worker ended 3 times while it worked on this" in page()[0]


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (BREAKS, "RuntimeError: the solver gave up"),
        (DIES, "the process that worked on it ended by itself (-9)"),
    ],
    ids=["breaks", "dies"],
)
def test_what_failed_is_told_and_tried_again_when_asked(queued: None, by: str, words: str) -> None:
    page()
    assert worker(by).communicate(timeout=WAIT_SECONDS) and waiting() == []
    said, again = page()
    assert f"Working this out failed: {words}" in said and again is None
    page()
    assert waiting() == [], "it is not tried again by itself"
    question = said.split('name="question" value="')[1].split('"')[0]
    answer = Client().post("/work/again", {"question": question, "back": "/plan"}, **HERE)
    assert answer.status_code == 302 and "waits" in page()[0]
    work_once()
    assert "No plan within the rules is worth more" in page()[0]


def test_what_cannot_be_asked_is_refused_in_words(queued: None) -> None:
    page("/plan?without=NOBODY")
    work_once()
    assert "NOBODY is not an animal here" in page("/plan?without=NOBODY", 422)[0]


def test_two_workers_do_one_question_once(queued: None, tmp_path: Path) -> None:
    log = tmp_path / "worked"
    by = f"""
from eggtooth.jobs.long_work import hand, questions
real = questions.WAYS["plan"].work
def told(*asked):
    with open({str(log)!r}, "a") as out:
        out.write("x")
    return real(*asked)
questions.WAYS["plan"] = questions.Way(told)
hand.main()
"""
    for _ in range(3):
        page()
    both = [worker(by), worker(by)]
    page()
    assert [one.communicate(timeout=WAIT_SECONDS) and one.returncode for one in both] == [0, 0]
    page()
    assert log.read_text() == "x" and waiting() == []


def test_an_older_queue_is_brought_up_to_date_and_a_present_one_left(queued: None) -> None:
    last = "procrastinate_trigger_function_status_events_update_v1"
    with queue.connected() as connection:
        queue.make(connection)
        connection.execute(f"DROP FUNCTION {last} CASCADE")
        connection.execute("DELETE FROM seen WHERE change LIKE '03.04.00_50%'")
        queue.make(connection)
        (there,) = connection.execute("SELECT to_regproc(%s) IS NOT NULL", [last]).fetchone()
    assert there


def test_back_leads_to_a_page_here_only(house: None) -> None:
    for back in ("https://elsewhere.example/", "//elsewhere.example", "plan", ""):
        assert Client().post("/work/again", {"question": "x", "back": back}, **HERE).status_code == 400
    assert Client().post("/work/again", {"question": "x", "back": "/plan"}, **HERE).status_code == 302


def test_an_answer_that_was_not_signed_here_is_not_opened(house: None) -> None:
    signed = shelf.closed({"all": "well"})
    assert shelf.opened(signed) == {"all": "well"}
    assert shelf.opened(signed[:40] + bytes([signed[40] ^ 1]) + signed[41:]) is None
    assert shelf.opened(bytes(32) + signed[32:]) is None
    assert shelf.opened(b"") is None


STATE = """
from datetime import date
from eggtooth.jobs.gather import from_store, open_store
from eggtooth.jobs.long_work.questions import plan_asked, state
open_store()
print(state(plan_asked({}, [], date(2025, 12, 1)), from_store()))
"""


def test_every_process_tells_the_state_alike(house: None) -> None:
    mine = state(plan_asked({}, [], ON), from_store())
    for seed in ("1", "2"):
        theirs = subprocess.run(
            [sys.executable, "-c", STATE],
            capture_output=True,
            text=True,
            env=os.environ | {"PYTHONHASHSEED": seed},
        )
        assert theirs.stdout.strip() == mine, theirs.stderr


def test_rates_are_worked_out_when_asked_and_stay_when_they_are_used(queued: None) -> None:
    store.add_entries(
        [note("F1", Kind.SCAN, 25.0, ON - timedelta(300)), note("F1", Kind.LAID, 5.0, ON - timedelta(240))]
    )
    assert page("/rates")[1] is None and "done: lesson" not in work_once(), "nobody asked"
    html, seconds = page("/rates?work=out")
    assert "No worker is running" in html and seconds
    assert "done: lesson" in work_once()
    html, seconds = page("/rates")
    assert "1 finished season tells something" in html and seconds is None
    found = re.search(r'name="rates" value="([^"]*)"', html)
    assert found
    said = {"says": "use", "seen": "0", "rates": found[1].replace("&quot;", '"')}
    assert Client().post("/rates/choose", said, **HERE).status_code == 302
    html, _ = page("/rates")
    assert "Forecasts go by what the seasons here say" in html and "Work out" not in html
    assert "done" not in work_once()


def test_whatever_changes_makes_another_state(house: None) -> None:
    question = plan_asked({}, [], ON)
    seen = [state(question, from_store())]
    entry = note("F1", Kind.MEAL, 1.0)
    changes: list[Callable[[], object]] = [
        lambda: store.add_entries([entry]),
        lambda: store.save_animals([replace(store.colony().animals["F2"], genes="")]),
        lambda: store.save_wishes([Wish("Clown", 1.0, 2)]),
        lambda: store.choose("M1", "F1", "ban", "Ada"),
        lambda: store.save_settings(replace(store.settings(), female_floor_months=30), "Ada"),
    ]
    for change in changes:
        change()
        seen.append(state(question, from_store()))
    assert len(set(seen)) == len(seen)
    from uuid import UUID

    before = seen[-1]
    another = note("F1", Kind.MEAL, 2.0)
    store.add_entries([another])
    store.void(UUID(another.id), "Ada", "slip")
    assert state(question, from_store()) == before, "what was taken back leaves nothing behind"
    assert (
        len(
            {
                state(q, from_store())
                for q in (question, routes_asked("Clown", 1, ON), plan_asked({}, [], ON + timedelta(1)))
            }
        )
        == 3
    )


def test_a_question_is_the_same_after_its_way_through_the_queue(house: None) -> None:
    for question in (
        plan_asked({("M1", "F1"): "pin"}, ["F2"], ON),
        routes_asked("Clown", 2, ON),
    ):
        assert Question.read(question.text()) == question


def test_what_routes_are_said_not_to_rest_on_leaves_the_search_as_it_was(house: None) -> None:
    """The other way about: for every kind left out of the state, the engine is asked exactly the same."""
    source = from_store()
    question, asked = routes_asked("Clown Piebald", 3, ON), Asked("Clown Piebald", 3)
    before = task_of(asked, source, ON)
    now = state(question, source)
    values = {Kind.WEIGHT: 900.0, Kind.SCAN: 20.0, Kind.TEMPERATURE: 31.0}
    others = [k for k in Kind if k not in hand_reads()]
    assert Kind.MEAL in others and Kind.WEIGHT in others
    told = [Entry(uuid4().hex, ON, None, tag, k, values.get(k, 1.0), None) for k in others for tag in MASS_G]
    colony = source.colony.told_again(
        MASS_G, [*told, *(e for t in MASS_G for e in source.colony.of_animal(t))]
    )
    after = task_of(asked, Source(colony, source.settings), ON)
    assert (after.stock, after.times, after.rules.kinship_limit) == (before.stock, before.times, 0.125)
    assert state(question, Source(colony, source.settings)) == now


def hand_reads() -> frozenset[Kind]:
    from eggtooth.jobs.long_work.questions import WAYS

    reads = WAYS["routes"].reads
    assert reads
    return reads


ALONE = """
import sys
from django.test import Client
from eggtooth.records import store
store.open_store()
assert Client().get("/plan", HTTP_HOST="127.0.0.1").status_code == 200
assert Client().get("/routes?wish=Clown&seasons=1", HTTP_HOST="127.0.0.1").status_code == 200
print([name for name in sys.modules if name.split(".")[0] in ("procrastinate", "psycopg", "psycopg_pool")])
"""


@pytest.mark.sqlite
def test_over_a_file_nothing_of_the_queue_is_loaded(house: None) -> None:
    said = subprocess.run([sys.executable, "-c", ALONE], capture_output=True, text=True)
    assert said.stdout.strip() == "[]", said.stderr


@pytest.mark.sqlite
def test_a_worker_has_nothing_to_do_over_a_file(house: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["work"]) == 2
    assert "the store is a file" in capsys.readouterr().err


def test_a_hand_does_not_do_again_what_is_done(queued: None, monkeypatch: pytest.MonkeyPatch) -> None:
    question = plan_asked({}, [], ON)
    hand.answer(question)
    monkeypatch.setattr(hand, "worked_out", lambda *asked: pytest.fail("it was worked out twice"))
    hand.answer(question)
