"""Noting many things with a thumb, without loading the page, and without a network."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from eggtooth.engine.colony import Animal, Sex, Tub
from eggtooth.engine.entries import Entry, Kind
from eggtooth.records import store

pytestmark = pytest.mark.browser
ON = date(2026, 2, 4)
MANY = [f"F{n:02}" for n in range(1, 61)]


@pytest.fixture
def rack(fresh_store: Path) -> None:
    """Sixty females that last ate and were weighed long ago."""
    store.save_animals(
        Animal(tag, Sex.FEMALE, "", date(2021, 6, 1), tub=Tub("A", 1 + n // 10, 1 + n % 10))
        for n, tag in enumerate(MANY)
    )
    long_ago = ON - timedelta(days=40)
    store.add_entries(
        Entry(str(uuid4()), long_ago, None, tag, kind, value, None, "keeper")
        for tag in MANY
        for kind, value in ((Kind.MEAL, 1), (Kind.WEIGHT, 1800))
    )


class Room:
    """The pages served by a process of their own, which can be killed and started again on the same port."""

    def __init__(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.start()

    def start(self) -> None:
        command = [sys.executable, "-m", "eggtooth", "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout and "The pages are at" in self.process.stdout.readline()
        while not self.answers():
            time.sleep(0.02)

    def answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()
        assert self.process.stdout
        self.process.stdout.close()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


@pytest.fixture
def room(rack: None) -> Iterator[Room]:
    served = Room()
    yield served
    served.kill()


def meals(phone: Page | None = None, wanted: int = 0) -> list[Entry]:
    """The meals kept; with a page, once there are as many as wanted."""
    for _ in range(300):
        found = [e for e in store.entries_on(ON) if e.kind is Kind.MEAL]
        if not phone or len(found) >= wanted:
            break
        phone.wait_for_timeout(100)
    return found


def test_twenty_things_take_twenty_taps_and_no_page_load(pages: str, phone: Page, rack: None) -> None:
    phone.goto(f"{pages}/?on={ON}&do=meals")
    phone.evaluate("window.stays = true")
    for tag in MANY[:20]:
        phone.get_by_role("button", name=f"Ate: {tag}", exact=True).tap()
    expect(phone.locator("li.done")).to_have_count(20)
    assert [e.tag for e in meals(phone, 20)] == MANY[:20]
    assert phone.evaluate("window.stays"), "the page was loaded again"


def test_what_was_answered_stays_in_its_place_when_the_plan_changes(
    pages: str, phone: Page, rack: None
) -> None:
    phone.goto(f"{pages}/?on={ON}&do=meals")
    with phone.expect_response(lambda r: "do=meals" in r.url):
        phone.get_by_role("button", name="Ate: F02", exact=True).tap()
    expect(phone.locator('[data-tub="A-1-2"] li.done')).to_be_visible()
    expect(phone.locator('[data-tub="A-1-2"] li:not(.done)')).to_have_count(0)
    before = [s.get_attribute("data-tub") for s in phone.locator("[data-tub]").all()][:3]
    assert before == ["A-1-1", "A-1-2", "A-1-3"]


def test_undo_in_the_line_takes_it_back(pages: str, phone: Page, rack: None) -> None:
    phone.goto(f"{pages}/?on={ON}&do=meals")
    phone.get_by_role("button", name="Ate: F03", exact=True).tap()
    with phone.expect_response(lambda r: "do=meals" in r.url):  # the list made anew, once all is sent
        phone.locator("li.done").get_by_role("button", name="Undo").tap()
    expect(phone.get_by_role("button", name="Ate: F03", exact=True)).to_be_visible()
    expect(phone.locator("#told span")).to_have_text("Taken back")
    expect(phone.locator("#told").get_by_role("button")).to_be_hidden()
    assert meals() == []


def test_without_network_it_waits_in_order_and_arrives_exactly_once(room: Room, phone: Page) -> None:
    phone.goto(f"{room.address}/?on={ON}&do=meals")
    phone.get_by_role("button", name="Ate: F01", exact=True).tap()
    expect(phone.locator("#told span")).to_contain_text(
        "F01 ate 1"
    )  # the answer is here, not only the meal there
    room.kill()
    for tag in ("F05", "F04", "F06"):
        phone.get_by_role("button", name=f"Ate: {tag}", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("3 waiting")
    room.start()
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator("#waits")).to_be_hidden(timeout=20_000)
    assert [e.tag for e in meals()] == ["F01", "F05", "F04", "F06"]


def test_what_waits_survives_closing_the_page(room: Room, phone: Page) -> None:
    phone.goto(f"{room.address}/?on={ON}&do=meals")
    room.kill()
    phone.get_by_role("button", name="Refused: F07", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("1 waiting")
    phone.goto("about:blank")
    room.start()
    phone.goto(f"{room.address}/all")
    expect(phone.locator("#waits")).to_be_hidden(timeout=20_000)
    assert [(e.tag, e.value) for e in meals(phone, 1)] == [("F07", 0)]


def test_an_answer_lost_on_the_way_back_is_kept_once(pages: str, phone: Page, rack: None) -> None:
    lost = []

    def lose(route: object) -> None:
        lost.append(route.fetch())  # type: ignore[attr-defined]
        route.abort() if len(lost) == 1 else route.fulfill(response=lost[-1])  # type: ignore[attr-defined]

    phone.route("**/note", lose)
    phone.goto(f"{pages}/?on={ON}&do=meals")
    phone.get_by_role("button", name="Ate: F08", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("1 waiting")
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator("#waits")).to_be_hidden()
    assert len(lost) == 2 and [e.tag for e in meals()] == ["F08"]


def test_sixty_weighings_need_only_tag_grams_and_enter(pages: str, phone: Page, rack: None) -> None:
    phone.goto(f"{pages}/scale?on={ON}")
    expect(phone.get_by_role("combobox", name="Tag")).to_be_focused()
    for n, tag in enumerate(MANY):
        phone.keyboard.type(tag.lower())
        phone.keyboard.press("Enter")
        phone.keyboard.type(str(1800 + n))
        phone.keyboard.press("Enter")
    expect(phone.locator("[data-last] li")).to_have_count(60, timeout=20_000)
    kept = {e.tag: e.value for e in store.entries_on(ON) if e.kind is Kind.WEIGHT}
    assert kept == {tag: 1800 + n for n, tag in enumerate(MANY)}


def test_a_rack_is_weighed_by_one_tap_and_grams_each(pages: str, phone: Page, rack: None) -> None:
    phone.goto(f"{pages}/scale?on={ON}")
    for n in range(3):
        phone.locator("[data-of]:not([hidden]) a").first.tap()
        expect(phone.get_by_label("Grams")).to_be_focused()
        phone.keyboard.type(str(1800 + n))
        phone.keyboard.press("Enter")
    expect(phone.locator("[data-last] li")).to_have_count(3)
    kept = [(e.tag, e.value) for e in store.entries_on(ON) if e.kind is Kind.WEIGHT]
    assert kept == [(tag, 1800 + n) for n, tag in enumerate(MANY[:3])]


def test_a_wrong_tag_on_the_scale_is_told_and_stays_until_dismissed(
    pages: str, phone: Page, rack: None
) -> None:
    phone.goto(f"{pages}/scale?on={ON}")
    expect(phone.get_by_role("combobox", name="Tag")).to_be_focused()
    for text in ("F0I", "1850"):
        phone.keyboard.type(text)
        phone.keyboard.press("Enter")
    expect(phone.locator("#waits")).to_contain_text("F0I is not an animal here; did you mean F01?")
    phone.locator("#waits").get_by_role("button", name="Dismiss").tap()
    expect(phone.locator("#waits")).to_be_hidden()


def test_a_rack_is_fed_with_two_exceptions(pages: str, plain_phone: Page, rack: None) -> None:
    plain_phone.goto(f"{pages}/feeding?on={ON}")
    plain_phone.get_by_role("group", name="A-1-2 F02").get_by_label("Refused").check()
    plain_phone.get_by_role("group", name="A-1-3 F03").get_by_label("Not fed").check()
    plain_phone.get_by_role("button", name="Note all 60").click()
    said = {e.tag: e.value for e in meals()}
    assert said == {tag: 0 if tag == "F02" else 1 for tag in MANY if tag != "F03"}


def test_no_page_runs_over_its_edge(pages: str, phone: Page, rack: None) -> None:
    for path in ("/", "/room", "/tub/A-1-1", "/scale", "/feeding", "/all", "/animal/F01/note"):
        phone.goto(f"{pages}{path}{'' if path == '/all' else f'?on={ON}'}")
        assert phone.evaluate("document.documentElement.scrollWidth") <= 360, path


def test_the_page_itself_opens_without_network_where_the_browser_allows(room: Room, phone: Page) -> None:
    """A service worker is allowed on https and on the machine itself, as here."""
    phone.goto(f"{room.address}/?on={ON}&do=meals")
    phone.evaluate("navigator.serviceWorker.ready")
    phone.reload()
    room.kill()
    phone.reload()
    phone.get_by_role("button", name="Ate: F09", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("1 waiting")
    room.start()
    phone.evaluate("dispatchEvent(new Event('online'))")
    assert [e.tag for e in meals(phone, 1)] == ["F09"]


def test_a_page_never_seen_says_so_without_network_and_leads_back(room: Room, phone: Page) -> None:
    phone.goto(room.address)
    phone.evaluate("navigator.serviceWorker.ready")
    phone.reload()
    phone.wait_for_function("caches.match('/away').then(Boolean)")
    room.kill()
    phone.get_by_role("link", name="Room", exact=True).tap()
    expect(phone.get_by_role("heading", name="No network")).to_be_visible()
    phone.get_by_role("link", name="To the round").tap()
    expect(phone.locator("[data-tub]").first).to_be_visible()
    room.start()  # for the fixture to end


def test_a_refused_tap_is_told_and_its_line_is_open_again(pages: str, phone: Page, rack: None) -> None:
    phone.route("**/note", lambda route: route.fulfill(status=400, body="F05 cannot be fed"))
    phone.goto(f"{pages}/?on={ON}&do=meals")
    phone.get_by_role("button", name="Ate: F05", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("F05 cannot be fed")
    expect(phone.get_by_role("button", name="Ate: F05", exact=True)).to_be_visible()
    expect(phone.locator("li.done")).to_have_count(0)
    expect(phone.locator("#told")).to_be_hidden()


def test_what_a_role_may_not_do_is_refused_and_holds_nothing_up(pages: str, phone: Page, rack: None) -> None:
    no = {"status": 403, "body": "This is for the helper", "content_type": "text/plain; charset=utf-8"}
    phone.route("**/note", lambda route: route.fulfill(**no), times=1)
    phone.goto(f"{pages}/?on={ON}&do=meals")
    for tag in ("F05", "F06"):
        phone.get_by_role("button", name=f"Ate: {tag}", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("This is for the helper")
    assert [e.tag for e in meals(phone, 1)] == ["F06"]


def test_signed_out_it_waits_and_says_for_what(pages: str, phone: Page, rack: None) -> None:
    phone.route("**/note", lambda route: route.fulfill(status=401, body="{}"), times=1)
    phone.goto(f"{pages}/?on={ON}&do=meals")
    phone.get_by_role("button", name="Ate: F05", exact=True).tap()
    expect(phone.locator("#waits")).to_contain_text("1 waiting until you sign in again")
    phone.evaluate("dispatchEvent(new Event('online'))")
    assert [e.tag for e in meals(phone, 1)] == ["F05"]
