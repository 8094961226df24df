"""The page of the house's own rates: begun when asked, kept as shown, taken back; the owner's to change."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape

import pytest
from django.test import Client

from eggtooth.engine.cycle.parameters import figures, parameters
from eggtooth.engine.cycle.prior import PRIOR, read
from eggtooth.engine.entries import Entry, Kind
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.learn import lesson_of
from eggtooth.jobs.long_work.questions import lesson_asked, state
from eggtooth.records import people, store
from tests.house import HERE, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")
YEAR_LATER = date(2026, 12, 1)
WORK = "/rates?work=out"


@pytest.fixture
def later(bred: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The house when the season is over."""
    monkeypatch.setenv("EGGTOOTH_TODAY", YEAR_LATER.isoformat())


def field(html: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', html)
    assert found, name
    return unescape(found[1])


def send(**said: str) -> int:
    return Client().post("/rates/choose", said, **HERE).status_code


def rates() -> str:
    return store.settings().learned_rates


def test_without_a_finished_season_it_says_so_and_offers_nothing(bred: None) -> None:
    html = page(WORK)
    assert "No season is finished yet" in html and "Use these" not in html
    assert rates() == "" and not store.settings_past()


def test_nothing_is_worked_out_before_it_is_asked(later: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("eggtooth.jobs.learn.lesson_of", lambda *asked: pytest.fail("it was worked out"))
    html = page("/rates")
    assert "Work out what our seasons say" in html and "Use these" not in html


def test_the_table_is_the_engines(later: None) -> None:
    lesson = lesson_of(from_store(), YEAR_LATER)
    html = page(WORK)
    row = re.search(r"<dt>ovulation to pre-lay shed</dt><dd>(.*?)</dd>", html)
    assert row and lesson.seasons == 5
    told = next(p for p in lesson.parameters if p.name == "ovulation to pre-lay shed")
    prior, now, low, high = (f"{v:.1f} days" for v in (told.prior, told.now, *told.now_90))
    spread = f"90 % sure: {low} to {high}; 0 seasons told of it"
    assert row[1] == f"<b>{now}</b> by our seasons; {spread}<br>{prior} by the facts"
    never = next(p for p in lesson.parameters if p.name == "no follicles grow")
    assert f"<dt>no follicles grow</dt><dd><b>{never.now:.0%}</b> by our seasons" in html
    assert '<a href="/animal/GROWING">GROWING</a> 1 season</dt>' in html


def test_figures_of_rates_are_those_of_the_parameters(later: None) -> None:
    learned = lesson_of(from_store(), YEAR_LATER).learned
    now = {p.name: p.now for p in parameters(learned)}
    assert dict(figures(learned.rates)) == pytest.approx(now)
    prior = {p.name: p.prior for p in parameters(learned)}
    assert dict(figures(PRIOR)) == pytest.approx(prior)


def test_what_was_shown_is_kept_and_taken_back(later: None) -> None:
    html = page(WORK)
    use = {"says": "use", "rates": field(html, "rates"), "seen": field(html, "seen")}
    assert send(**use) == 302
    kept = rates()
    assert read(kept) == lesson_of(from_store(), YEAR_LATER).learned.rates != PRIOR
    assert "Forecasts go by what the seasons here say" in page(WORK)
    assert send(**use) == 409, "somebody chose meanwhile"
    assert send(says="0", seen="1") == 302 and rates() == ""
    assert send(says="1", seen="2") == 302 and rates() == kept, "back to a former choice"
    assert page("/rates").count("with rates learned here") == 2


@pytest.mark.parametrize("says", ["", "7", "-1", "use", "²"])
def test_what_was_not_shown_is_not_kept(later: None, says: str) -> None:
    assert send(says=says, seen="0", rates='"{}"') == 400
    assert rates() == ""


def test_other_settings_stay_when_rates_are_chosen(later: None) -> None:
    from dataclasses import replace

    html = page(WORK)
    store.save_settings(replace(store.settings(), night_drop_c=3.0), "keeper")
    send(says="use", rates=field(html, "rates"), seen="0")
    assert store.settings().night_drop_c == 3.0 and rates()


def test_only_an_owner_changes_them_and_everybody_sees_them(
    later: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("eggtooth.web.doors.sign_in_asked", lambda: False)
    for role, status in ((people.Role.HELPER, 403), (people.Role.READER, 403)):
        monkeypatch.setattr("eggtooth.web.doors.ALONE", people.Keeper("Kim", role))
        html = page(WORK)
        assert "Use these" not in html and "<dt>no follicles grow</dt>" in html
        assert send(says="0", seen="0") == status


def test_what_is_learned_does_not_rest_on_this_season_nor_on_what_is_in_use(later: None) -> None:
    before = lesson_asked(from_store(), YEAR_LATER)
    was = state(before, from_store())
    assert lesson_asked(from_store(), YEAR_LATER + timedelta(days=60)) == before
    note = Entry("00000000-0000-0000-0000-00000000fffd", YEAR_LATER, None, "GROWING", Kind.SCAN, 14, None)
    store.add_entries([note])
    html = page(WORK)
    send(says="use", rates=field(html, "rates"), seen="0")
    assert state(before, from_store()) == was
    last = Entry(
        "00000000-0000-0000-0000-00000000fffe", date(2026, 3, 1), None, "GROWING", Kind.SCAN, 43, None
    )
    store.add_entries([last])
    assert state(before, from_store()) != was


def test_the_start_of_the_year_teaches_what_its_every_day_does(later: None) -> None:
    source = from_store()
    on = source.settings.season_start(YEAR_LATER)
    assert lesson_of(source, on).rates == lesson_of(source, YEAR_LATER).rates
