"""The service behind a door: strangers must sign in, the door is believed about https, it stops cleanly."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from eggtooth.cli.serve import listening
from eggtooth.records import people
from eggtooth.records.sheets.opening import LARGEST_REQUEST_BYTES

DOOR = {"Host": "room.example", "X-Forwarded-Proto": "https"}
PASSWORD = "a long enough word for Ada"


@pytest.fixture
def service(fresh_store: Path) -> Iterator[tuple[int, subprocess.Popen[str]]]:
    people.add("Ada", people.Role.OWNER, PASSWORD)
    port = listening(0)
    names = {"EGGTOOTH_HOSTS": "room.example", "EGGTOOTH_SIGN_IN": "1"}
    more = names | {"EGGTOOTH_HTTPS": "1", "EGGTOOTH_PROXY": "1"}
    words = [sys.executable, "-m", "eggtooth.web.service", "127.0.0.1", str(port)]
    with subprocess.Popen(words, env=os.environ | more, stderr=subprocess.PIPE, text=True) as served:
        yield port, served
        served.kill()


Answer = http.client.HTTPResponse


def ask(port: int, method: str, path: str, body: str = "", **headers: str) -> tuple[Answer, str]:
    for _ in range(100):
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            line.request(method, path, body, DOOR | headers)
            answer = line.getresponse()
            return answer, answer.read().decode()
        except ConnectionRefusedError:  # it is still starting
            time.sleep(0.1)
        finally:
            line.close()
    raise AssertionError("the service does not answer")


def test_signing_in_through_the_door(service: tuple[int, subprocess.Popen[str]]) -> None:
    port, served = service
    stranger, _ = ask(port, "GET", "/")
    assert (stranger.status, stranger.headers["Location"]) == (302, "/sign-in")
    assert "max-age" in stranger.headers["Strict-Transport-Security"]
    assert ask(port, "GET", "/", Host="other.example")[0].status == 400
    page, text = ask(port, "GET", "/sign-in")
    cookie = page.headers["Set-Cookie"]
    assert "Secure" in cookie
    (token,) = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', text)
    form = urlencode({"name": "Ada", "password": PASSWORD, "csrfmiddlewaretoken": token})
    headers = {
        "Content-Type": "application/x-www-form-urlencoded",
        "Cookie": cookie.partition(";")[0],
        "Origin": "https://room.example",
    }
    came_in, _ = ask(port, "POST", "/sign-in", form, **headers)
    assert (came_in.status, came_in.headers["Location"]) == (302, "/")
    elsewhere, _ = ask(port, "POST", "/sign-in", form, **(headers | {"Origin": "https://other.example"}))
    assert elsewhere.status == 403
    served.send_signal(signal.SIGTERM)
    assert served.wait(20) == 0


def test_a_request_larger_than_any_sheet_is_refused_before_it_is_read(
    service: tuple[int, subprocess.Popen[str]],
) -> None:
    """Nothing of the body is sent: a server that wants to read it first would not answer."""
    ask(service[0], "GET", "/sign-in")
    line = http.client.HTTPConnection("127.0.0.1", service[0], timeout=10)
    line.putrequest("POST", "/sign-in", skip_host=True)
    for name, value in (DOOR | {"Content-Length": str(LARGEST_REQUEST_BYTES + 1)}).items():
        line.putheader(name, value)
    line.endheaders()
    assert line.getresponse().status == 413
    line.close()
