"""Long work without a queue: who only looks is not kept waiting by it."""

from __future__ import annotations

from datetime import date
from threading import Event, Thread

import pytest

from eggtooth.engine.colony import Colony
from eggtooth.engine.house import Settings
from eggtooth.jobs.gather import Source
from eggtooth.jobs.long_work import here
from eggtooth.jobs.long_work.questions import plan_asked, review_asked

ON = date(2026, 1, 10)
SECONDS = 30.0


def test_a_look_does_not_wait_for_what_another_has_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    source, begun, go_on, looked = Source(Colony.of(()), Settings()), Event(), Event(), Event()

    def worked_out(*asked: object) -> str:
        begun.set()
        assert go_on.wait(SECONDS)
        return "the review"

    here.forget()
    monkeypatch.setattr(here, "AT_ONCE_ANIMALS", -1)
    monkeypatch.setattr(here, "worked_out", worked_out)
    question = review_asked(source, False, ON)
    working = Thread(target=here.answered, args=(question, source, 1.0, True))
    working.start()
    assert begun.wait(SECONDS)
    found: list[here.Laid] = []

    def look() -> None:
        found.extend(here.answered(q, source, 1.0, False) for q in (question, plan_asked({}, (), ON)))
        looked.set()

    looking = Thread(target=look)
    looking.start()
    was_quick = looked.wait(SECONDS / 3)
    go_on.set()
    working.join(), looking.join()
    assert was_quick and found == [here.Laid(), here.Laid()]
    assert here.kept(question, source).answer == "the review"
    here.forget()
