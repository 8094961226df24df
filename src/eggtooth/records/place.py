"""Where the store lies, and the secret key kept beside it. Knows nothing of Django."""

from __future__ import annotations

import os
import secrets
import sys
from pathlib import Path

NAME = "eggtooth.sqlite3"


def store_path() -> Path:
    """`EGGTOOTH_STORE`, else `eggtooth/eggtooth.sqlite3` in the platform's folder for a user's data."""
    named = os.environ.get("EGGTOOTH_STORE")
    return Path(named).expanduser() if named else user_data_folder() / "eggtooth" / NAME


def database_address() -> str:
    """`EGGTOOTH_DATABASE`, like `postgresql://…`; empty where the store is a SQLite file."""
    return os.environ.get("EGGTOOTH_DATABASE", "").strip()


def store_named() -> bool:
    """Whether there is a store, as far as can be told without opening it."""
    return bool(database_address()) or store_path().exists()


def backups_folder(store: Path) -> Path:
    """`EGGTOOTH_BACKUPS`, best on another disk, else the folder `backups` beside the store."""
    named = os.environ.get("EGGTOOTH_BACKUPS")
    return Path(named).expanduser() if named else store.absolute().with_name("backups")


def user_data_folder() -> Path:
    """The folder where this platform keeps a user's data."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")


def key_path(store: Path) -> Path:
    """The file with the store's secret key."""
    return store.with_name(store.name + ".key")


def secret_key(store: Path) -> str:
    """`EGGTOOTH_SECRET_KEY`, else the store's own key, or one for this process alone before there is one."""
    if named := os.environ.get("EGGTOOTH_SECRET_KEY"):
        return named
    try:
        return key_path(store).read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return secrets.token_urlsafe(50)


def make_key(store: Path) -> None:
    """Make the key if there is none; only its owner may read it. Two that make it at once agree on one."""
    from eggtooth.records.whole import put_once

    store.parent.mkdir(parents=True, exist_ok=True)
    put_once(key_path(store), f"{secrets.token_urlsafe(50)}\n".encode("ascii"), 0o600)
