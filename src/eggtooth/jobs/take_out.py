"""Writing the whole store as plain files; bringing them into an empty store gives the same store."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from eggtooth.jobs.bring_in import CHOICES, SETTINGS
from eggtooth.records import store
from eggtooth.records.backups import Unsound
from eggtooth.records.damaged import Found, read_damaged
from eggtooth.records.files.reading import Paths
from eggtooth.records.files.writing import (
    animals_text,
    csv_text,
    incubators_text,
    log_text,
    voided_text,
    wishes_text,
)
from eggtooth.records.place import store_path

__all__ = ["NAMES", "Occupied", "Unsound", "paths_in", "take_out", "take_out_damaged", "texts"]
LOST = "lost.txt"
DOOR_BOOK = "door.csv"
"""Only to be read: people and their keys are not brought into another store, and nor is their past."""
DOOR_COLUMNS = ("at", "did", "by", "whom", "what", "address")
NAMES = {name: f"{name}.csv" for name in ("animals", "log", "wishes", "incubators", "voided")}


class Occupied(Exception):
    """There is something in the way; nothing is ever written over."""


def take_out(folder: Path) -> list[Path]:
    """Write the open store into a new (or empty) folder, all files or none; returns the files.

    Raises `Occupied` when the folder holds anything, `OSError` when it cannot be written.
    """
    return _written(folder, texts)


def take_out_damaged(folder: Path) -> tuple[list[Path], list[str]]:
    """Write what a damaged store still says; returns the files, and a line for each thing lost.

    The lines stand in `lost.txt` too. Raises as `take_out` does, and `Unsound` when nothing can be read.
    """
    found = read_damaged(store_path())
    return _written(folder, lambda: _damaged_texts(found)), found.lost


def _damaged_texts(found: Found) -> dict[str, str]:
    texts = {
        NAMES["animals"]: animals_text(found.animals),
        NAMES["log"]: log_text(found.entries, found.noted_at),
        NAMES["wishes"]: wishes_text(found.wishes),
        NAMES["incubators"]: incubators_text(found.incubators),
        LOST: "".join(f"{line}\n" for line in found.lost),
    }
    if found.voided:
        texts[NAMES["voided"]] = voided_text(found.voided, found.noted_at)
    if found.settings:
        texts[SETTINGS] = json.dumps(found.settings, indent=1) + "\n"
    return texts


def _written(folder: Path, texts: Callable[[], dict[str, str]]) -> list[Path]:
    folder = folder.absolute()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Occupied(f"{folder} holds something already; name a new folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    making = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        for name, text in texts().items():
            (making / name).write_text(text, encoding="utf-8", newline="")
        if folder.exists():
            folder.rmdir()
        making.replace(folder)
    except BaseException:
        shutil.rmtree(making, ignore_errors=True)
        raise
    folder.chmod(0o755)
    return sorted(folder.iterdir())


def texts() -> dict[str, str]:
    """The whole store as files, by name."""
    with store.one_moment():
        colony, noted_at = store.colony(), store.noted_at()
        texts = {
            NAMES["animals"]: animals_text(colony.animals.values()),
            NAMES["log"]: log_text(store.entries(), noted_at),
            NAMES["wishes"]: wishes_text(colony.wishes),
            NAMES["incubators"]: incubators_text(colony.incubators.values()),
        }
        if voided := store.voided():
            texts[NAMES["voided"]] = voided_text(voided, noted_at)
        if past := store.settings_past():
            texts[SETTINGS] = json.dumps([_setting_json(s) for s in past], indent=1) + "\n"
        if choices := store.choices_past():
            texts[CHOICES] = json.dumps([_choice_json(c) for c in choices], indent=1) + "\n"
        if lines := store.door_book():
            texts[DOOR_BOOK] = csv_text(DOOR_COLUMNS, ([at.isoformat(), *words] for at, *words in lines))
    return texts


def _setting_json(setting: store.Setting) -> dict[str, object]:
    from eggtooth.records.house import settings_json

    return {
        "when": setting.when.isoformat(),
        "by": setting.by,
        "settings": settings_json(setting.settings),
    }


def _choice_json(choice: store.Choice) -> dict[str, object]:
    return {**choice._asdict(), "when": choice.when.isoformat()}


def paths_in(folder: Path) -> tuple[Paths, Path | None]:
    """The files of an export that lie in a folder, and its settings if there are any."""
    there = {name: folder / file for name, file in NAMES.items() if (folder / file).is_file()}
    settings = folder / SETTINGS
    return Paths(**there), settings if settings.is_file() else None


def choices_in(folder: Path) -> Path | None:
    """The choices about pairs of an export, if there are any."""
    choices = folder / CHOICES
    return choices if choices.is_file() else None
