"""A real browser on the live pages: Debian's or the system's Chromium, never a downloaded one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from threading import Thread

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")

expect.set_options(timeout=30_000)  # on a machine at its limit what is meant comes late

os.environ.setdefault(
    "DJANGO_ALLOW_ASYNC_UNSAFE", "1"
)  # playwright runs an event loop beside Django's sync code


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests; without one they are skipped on a desk and fail in CI."""
    if not CHROMIUM:
        if os.environ.get("CI"):
            pytest.fail("no Chromium; CI installs one")
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as tools:
        yield tools.chromium.launch(executable_path=CHROMIUM, args=FLAGS)


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    """A page as wide as a small phone."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True, locale="en-GB"
    )
    yield context.new_page()
    context.close()


@pytest.fixture
def plain_phone(browser: Browser) -> Iterator[Page]:
    """The same without JavaScript."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, java_script_enabled=False, locale="en-GB"
    )
    yield context.new_page()
    context.close()


@pytest.fixture
def pages(fresh_store: Path) -> Iterator[str]:
    """The pages of a fresh store, served as in use; the address."""
    from cheroot.wsgi import Server

    from eggtooth.cli.serve import application

    server = Server(("127.0.0.1", 0), application(), numthreads=4)
    server.prepare()
    thread = Thread(target=server.serve, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.bind_addr[1]}"
    server.stop()
    thread.join()
