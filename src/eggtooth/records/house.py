"""The house's settings as dated rows of one json value each, checked by the engine's own `Settings`."""

from __future__ import annotations

from dataclasses import asdict, fields
from datetime import datetime
from typing import Any

from eggtooth.engine.house import Settings
from eggtooth.records import models
from eggtooth.records.store import Setting


def past() -> list[Setting]:
    """All settings there were, oldest first. Raises `ValueError` when a row is no longer understood."""
    rows = models.HouseChange.objects.order_by("id").values_list("changed_at", "changed_by", "settings")
    return [Setting(when, by, settings_from(said)) for when, by, said in rows]


def now() -> Settings:
    """The settings in force. Raises `ValueError` when they are no longer understood."""
    said = models.HouseChange.objects.order_by("-id").values_list("settings", flat=True).first()
    return Settings() if said is None else settings_from(said)


def save(settings: Settings, by: str, when: datetime | None = None) -> None:
    """Put settings in force by adding a row."""
    said: dict[str, Any] = {"changed_at": when} if when else {}
    models.HouseChange.objects.create(changed_by=by, settings=settings_json(settings), **said)


def settings_json(settings: Settings) -> dict[str, Any]:
    """Settings as plain json: tuples become lists."""
    return {name: list(v) if isinstance(v, tuple) else v for name, v in asdict(settings).items()}


def settings_from(said: object) -> Settings:
    """Settings from json; a name missing takes its usual value. Raises `ValueError` on anything else."""
    usual = Settings()
    if not isinstance(said, dict):
        raise ValueError(f"settings are an object of names and values, not {type(said).__name__}")
    known = {f.name for f in fields(Settings)}
    if unknown := sorted(set(said) - known):
        raise ValueError(f"unknown settings: {', '.join(unknown)}")
    return Settings(**{name: _like(name, value, getattr(usual, name)) for name, value in said.items()})


def _like(name: str, value: Any, usual: Any) -> Any:
    """The value in the kind the usual one has."""
    if isinstance(usual, tuple):
        kinds = {type(part) for part in usual}
        if isinstance(value, list | tuple) and {type(part) for part in value} <= kinds:
            return tuple(value)
    elif isinstance(usual, int | float) and not isinstance(usual, bool):
        if isinstance(value, int | float) and not isinstance(value, bool):
            return value
    elif type(value) is type(usual):
        return value
    raise ValueError(f"{name} cannot be {value!r}; it is like {usual!r}")
