"""First passwords: made here at random, told once, good for a few days and for one page only.

Whoever is given one chooses a password of their own before any other page opens; until then their tokens and
calendar's address rest. So asks OWASP ASVS 5.0, V6.4.1.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import NamedTuple

from django.utils import timezone

from eggtooth.records import models, people
from eggtooth.records.people import Role

GOOD_FOR = timedelta(days=7)
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without those that are taken for each other when they are read out or copied by hand."""
PARTS, LONG = 4, 5
"""20 of 31 letters are some 99 bits."""


class First(NamedTuple):
    """A first password, which is told once, and its end."""

    name: str
    password: str
    until: datetime


def let_in(name: str, role: Role, by: str = "") -> First:
    """Let a person in. Raises `ValueError` when the name is taken or empty."""
    first = _made(name)
    people.add(name, role, first.password, by, first.until)
    return first


def renew(name: str, by: str = "") -> First:
    """A new first password; the former password and all sessions end. Raises `ValueError`: no such person."""
    first = _made(name)
    people.set_password(name, first.password, by, first.until)
    return first


def _made(name: str) -> First:
    parts = ("".join(secrets.choice(LETTERS) for _ in range(LONG)) for _ in range(PARTS))
    return First(name, "-".join(parts), timezone.now() + GOOD_FOR)


def ended(person: models.Person) -> bool:
    """Whether this person's password is a first one that is good no longer."""
    return person.first_until is not None and person.first_until <= timezone.now()


def to_be_changed(person: models.Person) -> bool:
    """Whether this person has yet to choose a password of their own."""
    return person.first_until is not None
