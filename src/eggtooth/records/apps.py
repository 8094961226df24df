"""The store as a Django app."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    """Puts the append-only triggers back after every migration."""

    name = "eggtooth.records"
    label = "records"

    def ready(self) -> None:
        """A migration that rebuilds a table drops its triggers, so they are made after each one."""
        post_migrate.connect(_guard, sender=self)


def _guard(**said: Any) -> None:
    from eggtooth.records.append_only import guard

    guard(said["using"])
