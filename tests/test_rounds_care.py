"""Feeding, weighing, scanning, watching, eggs and hatchlings in the round, on colonies written by hand.

Intervals and spans are common practice, no source, unless a test names one.
"""

from __future__ import annotations

import pytest

from tests.conftest import AskRound, of_kind

FEMALE = "F1,,F,2021-06-01,,,,,A-2-1,,"
MALE = "M1,,M,2023-06-01,,,,,A-1-1,,"
WEIGHED = "2026-01-02,F1,weight,1900,\n2026-01-02,M1,weight,700,\n"
F_WEIGHED = "2026-01-02,F1,weight,1900,\n"
TUE, FRI = "2026-01-13", "2026-01-16"


def test_female_in_season_is_fed_every_five_days(ask_round: AskRound) -> None:
    meal = "2026-01-08,F1,meal,2,medium rat"
    assert of_kind(ask_round(FEMALE, F_WEIGHED + meal, TUE), "feed", "F1")
    assert not of_kind(ask_round(FEMALE, F_WEIGHED + meal, "2026-01-12"), "feed", "F1")


def test_female_gets_as_much_as_she_takes(ask_round: AskRound) -> None:
    line = of_kind(ask_round(FEMALE, F_WEIGHED + "2026-01-08,F1,meal,2,", TUE), "feed", "F1")[0]
    assert "as many as she takes" in line["why"] and "medium rat" in line["why"]


def test_no_meal_for_a_female_paired_tonight(ask_round: AskRound) -> None:
    tasks = ask_round(f"{FEMALE}\n{MALE}", WEIGHED + "2026-01-05,F1,meal,2,\n2026-01-05,M1,meal,1,", TUE)
    assert of_kind(tasks, "move in", "F1")
    assert of_kind(tasks, "skip meal", "F1") and not of_kind(tasks, "feed", "F1")


def test_males_are_fed_on_their_days_off(ask_round: AskRound) -> None:
    log = WEIGHED + "2026-01-10,M1,meal,1,small rat\n2026-01-12,M1,paired,,F1"
    tasks = ask_round(f"{FEMALE}\n{MALE}", log, FRI)
    assert "hold his mass" in of_kind(tasks, "feed", "M1")[0]["why"]


def test_no_meal_on_the_day_of_a_shed(ask_round: AskRound) -> None:
    log = F_WEIGHED + f"2026-01-05,F1,meal,2,\n{TUE},F1,shed,,"
    assert of_kind(ask_round(FEMALE, log, TUE), "skip meal", "F1")
    assert of_kind(ask_round(FEMALE, log, "2026-01-14"), "feed", "F1")


def test_no_second_meal_while_a_large_one_is_digested(ask_round: AskRound) -> None:
    """Ott & Secor 2007: after 25 % of body mass metabolism is back at day 6 to 8."""
    large = "2026-01-02,F1,weight,1600,\n2026-01-07,F1,meal,4,small rat 100g"
    small = "2026-01-02,F1,weight,1600,\n2026-01-07,F1,meal,2,small rat 100g"
    assert of_kind(ask_round(FEMALE, small, TUE), "feed", "F1")
    assert not of_kind(ask_round(FEMALE, large, TUE), "feed", "F1")
    assert of_kind(ask_round(FEMALE, large, "2026-01-14"), "feed", "F1")


@pytest.mark.parametrize(("mass_g", "share"), [(300, 36), (800, 80)])
def test_prey_by_body_mass(ask_round: AskRound, mass_g: int, share: int) -> None:
    log = f"2026-01-02,F1,weight,{mass_g},\n2026-01-05,F1,meal,1,"
    line = of_kind(ask_round("F1,,F,2025-01-01,,,,,A-2-1,,", log, TUE), "feed", "F1")[0]
    assert f"about {share} g" in line["why"]


def test_males_are_weighed_weekly_once_they_stopped_eating(ask_round: AskRound) -> None:
    both = f"{FEMALE}\n{MALE}"
    season = "2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1\n2026-01-05,M1,weight,700,\n"
    off = ask_round(both, season + "2025-12-20,M1,meal,1,", TUE)
    eating = ask_round(both, season + "2026-01-06,M1,meal,1,", TUE)
    assert "every 7 days" in of_kind(off, "weigh", "M1")[0]["why"]
    assert not of_kind(eating, "weigh", "M1")


def test_a_weight_that_cannot_follow_is_weighed_again(ask_round: AskRound) -> None:
    log = "2025-12-20,F1,weight,1900,\n2026-01-08,F1,weight,8858,"
    tasks = ask_round(FEMALE, log, TUE)
    assert "8858" in of_kind(tasks, "weigh", "F1")[0]["why"]
    assert of_kind(tasks, "look into", "F1")


@pytest.mark.parametrize(
    ("mm", "days", "due"), [(13, 13, False), (13, 14, True), (22, 7, True), (30, 2, False), (30, 5, True)]
)
def test_scans_come_closer_as_follicles_grow(ask_round: AskRound, mm: int, days: int, due: bool) -> None:
    from datetime import date, timedelta

    on = date(2026, 1, 20)
    log = F_WEIGHED + f"{on - timedelta(days=days)},F1,scan,{mm},"
    assert bool(of_kind(ask_round(FEMALE, log, on.isoformat()), "scan", "F1")) is due


def test_no_scan_after_ovulation(ask_round: AskRound) -> None:
    log = F_WEIGHED + "2025-12-01,F1,scan,30,\n2026-01-02,F1,ovulation,,"
    assert not of_kind(ask_round(FEMALE, log, TUE), "scan", "F1")


def test_houses_without_a_scanner_get_no_scan_lines(ask_round: AskRound) -> None:
    assert not of_kind(ask_round(FEMALE, F_WEIGHED, TUE), "scan")


def test_signs_are_watched_from_25_mm(ask_round: AskRound) -> None:
    assert of_kind(ask_round(FEMALE, F_WEIGHED + "2026-01-12,F1,scan,27,", TUE), "watch", "F1")
    assert not of_kind(ask_round(FEMALE, F_WEIGHED + "2026-01-12,F1,scan,14,", TUE), "watch", "F1")


def test_prelay_shed_is_watched_for_about_20_days_after_ovulation(ask_round: AskRound) -> None:
    log = F_WEIGHED + "2026-01-02,F1,ovulation,,"
    assert "pre-lay shed" in of_kind(ask_round(FEMALE, log, "2026-01-20"), "watch", "F1")[0]["why"]
    assert not of_kind(ask_round(FEMALE, log, "2026-01-05"), "watch", "F1")


def test_eggs_due_about_30_days_after_the_shed(ask_round: AskRound) -> None:
    log = F_WEIGHED + "2025-12-15,F1,prelay shed,,"
    assert of_kind(ask_round(FEMALE, log, TUE), "eggs due", "F1")
    assert not of_kind(ask_round(FEMALE, log, "2025-12-20"), "eggs due", "F1")


def test_overdue_eggs_send_to_a_vet(ask_round: AskRound) -> None:
    line = of_kind(ask_round(FEMALE, F_WEIGHED + "2025-11-25,F1,prelay shed,,", TUE), "eggs due", "F1")[0]
    assert "reptile vet" in line["why"] and line["urgency"] == "now"


def test_clutch_is_checked_weekly_and_due_to_hatch(ask_round: AskRound) -> None:
    """58.5 days at 31.5 °C: common practice, inside Ellis & Chappell 1987 (58 to 70 days)."""
    log = F_WEIGHED + "2026-01-02,F1,laid,6,1 slugs"
    assert of_kind(ask_round(FEMALE, log, "2026-01-09"), "check eggs", "F1")
    assert not of_kind(ask_round(FEMALE, log, "2026-01-06"), "check eggs", "F1")
    assert of_kind(ask_round(FEMALE, log, "2026-03-01"), "hatch due", "F1")
    hatched = log + "\n2026-03-01,F1,hatched,6,"
    assert not of_kind(ask_round(FEMALE, hatched, "2026-03-02"), "hatch due", "F1")


def test_hatch_dates_follow_the_house_and_what_has_not_pipped(ask_round: AskRound) -> None:
    """A house whose clutches took 66 days waits longer; eggs unpipped today do not pip in the past."""
    log = F_WEIGHED + "2026-01-02,F1,laid,6,"
    past = "".join(
        f"{y}-01-02,F2,laid,6,\n{y}-03-09,F2,pipped,6,\n{y}-03-11,F2,hatched,6,\n" for y in range(2018, 2026)
    )
    both = f"{FEMALE}\n{FEMALE.replace('F1', 'F2').replace('A-2-1', 'A-2-2')}"
    told = of_kind(ask_round(FEMALE, log, "2026-02-27"), "hatch due", "F1")[0]["why"]
    slow = of_kind(ask_round(both, past + log, "2026-02-27"), "hatch due", "F1")
    assert "Mar" in told and not slow
    late = of_kind(ask_round(FEMALE, log, "2026-03-12"), "hatch due", "F1")[0]["why"]
    assert "none pipped" in late and "Feb" not in late.split("pips")[1]
    over = of_kind(ask_round(FEMALE, log, "2026-03-25"), "hatch due", "F1")[0]["why"]
    assert "past its span" in over


def test_hatchlings_get_their_first_shed_and_meals(ask_round: AskRound) -> None:
    young = "H1,,F,2026-01-01,,,,,A-3-1,,"
    assert (
        "first shed"
        in of_kind(ask_round(young, "2026-01-01,H1,weight,62,", "2026-01-11"), "hatchling")[0]["why"]
    )
    shed = "2026-01-01,H1,weight,62,\n2026-01-10,H1,shed,,"
    assert "first meal" in of_kind(ask_round(young, shed, TUE), "hatchling")[0]["why"]
    fed = shed + "\n2026-01-12,H1,meal,1,mouse hopper"
    assert not of_kind(ask_round(young, fed, TUE), "hatchling")


def test_two_animals_in_one_tub_are_looked_into(ask_round: AskRound) -> None:
    two = f"{FEMALE}\n{MALE.replace('A-1-1', 'A-2-1')}"
    assert "A-2-1" in of_kind(ask_round(two, WEIGHED, TUE), "look into")[0]["why"]
    assert not of_kind(ask_round(f"{FEMALE}\n{MALE}", WEIGHED, TUE), "look into")


def test_later_entries_are_not_known_yet(ask_round: AskRound) -> None:
    log = F_WEIGHED + "2026-01-08,F1,meal,2,\n2026-02-20,F1,meal,2,"
    assert of_kind(ask_round(FEMALE, log, TUE), "feed", "F1")
