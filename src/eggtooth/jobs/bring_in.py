"""Bringing files into the store: all of it or nothing, and the same file twice is the same as once."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import Path
from uuid import UUID

from eggtooth.jobs.gather import Refused
from eggtooth.records import store
from eggtooth.records.files.keys import NO_ID, with_keys
from eggtooth.records.files.reading import NO_NOTATION, Notation, Paths, Reading, read_files
from eggtooth.records.files.refusal import Refusal, escaped
from eggtooth.records.files.writing import refused_text

SETTINGS = "settings.json"
CHOICES = "pairs.json"
Tell = Callable[[int, int], None]
"""Takes how many entries there are, and how many of them have gone in."""


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What an import kept, and where the refused lines were written."""

    animals: int
    entries: int
    entries_new: int
    wishes: int
    incubators: int
    refusals: tuple[Refusal, ...] = ()
    refused_files: tuple[Path, ...] = ()


def bring_in(
    paths: Paths,
    latest: date,
    *,
    keep_good: bool = False,
    settings: Path | None = None,
    choices: Path | None = None,
    notation: Notation = NO_NOTATION,
    tell: Tell | None = None,
) -> BroughtIn:
    """Read files into the open store. Raises `Refused` and keeps nothing when a line is refused.

    With `keep_good` the good lines are kept, and the refused ones come back beside each file as
    `NAME.refused.csv`. Wishes take the place of the former ones; animals and incubators are added or changed;
    entries are only added. A file that cannot be read at all is refused either way. `tell` hears how many of
    how many entries have gone in, once the files are read.
    """
    with store.all_or_nothing():
        found = read_files(paths, latest, store.colony(), notation)
        changed = list(_changed(found))
        found.entries = list(with_keys(found.entries))
        past = _settings_past(settings)
        whole = any(r.whole for r in found.refusals)
        if changed or whole or (found.refusals and not keep_good):
            raise Refused([*found.refusals, *changed])
        new = _keep(found, paths, tell)
        with _refused_as(settings):
            for setting in past:
                store.save_settings(setting.settings, setting.by, setting.when)
        with _refused_as(choices):
            for choice in _choices_past(choices):
                store.choose(choice.male, choice.female, choice.says, choice.by, choice.when)
    files = tuple(_write_refused(found))
    counts = len(found.animals), len(found.entries), new, len(found.wishes), len(found.incubators)
    return BroughtIn(*counts, tuple(found.refusals), files)


@contextmanager
def _refused_as(path: Path | None) -> Iterator[None]:
    """What the store will not keep of a file that was understood is a refusal of that file."""
    try:
        yield
    except ValueError as wrong:
        raise Refused([Refusal(path.name if path else "", 0, "", "", escaped(str(wrong)))]) from None


def _keep(found: Reading, paths: Paths, tell: Tell | None) -> int:
    store.save_animals(found.animals.values())
    if paths.incubators:
        store.save_incubators(found.incubators)
    if paths.wishes:
        store.save_wishes(found.wishes)
    entries = [*found.entries, *(e for e, _ in found.voided)]
    new = store.add_entries(entries, found.noted_at, partial(tell, len(entries)) if tell else None)
    for entry, voiding in found.voided:
        store.void(UUID(entry.id), voiding.by, voiding.why, voiding.when)
    return new


def _changed(found: Reading) -> Iterator[Refusal]:
    """Entries whose id is kept already with another content: entries do not change, so this is refused."""
    given = {e.id: e for e in found.entries if not e.id.startswith(NO_ID)}
    given |= {e.id: e for e, _ in found.voided}
    for key, kept in store.all_by_id(given).items():
        if kept != given[key]:
            wanted = "entries do not change: void this one, and add the right one without an id"
            yield Refusal("log.csv", 0, "entry id", key, f"is kept here as {kept}", wanted)


def _settings_past(path: Path | None) -> list[store.Setting]:
    """Dated settings of an export that are not in the store yet. Raises `Refused`."""
    if path is None:
        return []
    try:
        rows = json.loads(path.read_text(encoding="utf-8"))
        told = [_setting(row) for row in rows]
    except (OSError, ValueError, TypeError, KeyError, RecursionError) as wrong:
        raise Refused([Refusal(path.name, 0, "", "", f"the settings cannot be read: {wrong}")]) from None
    here = store.settings_past()
    return [s for s in told if s not in here]


def _choices_past(path: Path | None) -> list[store.Choice]:
    """Dated choices about pairs of an export that are not in the store yet. Raises `Refused`."""
    if path is None:
        return []
    try:
        told = [_choice(row) for row in json.loads(path.read_text(encoding="utf-8"))]
    except (OSError, ValueError, TypeError, KeyError, RecursionError) as wrong:
        raise Refused([Refusal(path.name, 0, "", "", f"the pins and bans cannot be read: {wrong}")]) from None
    here = store.choices_past()
    return [c for c in told if c not in here]


def _choice(row: dict[str, object]) -> store.Choice:
    when = datetime.fromisoformat(str(row["when"]))
    if when.tzinfo is None:
        raise ValueError(f"{row['when']} has no time zone")
    by, male, female, says = (str(row[name]) for name in ("by", "male", "female", "says"))
    return store.Choice(when, by, male, female, says)


def _setting(row: dict[str, object]) -> store.Setting:
    from eggtooth.records.house import settings_from

    when = datetime.fromisoformat(str(row["when"]))
    if when.tzinfo is None:
        raise ValueError(f"{row['when']} has no time zone")
    return store.Setting(when, str(row["by"]), settings_from(row["settings"]))


def _write_refused(found: Reading) -> Iterator[Path]:
    for path, (header, lines) in found.refused.items():
        beside = path.with_name(f"{path.stem}.refused.csv")
        beside.write_text(refused_text(header, lines), encoding="utf-8", newline="")
        yield beside
