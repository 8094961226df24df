"""The wishes and the plan of pairs as pages, over a real store."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from eggtooth.engine.colony import Animal, Sex, Tub, Wish
from eggtooth.engine.entries import Entry, Kind
from eggtooth.engine.house import Settings
from eggtooth.engine.planning.wanted import read
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.long_work import here, questions
from eggtooth.jobs.pairings import Asked, question
from eggtooth.records import store

HERE = {"HTTP_HOST": "127.0.0.1"}
MASS_G = {"M1": 800, "M2": 820, "F1": 1900, "F2": 1800}
GENES = {"M1": "Clown", "M2": "Piebald", "F1": "Clown", "F2": "het Piebald"}


@pytest.fixture
def house(fresh_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two males and two females, fit, in December; two wishes."""
    monkeypatch.setenv("EGGTOOTH_TODAY", "2025-12-01")
    store.save_animals(
        Animal(tag, Sex(tag[0]), "", date(2019, 6, 1), GENES[tag], tub=Tub("A", 1, k))
        for k, tag in enumerate(MASS_G, 1)
    )
    weighed = [
        Entry(f"{k:032x}", date(2025, 11, 20), None, tag, Kind.WEIGHT, float(g), None)
        for k, (tag, g) in enumerate(MASS_G.items(), 1)
    ]
    store.add_entries(weighed)
    store.save_wishes([Wish("Clown", 3.0, 2), Wish("Piebald", 2.0, 1)])


def get(path: str, status: int = 200) -> str:
    answer = Client().get(path, **HERE)
    assert answer.status_code == status, answer.content
    return answer.content.decode()


def post(path: str, status: int = 302, **said: str) -> str:
    answer = Client().post(path, said, **HERE)
    assert answer.status_code == status, answer.content
    return answer.content.decode()


def test_wishes_are_added_weighed_and_taken_off(house: None) -> None:
    assert "Clown" in get("/wishes")
    post("/wishes", do="add", wish="pied clown", weight="2,5".replace(",", "."), count="")
    post("/wishes", do="add", wish="prove m2".replace("m", "M"), weight="1", count="1")
    post("/wishes", do="change", wish="Clown", weight="4", count="5")
    post("/wishes", do="remove", wish="Piebald")
    kept = store.colony().wishes
    assert kept == (Wish("Clown", 4.0, 5), Wish("Clown Piebald", 2.5, 1), Wish("prove M2", 1.0, 1))


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"do": "add", "wish": "Clwn"}, "did you mean Clown?"),
        ({"do": "add", "wish": "prove M01"}, "M01 is not an animal here; did you mean M1?"),
        ({"do": "add", "wish": "Clown"}, "stands here already"),
        ({"do": "add", "wish": " "}, "the wish is missing"),
        ({"do": "add", "wish": "Pastel", "weight": "much"}, "is not a number"),
        ({"do": "change", "wish": "Clown", "weight": "1", "count": "0"}, "cannot be"),
        ({"do": "remove", "wish": "Pastel"}, "is not among the wishes"),
        ({"do": "burn", "wish": "Clown"}, "is not known here"),
    ],
)
def test_wishes_refused_in_a_sentence(house: None, said: dict[str, str], why: str) -> None:
    html = post("/wishes", 422, **said)
    assert why in html.replace("&#x27;", "'") and len(store.colony().wishes) == 2


def test_without_wishes_the_plan_asks_for_one(fresh_store: Path) -> None:
    assert "Write down a wish" in get("/plan")
    store.save_wishes([Wish("Clown")])
    assert "Worth 0.00" in get("/plan")  # no animals yet


def test_the_plan_shows_who_goes_to_whom_with_eggs(house: None) -> None:
    html = get("/plan")
    assert 'id="F1"' in html and 'id="F2"' in html
    assert "No plan within the rules is worth more" in html
    assert html.count('<path class="full"') >= 4 and "at least one" in html
    assert "<table" in html  # the pictures in figures too
    assert 'style="' not in html and "<script>" not in html


def test_a_pin_is_tried_shown_with_its_cost_kept_and_taken_back(house: None) -> None:
    tried = get("/plan?male=M2&female=F1")
    assert (
        "Pin M2 to F1" in tried
        and "Costs " in tried
        and "M1 → M2" in tried
        and "Nothing is kept yet" in tried
    )
    assert store.choices() == {}
    post("/plan/choose", says="pin", pair="M2:F1")
    assert store.choices() == {("M2", "F1"): "pin"}
    html = get("/plan")
    assert "pinned" in html and "Take back" in html
    assert "Pin M1 to F1" in get("/plan?pin=M1:F1")  # another pin on her takes the place of the first
    post("/plan/choose", says="free", pair="M2:F1")
    assert store.choices() == {}


def test_bans_and_what_if(house: None) -> None:
    assert "Ban M1 and F1" in get("/plan?ban=M1:F1")
    assert "Without M1" in get("/plan?without=M1")
    post("/plan/choose", says="pin", pair="M1:F1")
    clash = get("/plan?without=M1")
    assert "This cannot be kept" in clash and "left out, as you asked" in clash
    assert "did you mean M1?" in get("/plan?pin=M01:F1", 422)


@pytest.mark.parametrize(
    ("says", "pair"), [("pin", "M1"), ("burn", "M1:F1"), ("pin", "M9:F1"), ("ban", "M1:M1")]
)
def test_odd_choices_are_refused(house: None, says: str, pair: str) -> None:
    post("/plan/choose", 400, says=says, pair=pair)
    assert store.choices() == {}


def test_a_pin_ends_with_the_season_it_was_made_for(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    made = datetime(2025, 8, 3, 12, tzinfo=UTC)
    store.choose("M2", "F1", "pin", "keeper", made)
    store.choose("M1", "F2", "ban", "keeper", datetime(2025, 5, 31, 12, tzinfo=UTC))
    source = from_store()
    assert source.choices_on(date(2026, 5, 31)) == {("M2", "F1"): "pin"}
    assert source.choices_on(date(2026, 6, 1)) == {}
    assert source.choices_on(date(2025, 5, 31)) == {("M2", "F1"): "pin", ("M1", "F2"): "ban"}
    html = get("/plan")
    assert "until the season ends, 31 May 2026" in html and "pinned" in html and "M1 and F2" not in html
    asked = [question(source, on, Asked()) for on in (date(2025, 12, 1), date(2026, 6, 1))]
    assert [(q.pins, q.bans) for q in asked] == [({("M2", "F1")}, set()), (set(), set())]
    monkeypatch.setenv("EGGTOOTH_TODAY", "2026-12-01")
    assert "M2 and F1" not in get("/plan")
    store.choose("M2", "F1", "pin", "keeper", datetime(2026, 11, 30, 12, tzinfo=UTC))
    assert "until the season ends, 31 May 2027" in get("/plan")


def test_a_kept_pin_that_can_no_longer_be_is_told_and_can_be_taken_back(house: None) -> None:
    post("/plan/choose", says="pin", pair="M1:F1")
    store.add_entries([Entry("f" * 32, date(2025, 11, 28), None, "M1", Kind.DIED, None, None)])
    html = get("/plan")
    assert "M1 is not a male in the room" in html and "Take back" in html
    post("/plan/choose", says="free", pair="M1:F1")
    assert "cannot be kept" not in get("/plan") and "Worth" in get("/plan")


def test_the_nights_go_by_the_plan_by_the_wishes_or_by_nothing(house: None) -> None:
    """Chosen on the page, in force in the round at once, and dated like every setting."""
    for says in ("plan", "wishes"):
        assert Client().post("/plan/go-by", {"says": says}, **HERE)["Location"] == "/nights"
        wanted = read(store.settings().season_plan)
        assert wanted.values and wanted("M1", "F1") > 0 and wanted("M2", "F2") > 0
        assert "A choice is in force" in get("/plan")
    Client().post("/plan/go-by", {"says": "nothing"}, **HERE)
    assert store.settings().season_plan == "" and len(store.settings_past()) == 3
    assert Client().post("/plan/go-by", {"says": "sing"}, **HERE).status_code == 400


@pytest.mark.parametrize(
    ("on", "end"),
    [
        (date(2026, 1, 13), date(2026, 5, 31)),
        (date(2026, 5, 31), date(2026, 5, 31)),
        (date(2026, 6, 1), date(2027, 5, 31)),
        (date(2027, 12, 1), date(2028, 5, 31)),
    ],
)
def test_a_plan_gone_by_ends_with_its_season(on: date, end: date) -> None:
    house = Settings()
    assert house.season_end(on) == end
    kept = replace(house, season_plan="[]", season_plan_until=end.isoformat())
    assert kept.plan_on(on) == kept.plan_on(end) == "[]"
    assert kept.plan_on(end + timedelta(days=1)) == ""
    assert replace(kept, season_plan_until="").plan_on(end + timedelta(days=999)) == "[]"
    with pytest.raises(ValueError):
        replace(house, season_plan_until="soon")


def test_the_page_says_until_when_a_choice_is_in_force(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    Client().post("/plan/go-by", {"says": "wishes"}, **HERE)
    assert store.settings().season_plan_until == "2026-05-31"
    assert "until the season ends, 31 May 2026" in Client().get("/plan", **HERE).content.decode()
    monkeypatch.setenv("EGGTOOTH_TODAY", "2026-06-01")
    assert "Now all pairs are alike" in Client().get("/plan", **HERE).content.decode()


def test_a_plan_looked_at_again_is_not_worked_out_again(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    worked: list[str] = []

    def counted(question: Any, source: Any, seconds: float) -> Any:
        worked.append(question.kind)
        return questions.worked_out(question, source, seconds)

    here.forget()  # a test before may have had the very same house in the same database
    monkeypatch.setattr(here, "worked_out", counted)
    get("/plan")
    get("/plan")
    assert worked == ["plan"]
    store.add_entries([Entry(f"{99:032x}", date(2025, 11, 30), None, "F1", Kind.MEAL, 1, None, "keeper")])
    get("/plan")
    store.choose("M2", "F1", "ban", "keeper")
    get("/plan")
    assert worked == ["plan"] * 3


def test_nothing_goes_by_a_plan_that_is_not_of_now(house: None, monkeypatch: pytest.MonkeyPatch) -> None:
    here.forget()
    monkeypatch.setattr(here, "AT_ONCE_ANIMALS", 1)
    assert "Work it out" in get("/plan")
    assert Client().post("/plan/go-by", {"says": "plan"}, **HERE).status_code == 409
    assert "Who goes to whom" in get("/plan?work=out")
    store.add_entries([Entry(f"{98:032x}", date(2025, 11, 30), None, "F1", Kind.MEAL, 1, None, "keeper")])
    refused = Client().post("/plan/go-by", {"says": "plan"}, **HERE)
    assert refused.status_code == 409 and "have it worked out anew first" in refused.content.decode()
    assert store.settings().season_plan == ""
    get("/plan?work=out")
    assert Client().post("/plan/go-by", {"says": "plan"}, **HERE).status_code == 302
    assert store.settings().season_plan
