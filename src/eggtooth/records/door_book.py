"""The door book: who changed people, passwords, roles, tokens and addresses, and who was turned away.

Lines are only added, and hold no password, token or address of a calendar. Whoever is turned away may be a
stranger who goes on trying, so of these only so many are written in a day.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone

from eggtooth.records import models, upkeep

LONGEST_NAME, LONGEST_WHAT = 60, 100
MOST_TURNED_AWAY = 200
"""Lines a day about those turned away: some 10 MB in a year in which somebody tries all the time."""


class Did(StrEnum):
    """What happened."""

    LET_IN = "let in"
    ROLE = "role given"
    OUT = "put out"
    IN_AGAIN = "let in again"
    FIRST_PASSWORD = "first password made"
    OWN_PASSWORD = "own password chosen"
    TOKEN = "token made"
    TOKEN_ENDED = "token ended"
    CALENDAR = "calendar address made"
    CALENDAR_ENDED = "calendar address ended"
    SIGNED_OUT = "signed out everywhere"
    WRONG = "sign-in failed"
    WAITS = "sign-in has to wait"
    TOO_LATE = "first password had ended"
    REFUSED = "page refused"
    NO_MORE = "no more written today"


TURNED_AWAY = (Did.WRONG, Did.WAITS, Did.TOO_LATE, Did.REFUSED, Did.NO_MORE)


class Line(NamedTuple):
    """One line. `by` is empty for a stranger, and for whoever sits at the machine itself."""

    number: int
    at: datetime
    did: str
    by: str
    whom: str
    what: str
    address: str

    @property
    def turned_away(self) -> bool:
        """Whether somebody was turned away, and nothing changed."""
        return self.did in TURNED_AWAY


def write(did: Did, by: str, whom: str = "", what: str = "") -> None:
    """Add a line about a change; to be called in the transaction that makes the change."""
    models.DoorNote.objects.create(
        did=did.value, by=by[:LONGEST_NAME], whom=whom[:LONGEST_NAME], what=what[:LONGEST_WHAT]
    )


def write_turned_away(did: Did, address: str, by: str = "", whom: str = "", what: str = "") -> None:
    """Add a line about somebody turned away, unless there are enough of them today (by UTC)."""
    midnight = timezone.now().replace(hour=0, minute=0, second=0, microsecond=0)
    today = models.DoorNote.objects.filter(at__gte=midnight, did__in=[d.value for d in TURNED_AWAY])
    if today.count() > MOST_TURNED_AWAY:  # asked first without a lock, which others may be waiting for
        return
    with upkeep.in_turn(), transaction.atomic():
        upkeep.one_at_a_time()
        written = today.count()
        if written < MOST_TURNED_AWAY:
            said = {"by": by[:LONGEST_NAME], "whom": whom[:LONGEST_NAME], "what": what[:LONGEST_WHAT]}
            models.DoorNote.objects.create(did=did.value, address=address[:60], **said)
        elif written == MOST_TURNED_AWAY:
            models.DoorNote.objects.create(did=Did.NO_MORE.value)


def latest(turned_away: bool | None = None, before: int | None = None, most: int = 100) -> list[Line]:
    """Lines, the newest first: all, or only those about the turned away, or only the others."""
    found = models.DoorNote.objects.order_by("-id")
    words = [d.value for d in TURNED_AWAY]
    if turned_away is not None:
        found = found.filter(did__in=words) if turned_away else found.exclude(did__in=words)
    if before is not None:
        found = found.filter(id__lt=before)
    return [Line(*row) for row in found.values_list(*_COLUMNS)[:most]]


def whole() -> list[Line]:
    """All lines, oldest first."""
    return [Line(*row) for row in models.DoorNote.objects.order_by("id").values_list(*_COLUMNS)]


_COLUMNS = ("id", "at", "did", "by", "whom", "what", "address")
