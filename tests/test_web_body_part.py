"""The pictures of an animal's page against the engine's figures of the same store."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from eggtooth.engine.condition.wear import wear_of
from eggtooth.engine.history import History
from eggtooth.jobs.body import body_of
from eggtooth.jobs.curve import mass_curve
from eggtooth.jobs.gather import from_store
from tests.house import ON, bred, page

__all__ = ["bred"]
pytestmark = pytest.mark.usefixtures("fresh_store")


def test_mass_table_holds_the_fan_of_the_growth_model(bred: None) -> None:
    ahead = mass_curve(from_store(), "GROWING", ON, 182).ahead
    html = page("/animal/GROWING")
    for on, low, mid, high in (ahead[0], ahead[4]):
        row = f"<th>{on:%-d %b %Y}</th><td>{low:.0f}</td><td><b>{mid:.0f}</b></td><td>{high:.0f} g</td>"
        assert row in html
    assert "1500 g least to breed" in page("/animal/RESTING")


def test_follicle_table_holds_the_fan_and_the_circles_their_proportion(bred: None) -> None:
    follicles = body_of(from_store(), "GROWING", ON).follicles
    assert follicles and [e.value for e in follicles.scans] == [17, 21, 27]
    day = follicles.fan.days.index(min(follicles.fan.days, key=lambda d: abs((d - ON).days)))
    middle = follicles.fan.mm[day, 2]
    html = page("/animal/GROWING")
    assert f"{middle:.0f} mm (" in html and "25 mm grows fast" in html
    radii = [float(r) for r in re.findall(r'class="thing" cx="[\d.]+" cy="[\d.]+" r="([\d.]+)"', html)]
    assert [round(r / radii[0], 1) for r in radii] == [1, 2, 5.5]  # 8, 16 and 44 mm


def test_the_fan_ends_once_she_has_most_likely_ovulated(bred: None) -> None:
    follicles = body_of(from_store(), "OVULATED", ON).follicles
    assert follicles and follicles.fan.days[-1].isoformat() <= "2026-01-21"


def test_a_male_shows_his_nights_and_when_he_must_rest(bred: None) -> None:
    wear = wear_of(History(from_store().colony.of_animal("ANVIL"), ON), from_store().settings)
    assert wear.nights_in == 5 and wear.locks == 1 and wear.rest_by
    html = page("/animal/ANVIL")
    assert f"Rest by <b>{wear.rest_by[1]:%-d %b} (" in html
    assert "<th>26 Jan</th><td>3</td><td>1</td>" in html and "<th>2 Feb</th><td>2</td><td>0</td>" in html


def test_meals_are_counted_as_taken_and_refused(bred: None) -> None:
    html = page("/animal/GROWING")
    assert "26 weeks: 19 taken (full), 1 refused (empty)" in html
    assert html.count('<circle class="taken"') == 19 and html.count('<circle class="refused"') == 1


def test_life_names_the_clutches(bred: None) -> None:
    assert "Hatched July 2021; 0 seasons; October 2025 5 eggs" in page("/animal/DONE")


def test_an_animal_of_which_nothing_is_noted(bred: None) -> None:
    from eggtooth.engine.colony import Animal
    from eggtooth.records import store

    store.save_animals([Animal("NEW")])
    html = page("/animal/NEW")
    assert "Never weighed" in html and "No meal noted" in html


@pytest.mark.sqlite
def test_few_queries(bred: None) -> None:
    with CaptureQueriesContext(connection) as asked:
        page("/animal/GROWING")
    assert len(asked) == 14


def test_curves_are_cut_where_they_cross_the_edges_of_the_picture() -> None:
    from datetime import date

    from eggtooth.web.pictures.axis import TimeAxis
    from eggtooth.web.pictures.curves import _within

    points = [(date(2026, 1, d), 100.0 * d, 200.0 * d, 300.0 * d) for d in (1, 11, 21, 31)]
    found = _within(points, TimeAxis(date(2026, 1, 6), date(2026, 1, 26)))
    assert [p[0].day for p in found] == [6, 11, 21, 26]
    assert found[0][1:] == pytest.approx((600, 1200, 1800)) and found[-1][2] == pytest.approx(5200)
