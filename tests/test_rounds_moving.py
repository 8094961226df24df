"""The rules of the moves, each kept and broken, on colonies written by hand.

What is expected is common practice, no source: males in Monday to Thursday, apart on Friday; a locked pair is
left; a male that bred and let go, or did nothing, goes to the next female; a worn male rests.
The week used: Monday 12 January 2026 to Sunday 18 January 2026.
"""

from __future__ import annotations

import pytest

from tests.conftest import AskRound, of_kind

ANIMALS = """
    M1,,M,2023-06-01,,,,,A-1-1,,
    F1,,F,2021-06-01,,,,,A-2-1,,
    F2,,F,2021-06-01,,,,,A-2-2,,
"""
WELL = """
    2025-11-01,M1,weight,720,
    2026-01-10,M1,weight,710,
    2026-01-03,M1,meal,1,small rat
    2025-12-20,F1,weight,1900,
    2025-12-20,F2,weight,1900,
"""
MON, TUE, WED, THU, FRI, SAT = (f"2026-01-{d}" for d in range(12, 18))


def went_in(tasks: list[dict[str, object]]) -> list[tuple[object, object]]:
    return [(t["tag"], t["with"]) for t in tasks if t["kind"] == "move in"]


def test_free_male_goes_in_on_a_pairing_night(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL, MON)
    assert [m for m, _ in went_in(tasks)] == ["M1"]


@pytest.mark.parametrize("on", [FRI, SAT, "2026-01-18"])
def test_nobody_goes_in_on_days_off(ask_round: AskRound, on: str) -> None:
    assert not went_in(ask_round(ANIMALS, WELL, on))


@pytest.mark.parametrize("on", ["2026-07-13", "2025-10-06"])
def test_nobody_goes_in_outside_the_season(ask_round: AskRound, on: str) -> None:
    log = WELL + "2026-07-01,M1,meal,1,small rat\n2026-07-01,M1,weight,720,\n"
    assert not went_in(ask_round(ANIMALS, log if on > "2026" else "2025-10-01,M1,weight,720,", on))


def test_locked_this_morning_stays(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1\n{TUE},M1,lock,,F1", TUE)
    assert of_kind(tasks, "leave in", "M1")[0]["with"] == "F1"
    assert not went_in(tasks)
    assert not of_kind(tasks, "check for lock")


def test_lock_noted_under_the_female_counts_the_same(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},F1,paired,,M1\n{TUE}T07:30,F1,lock,,M1", TUE)
    assert of_kind(tasks, "leave in", "M1")


def test_locked_on_friday_stays_until_they_let_go(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{THU},M1,paired,,F1\n{FRI},M1,lock,,F1", FRI)
    assert of_kind(tasks, "leave in", "M1")
    assert not of_kind(tasks, "part")


def test_idle_moves_on(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1", TUE)
    assert of_kind(tasks, "check for lock", "M1")[0]["with"] == "F1"
    assert went_in(tasks) == [("M1", "F2")]
    assert "no lock noted with F1" in of_kind(tasks, "move in")[0]["why"]
    assert not of_kind(tasks, "leave in")


def test_bred_and_let_go_moves_on(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1\n{TUE},M1,lock,,F1", WED)
    assert went_in(tasks) == [("M1", "F2")]
    assert "let go" in of_kind(tasks, "move in")[0]["why"]


def test_bred_parted_today_goes_to_the_next_female(ask_round: AskRound) -> None:
    log = WELL + f"{MON},M1,paired,,F1\n{TUE}T07:00,M1,lock,,F1\n{TUE}T11:00,M1,parted,,F1"
    assert went_in(ask_round(ANIMALS, log, TUE)) == [("M1", "F2")]


def test_already_moved_tonight_is_not_moved_again(ask_round: AskRound) -> None:
    log = WELL + f"{MON},M1,paired,,F1\n{TUE},M1,parted,,F1\n{TUE},M1,paired,,F2"
    tasks = ask_round(ANIMALS, log, TUE)
    assert not went_in(tasks)
    assert not of_kind(tasks, "part")


def test_with_no_other_female_he_is_parted(ask_round: AskRound) -> None:
    animals = "M1,,M,2023-06-01,,,,,A-1-1,,\nF1,,F,2021-06-01,,,,,A-2-1,,"
    tasks = ask_round(animals, WELL.replace("2025-12-20,F2,weight,1900,", "") + f"{MON},M1,paired,,F1", TUE)
    assert of_kind(tasks, "part", "M1")[0]["with"] == "F1"
    assert not went_in(tasks)


def test_friday_parts(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{THU},M1,paired,,F1", FRI)
    assert of_kind(tasks, "part", "M1")[0]["with"] == "F1"


def test_thursday_does_not_part(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{WED},M1,paired,,F1", THU)
    assert went_in(tasks) and not of_kind(tasks, "part")


def test_pair_forgotten_over_the_weekend_is_parted(ask_round: AskRound) -> None:
    assert of_kind(ask_round(ANIMALS, WELL + f"{THU},M1,paired,,F1", SAT), "part", "M1")


def test_no_male_for_a_female_past_ovulation(ask_round: AskRound) -> None:
    gone = "2026-01-09,F1,ovulation,,\n2026-01-09,F2,prelay shed,,"
    assert not went_in(ask_round(ANIMALS, WELL + gone, MON))
    assert went_in(ask_round(ANIMALS, WELL + "2025-02-09,F1,ovulation,,\n2025-02-28,F2,prelay shed,,", MON))


def test_female_that_ovulates_with_a_male_is_parted(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1\n{TUE},F1,ovulation,,", TUE)
    assert not of_kind(tasks, "leave in")
    assert "ovulated" in of_kind(tasks, "part", "F1")[0]["why"]


def test_no_male_after_she_laid(ask_round: AskRound) -> None:
    log = WELL + "2025-12-28,F1,laid,6,\n2025-12-28,F2,laid,5,1 slugs"
    assert not went_in(ask_round(ANIMALS, log, MON))


@pytest.mark.parametrize(
    ("log", "said"),
    [
        ("2025-10-30,M1,meal,1,small rat\n2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1", "rested from"),
        ("2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1\n2026-01-10,M1,weight,590,", "lost"),
    ],
)
def test_worn_male_never_goes_out(ask_round: AskRound, log: str, said: str) -> None:
    base = "2025-11-01,M1,weight,720,\n2025-12-20,F1,weight,1900,\n2025-12-20,F2,weight,1900,\n"
    tasks = ask_round(ANIMALS, base + log, MON)
    assert not went_in(tasks)
    assert said in of_kind(tasks, "rest male", "M1")[0]["why"]


def test_male_that_eats_and_holds_his_mass_is_not_rested(ask_round: AskRound) -> None:
    log = WELL + "2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1"
    tasks = ask_round(ANIMALS, log, MON)
    assert went_in(tasks) and not of_kind(tasks, "rest male")


def test_big_male_may_go_on_somewhat_longer(ask_round: AskRound) -> None:
    fast = "2025-11-05,M1,meal,1,small rat\n2025-11-17,M1,paired,,F1\n2025-11-18,M1,parted,,F1\n"
    big = "2025-11-01,M1,weight,1150,\n2026-01-10,M1,weight,1080,\n"
    small = "2025-11-01,M1,weight,700,\n2026-01-10,M1,weight,690,\n"
    females = "2025-12-20,F1,weight,1900,\n2025-12-20,F2,weight,1900,\n"
    assert went_in(ask_round(ANIMALS, fast + females + big, MON))
    assert not went_in(ask_round(ANIMALS, fast + females + small, MON))


def test_worn_male_with_a_female_is_parted(ask_round: AskRound) -> None:
    log = "2025-11-01,M1,weight,720,\n2025-10-30,M1,meal,1,\n2025-12-20,F1,weight,1900,\n"
    tasks = ask_round(ANIMALS, log + f"{MON},M1,paired,,F1", TUE)
    assert of_kind(tasks, "part", "M1") and of_kind(tasks, "rest male", "M1")


def test_rested_male_stays_home_this_season_but_not_the_next(ask_round: AskRound) -> None:
    assert not went_in(ask_round(ANIMALS, WELL + "2026-01-05,M1,rested,,worn", MON))
    assert went_in(ask_round(ANIMALS, WELL + "2025-03-05,M1,rested,,worn", MON))


@pytest.mark.parametrize("who", ["M1", "F"])
def test_nobody_in_quarantine_is_paired(ask_round: AskRound, who: str) -> None:
    there = ANIMALS.replace("A-1-1", "Q-1-1") if who == "M1" else ANIMALS.replace("A-2-", "Q-2-")
    assert not went_in(ask_round(there, WELL, MON))
    noted = "\n".join(
        f"{row.strip()}quarantine until 2026-03-01" if row.strip().startswith(who) else row
        for row in ANIMALS.splitlines()
    )
    assert not went_in(ask_round(noted, WELL, MON))
    assert went_in(ask_round(noted.replace("2026-03-01", "2026-01-05"), WELL, MON))


def test_moved_out_of_the_quarantine_rack_may_pair(ask_round: AskRound) -> None:
    there = ANIMALS.replace("A-1-1", "Q-1-1")
    assert went_in(ask_round(there, WELL + "2026-01-08,M1,moved,,A-1-1", MON))


@pytest.mark.parametrize("left", ["died", "sold", "given"])
def test_gone_animals_never_appear(ask_round: AskRound, left: str) -> None:
    tasks = ask_round(ANIMALS, WELL + f"2026-01-11,F1,{left},,", MON)
    assert "F1" not in {t["tag"] for t in tasks} | {t["with"] for t in tasks}
    assert went_in(tasks) == [("M1", "F2")]


@pytest.mark.parametrize("state", ["sold", "dead", "loan"])
def test_animals_not_here_never_appear(ask_round: AskRound, state: str) -> None:
    tasks = ask_round(ANIMALS.replace("A-2-1,,", f"A-2-1,{state},"), WELL, MON)
    assert "F1" not in {t["tag"] for t in tasks} | {t["with"] for t in tasks}


def test_light_and_young_females_get_no_male(ask_round: AskRound) -> None:
    light = WELL.replace("1900", "1100")
    assert not went_in(ask_round(ANIMALS, light, MON))
    young = ANIMALS.replace("2021-06-01", "2025-02-01")
    assert not went_in(ask_round(young, WELL, MON))


@pytest.mark.parametrize(
    ("sire", "dam", "together"),
    [("M1", "", False), ("GF", "GM", False), ("GF", "", True)],
    ids=["his daughter", "his full sister", "his half sister: young inbred 1/8, at the limit"],
)
def test_close_kin_are_not_put_together(ask_round: AskRound, sire: str, dam: str, together: bool) -> None:
    """Kinship of parent and child and of full siblings 1/4, of half siblings 1/8 (Lange 2010, Table 5.1)."""
    kin = f"""
        GF,,M,2019-06-01,,,,,,dead,
        GM,,F,2019-06-01,,,,,,dead,
        M1,,M,2021-06-01,,GF,GM,,A-1-1,,
        F1,,F,2023-06-01,,{sire},{dam},,A-2-1,,
    """
    log = WELL.replace("2025-12-20,F2,weight,1900,", "")
    assert went_in(ask_round(kin, log, MON)) == ([("M1", "F1")] if together else [])


def test_crosses_that_make_animals_suffer_are_not_suggested(ask_round: AskRound) -> None:
    """A Desert dam is not bred: her eggs fail and she may die (common practice, no source)."""
    desert = ANIMALS.replace("F1,,F,2021-06-01,,", "F1,,F,2021-06-01,Desert,")
    assert went_in(ask_round(desert, WELL, MON)) == [("M1", "F2")]


def test_female_in_her_window_without_a_lock_comes_first(ask_round: AskRound) -> None:
    log = (
        WELL
        + """
        2026-01-05,F1,scan,15,
        2026-01-05,F2,scan,15,
        2025-12-15,M1,paired,,F1
        2025-12-16,M1,lock,,F1
        2025-12-17,M1,lock,,F1
        2025-12-19,M1,parted,,F1
    """
    )
    assert went_in(ask_round(ANIMALS, log, MON)) == [("M1", "F2")]


def test_one_male_one_female_a_night(ask_round: AskRound) -> None:
    animals = ANIMALS + "M2,,M,2023-06-01,,,,,A-1-2,,\nM3,,M,2023-06-01,,,,,A-1-3,,"
    log = WELL + "2026-01-10,M2,weight,700,\n2026-01-10,M3,weight,700,"
    pairs = went_in(ask_round(animals, log, MON))
    assert len(pairs) == 2
    assert len({f for _, f in pairs}) == len({m for m, _ in pairs}) == 2


def test_nights_are_cooled_in_november_and_warmed_later(ask_round: AskRound) -> None:
    assert of_kind(ask_round(ANIMALS, "", "2025-11-20"), "cool nights")
    assert not of_kind(ask_round(ANIMALS, "", "2025-10-20"), "cool nights")
    assert of_kind(ask_round(ANIMALS, "", "2026-02-03"), "warm nights")


def test_lines_stand_in_walking_order(ask_round: AskRound) -> None:
    tubs = [t["tub"] for t in ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1", TUE) if t["tub"]]
    assert tubs == sorted(tubs)


def test_every_line_says_why(ask_round: AskRound) -> None:
    tasks = ask_round(ANIMALS, WELL + f"{MON},M1,paired,,F1", TUE)
    assert tasks and all(t["why"] for t in tasks)
    assert all(set(t) >= {"kind", "tag", "with", "tub", "why", "entries", "urgency"} for t in tasks)
