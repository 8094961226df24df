"""Screenshots of every page of the invented colony, on a phone and on a desk: `make shots`."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from datetime import date
from pathlib import Path
from threading import Thread

FOLDER = Path("shots")
ON = date(2026, 2, 4)
PAGES = {
    "round": "/",
    "round-moves": "/?do=moves",
    "room": "/room",
    "tub": "/tub/B-1-1",
    "scale": "/scale",
    "feeding": "/feeding",
    "all": "/all",
    "away": "/away",
    "hatchlings": "/hatchlings",
    "new-animal": "/animals/new",
    "records": "/records?tag=F30",
    "settings": "/settings",
    "bring": "/bring",
    "labels": "/labels",
    "photos": "/animal/F30/photos",
    "papers": "/animal/F30/papers",
    "nights": "/nights",
    "edit-animal": "/animal/F30/edit",
    "note-animal": "/animal/F30/note",
    "hatchlings-enter": "/hatchlings/F25/2025-04-19",
    "find": "/find?tag=F99",
    "people": "/people",
    "door-book": "/people/book",
    "me": "/me",
    "sign-in": "/sign-in",
    "animal": "/animal/H25-01?gene=Clown",
    "animal-dam": "/animal/F30",
    "animal-settle": "/animal/M12?gene=Piebald#settle",
    "animal-female": "/animal/F28",
    "animal-male": "/animal/M02",
    "season": "/season",
    "males": "/males",
    "ready": "/ready",
    "ready-males": "/ready?sex=M",
    "clutches": "/clutches",
    "clutches-may": "/clutches?on=2025-05-20",
    "feeders": "/feeders",
    "review": "/review",
    "rates": "/rates",
    "rates-worked": "/rates?work=out",
    "doubts": "/doubts",
    "wishes": "/wishes",
    "plan": "/plan",
    "plan-pin": "/plan?pin=M09:F19",
    "cross-asking": "/cross",
    "cross": "/cross?sire=Pastel+het+Clown&dam=Pastel+het+Clown+Piebald&eggs=6",
    "cross-wrong": "/cross?sire=Pastl&dam=Clown&eggs=6",
    "routes-asking": "/routes",
    "routes": "/routes?wish=Super+Pastel+Clown+Desert+Ghost&seasons=4",
    "routes-none": "/routes?wish=Albino+Clown&seasons=2",
    "cross-spider": "/cross?sire=Spider+Pastel&dam=Spider&eggs=6",
}
SIZES = {"phone": (360, 740), "desk": (1280, 800)}


def main() -> int:
    """Make them all; prints where they are."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with tempfile.TemporaryDirectory() as folder:
        server, address = _serve(Path(folder) / "shots.sqlite3")
        try:
            _shoot(address)
        finally:
            server.stop()  # type: ignore[attr-defined]
    print(f"Screenshots are in {FOLDER}/")
    return 0


def _serve(store: Path) -> tuple[object, str]:
    from cheroot.wsgi import Server

    from eggtooth.cli.serve import application
    from eggtooth.jobs.invent import invent, keep

    os.environ["EGGTOOTH_TODAY"], os.environ["EGGTOOTH_SIGN_IN"] = ON.isoformat(), "0"
    keep(invent(1, ON), store)
    server = Server(("127.0.0.1", 0), application(), numthreads=4)
    server.prepare()
    Thread(target=server.serve, daemon=True).start()
    return server, f"http://127.0.0.1:{server.bind_addr[1]}"


def _shoot(address: str) -> None:
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import CHROMIUM, FLAGS

    FOLDER.mkdir(exist_ok=True)
    if not CHROMIUM:
        sys.exit("No Chromium here; install it with the system's package manager.")
    with sync_playwright() as tools:
        browser = tools.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for size, (width, height) in SIZES.items():
            for scheme in ("light", "dark"):
                view = {"width": width, "height": height}
                page = browser.new_page(viewport=view, color_scheme=scheme)  # type: ignore[arg-type]
                for name, path in PAGES.items():
                    page.goto(address + path)
                    page.screenshot(path=FOLDER / f"{name}-{size}-{scheme}.png")
                page.close()
        browser.close()


if __name__ == "__main__":
    shutil.rmtree(FOLDER, ignore_errors=True)
    sys.exit(main())
