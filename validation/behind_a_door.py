"""The service as in use, knocked about: a door with https, two processes of pages, a worker, PostgreSQL.

Hands sign in and note through the door without pausing. Meanwhile one process of pages gets SIGKILL and is
started again, PostgreSQL is restarted, and crashed (`pg_ctl -m immediate`). In the end:

- every entry whose keeping was answered is there, once;
- every other answer was one a page's script takes as "send it again": 502, 503, 504 of the door or the pages
  (whose own say so in words), or no answer at all;
- a plan asked for meanwhile was worked out by the worker.

The door is Caddy, as in `server/compose.yaml`, but with a certificate of its own making. Where it or
PostgreSQL is not installed this says so and tries nothing.
"""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import ssl
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode
from uuid import uuid4

from validation._postgres import NoServer, Server, server
from validation.kills import OnServer

HOST, PASSWORD, HANDS = "room.localhost", "a long enough word for Ada", 8
EVERY_SECONDS = 5.0
AGAIN = {502, 503, 504}
Processes = list[subprocess.Popen[bytes]]


def free_port() -> int:
    """A port nobody listens on."""
    from eggtooth.cli.serve import listening

    return listening(0)


class Visitor:
    """Somebody with a browser of her own, signed in."""

    def __init__(self, port: int) -> None:
        """Sign in through the door."""
        self.port, self.cookies = port, dict[str, str]()
        self.line: http.client.HTTPSConnection | None = None
        _, text = self.ask("GET", "/sign-in")
        status, _ = self.ask("POST", "/sign-in", name="Ada", password=PASSWORD, **_token(text))
        assert status == 302, f"signing in was answered {status}"

    def ask(self, method: str, path: str, **said: str) -> tuple[int, str]:
        """One answer: its status and text; 0 where there was none."""
        if self.line is None:  # whose certificate it is does not matter here
            context = ssl._create_unverified_context()
            self.line = http.client.HTTPSConnection("127.0.0.1", self.port, timeout=60, context=context)
            self.line.connect = _by_name(self.line, context)  # type: ignore[method-assign]
        headers = {
            "Host": f"{HOST}:{self.port}",
            "Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items()),
            "Content-Type": "application/x-www-form-urlencoded",
            "Referer": f"https://{HOST}:{self.port}/",
        }
        try:
            self.line.request(method, path, urlencode(said), headers)
            answer = self.line.getresponse()
            text = answer.read().decode("utf-8", "replace")
        except (OSError, http.client.HTTPException):
            self.line.close()
            self.line = None
            return 0, ""
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = cookie.partition("=")
            self.cookies[name] = value.partition(";")[0]
        return answer.status, text


def _by_name(line: http.client.HTTPSConnection, context: ssl.SSLContext) -> object:
    """Connect here, but ask for the name of the house."""
    import socket

    def connect() -> None:
        plain = socket.create_connection(("127.0.0.1", line.port), 60)
        line.sock = context.wrap_socket(plain, server_hostname=HOST)

    return connect


def _token(text: str) -> dict[str, str]:
    found = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', text)
    return {"csrfmiddlewaretoken": found[1]} if found else {}


def notes(port: int, until: float) -> tuple[list[str], Counter[str]]:
    """One hand: the ids told as kept, and how often each other answer came."""
    visitor, kept, others = Visitor(port), list[str](), Counter[str]()
    _, page = visitor.ask("GET", "/tub/A-1-1")
    token, key = _token(page), uuid4().hex
    while time.monotonic() < until:
        status, text = visitor.ask(
            "POST", "/note", tap=f"{key}|grams|F1|", number="1500", on="2026-01-13", **token
        )
        if status == 302:
            kept.append(key)
            key = uuid4().hex
        else:  # the same id again, as a page does
            words = text[:60] if status == 503 else ""
            others[f"{status} {words}".strip()] += 1
            time.sleep(0.2)
    return kept, others


@contextmanager
def running(folder: Path, database: Server, python: str) -> Iterator[tuple[int, Processes, list[list[str]]]]:
    """The door's port, the two processes of pages (and the worker last), and their commands."""
    ports, door = [free_port(), free_port()], free_port()
    environment = os.environ | OnServer(folder, database).environment()
    environment |= {
        "EGGTOOTH_HOSTS": HOST,
        "EGGTOOTH_SIGN_IN": "1",
        "EGGTOOTH_HTTPS": "1",
        "EGGTOOTH_PROXY": "1",
    }
    environment |= {
        "EGGTOOTH_TODAY": "2026-01-13",
        "HOME": str(folder),
        "XDG_DATA_HOME": str(folder / "door"),
    }
    commands = [[python, "-m", "eggtooth.web.service", "127.0.0.1", str(port)] for port in ports]
    commands.append([python, "-m", "eggtooth", "work"])
    caddyfile = folder / "Caddyfile"
    pages = " ".join(f"127.0.0.1:{port}" for port in ports)
    caddyfile.write_text(
        f"{{\n admin off\n auto_https disable_redirects\n skip_install_trust\n}}\n"
        f"https://{HOST}:{door} {{\n tls internal\n reverse_proxy {pages} "
        "{\n lb_try_duration 5s\n }\n}\n"
    )
    log = (folder / "log").open("ab")
    started: Processes = [subprocess.Popen(c, env=environment, stdout=log, stderr=log) for c in commands]
    words = ["caddy", "run", "--config", str(caddyfile)]
    caddy = subprocess.Popen(words, env=environment, stdout=log, stderr=log)
    try:
        for port in ports:
            _listens(port)
        _listens(door)
        yield door, started, commands
    finally:
        for process in (*started, caddy):
            process.terminate()
        for process in (*started, caddy):
            process.wait(30)
        log.close()


def _listens(port: int) -> None:
    import socket

    for _ in range(300):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError(f"nothing listens on {port}")


PREPARE = f"""
from datetime import date
from eggtooth.records import store
from eggtooth.engine.colony import Animal, Sex, Tub, Wish
store.open_store()
from eggtooth.records import people
store.save_animals([Animal("F1", Sex.FEMALE, "", date(2019, 6, 1), "Clown", tub=Tub("A", 1, 1)),
    Animal("M1", Sex.MALE, "", date(2019, 6, 1), "Clown", tub=Tub("A", 1, 2))])
store.save_wishes([Wish("Clown", 1.0, 1)])
people.add("Ada", people.Role.OWNER, {PASSWORD!r})
"""


def main(seconds: float = EVERY_SECONDS, python: str = sys.executable) -> bool:
    """Holds when nothing is lost and every other answer was clear."""
    if not shutil.which("caddy"):
        print("NOT TRIED: Caddy is not installed: apt-get install caddy")
        return True
    try:
        with server() as database, tempfile.TemporaryDirectory() as folder:
            database.make("kills")
            store = OnServer(Path(folder), database)
            environment = os.environ | store.environment()
            subprocess.run([python, "-c", PREPARE], check=True, env=environment)
            faults = tried(store, seconds, python)
    except NoServer as none:
        print(f"NOT TRIED: {none}")
        return True
    print("\n".join(faults[:20]))
    return not faults


def tried(store: OnServer, seconds: float, python: str) -> list[str]:
    """Every fault of one trial: a calm, a kill, a start, a restart of the database, a crash of it, a calm."""
    with running(store.folder, store.server, python) as (door, processes, commands):
        until = time.monotonic() + 6 * seconds
        with ThreadPoolExecutor(HANDS) as pool:
            hands = [pool.submit(notes, door, until) for _ in range(HANDS)]
            time.sleep(seconds)
            processes[0].send_signal(signal.SIGKILL)
            time.sleep(seconds)
            again = subprocess.Popen(
                commands[0], env=_environment_of(processes[1]), stderr=subprocess.DEVNULL
            )
            processes.append(again)
            for way in ("fast", "immediate"):
                time.sleep(seconds)
                store.server.stop(way)
                store.server.start()
            said = [hand.result() for hand in hands]
        plan = _plan(Visitor(door))
    kept = [key for some, _ in said for key in some]
    others = sum((more for _, more in said), Counter[str]())
    there = Counter(key.hex for (key,) in store.rows("SELECT key FROM records_entry"))
    print(f"{len(kept):,} kept through the door; other answers: {dict(others)}; plan: {plan or 'worked out'}")
    faults = [f"{key} was kept and is there {there[key]} times" for key in kept if there[key] != 1]
    faults += [
        f"{n} answers were {said}" for said, n in others.items() if int(said.split()[0]) not in AGAIN | {0}
    ]
    faults += [] if len(kept) > HANDS * seconds else [f"only {len(kept)} were kept: this tries too little"]
    return faults + ([plan] if plan else [])


def _environment_of(process: subprocess.Popen[bytes]) -> dict[str, str]:
    said = Path(f"/proc/{process.pid}/environ").read_bytes().split(b"\0")
    return dict(pair.decode().split("=", 1) for pair in said if b"=" in pair)


def _plan(visitor: Visitor) -> str:
    """What is wrong with the plan page in the end; nothing once the worker's answer is shown."""
    text = ""
    for _ in range(60):
        _, text = visitor.ask("GET", "/plan")
        if "is worth more" in text and 'id="work"' not in text:
            return ""
        time.sleep(1)
    told = re.search(r'id="work".*?</section>', text, re.S)
    return f"the plan did not come: {told[0] if told else text[:200]}"


if __name__ == "__main__":
    sys.exit(not main(*map(float, sys.argv[1:2]), *sys.argv[2:]))
