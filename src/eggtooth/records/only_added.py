"""Rows that are only ever added. The same is held by triggers in the database, see `append_only`."""

from __future__ import annotations

from typing import Any, NoReturn

from django.db import models

WORDS = "these rows are only added: an entry is voided and another added, the door book grows"


class Added(models.QuerySet[Any]):
    """Rows that are only added."""

    def update(self, **said: Any) -> NoReturn:
        """Refused."""
        raise TypeError(WORDS)

    def delete(self) -> NoReturn:
        """Refused."""
        raise TypeError(WORDS)


class OnlyAdded(models.Model):
    """A row that can be added, and neither changed nor deleted."""

    objects = models.Manager.from_queryset(Added)()

    class Meta:
        """No table of its own."""

        abstract = True

    def save(self, *args: Any, **said: Any) -> None:
        """Add the row. Raises `TypeError` when it is there already."""
        if not self._state.adding:
            raise TypeError(WORDS)
        super().save(*args, **said)

    def delete(self, *args: Any, **said: Any) -> NoReturn:
        """Refused."""
        raise TypeError(WORDS)
