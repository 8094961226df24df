"""Failed tries at the sign-in page, remembered for a quarter of an hour: whoever has too many waits."""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from eggtooth.records import models

KNOCKS, WITHIN = 5, timedelta(minutes=15)
LONGEST_NAME, LONGEST_ADDRESS = 60, 60


def knocked(name: str, address: str) -> None:
    """Remember a failed sign-in, and forget those of long ago."""
    models.Knock.objects.filter(at__lt=timezone.now() - WITHIN).delete()
    models.Knock.objects.create(name=name[:LONGEST_NAME], address=address[:LONGEST_ADDRESS])


def too_many(name: str, address: str, device: str = "") -> bool:
    """Whether there were too many failed tries lately.

    A device on which this person has signed in before is counted alone, so that strangers cannot shut it out.
    From elsewhere both the name's tries, wherever made, and the address's count.
    """
    recent = models.Knock.objects.filter(at__gte=timezone.now() - WITHIN)
    of_name = recent.filter(name=name[:LONGEST_NAME])
    if device:
        return of_name.filter(address=device[:LONGEST_ADDRESS]).count() >= KNOCKS
    of_address = recent.filter(address=address[:LONGEST_ADDRESS])
    return of_name.count() >= KNOCKS or of_address.count() >= 4 * KNOCKS


def name_if_known(name: str) -> str:
    """The name if somebody bears it; what else was typed there may be a password, and is not written down."""
    return name if models.Person.objects.filter(name=name).exists() else ""
