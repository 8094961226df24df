"""Who may come in: people with a role and a password, their secret addresses and tokens, failed knocks.

Passwords are hashed by the framework (PBKDF2); secrets are random, shown once, and kept as SHA-256.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from eggtooth.records import models
from eggtooth.records.files.fields import words_of

KNOCKS, WITHIN = 5, timedelta(minutes=15)
LONGEST_NAME = 60


class Role(StrEnum):
    """What a person may do; each may also do what the ones after it may."""

    OWNER = "owner"
    HELPER = "helper"
    READER = "reader"


class Purpose(StrEnum):
    """What a secret opens."""

    CALENDAR = "calendar"
    INTERFACE = "interface"


@dataclass(frozen=True, slots=True)
class Keeper:
    """Whoever is at the page: the name that entries bear, and the role."""

    name: str
    role: Role

    def may(self, role: Role) -> bool:
        """Whether this one may do what a role may."""
        order = list(Role)
        return order.index(self.role) <= order.index(role)


def add(name: str, role: Role, password: str) -> None:
    """Let a person in. Raises `ValueError` when the name is taken or empty, or the password too weak."""
    name = words_of("name", name, LONGEST_NAME)
    if not name:
        raise ValueError("name: the name is missing")
    person = models.Person(name=name, role=Role(role).value)
    _strong(password, person)
    person.set_password(password)
    try:
        with transaction.atomic():
            person.save(force_insert=True)
    except IntegrityError:
        raise ValueError(f"name: {name} has a key already") from None


def change(name: str, role: Role | None = None, active: bool | None = None) -> None:
    """Give another role, or let in no longer. Raises `ValueError` when nobody would be owner then."""
    with transaction.atomic():
        # Two owners who demote each other wait in turn here; the second one then sees what the first one did.
        held = models.Person.objects.select_for_update().order_by("id")
        list(held.filter(role=Role.OWNER.value, is_active=True).values_list("id"))
        person = _person(name)
        person.role = role.value if role else person.role
        person.is_active = person.is_active if active is None else active
        person.save(update_fields=["role", "is_active"])
        if not models.Person.objects.filter(role=Role.OWNER.value, is_active=True).exists():
            raise ValueError(f"{name} is the last owner; make another one first")
        if not person.is_active:
            end_sessions(name)  # else they would live again when the person is let in again
            models.Secret.objects.filter(person=person, ended_at=None).update(ended_at=timezone.now())


def set_password(name: str, password: str) -> None:
    """A new password. Raises `ValueError` when it is too weak or there is no such person."""
    person = _person(name)
    _strong(password, person)
    person.set_password(password)
    person.save(update_fields=["password"])  # not the role, which another may be changing


def end_sessions(name: str) -> None:
    """Sign a person out on every device."""
    key = str(_person(name).pk)
    open_ones = Session.objects.filter(expire_date__gte=timezone.now())
    theirs = [s.session_key for s in open_ones if s.get_decoded().get(SESSION_KEY) == key]
    Session.objects.filter(session_key__in=theirs).delete()


def owners() -> list[str]:
    """Names of the owners that may come in."""
    active = models.Person.objects.filter(role=Role.OWNER.value, is_active=True)
    return list(active.order_by("name").values_list("name", flat=True))


def everyone() -> list[tuple[str, Role, bool]]:
    """Name, role and whether let in, by name."""
    rows = models.Person.objects.order_by("name").values_list("name", "role", "is_active")
    return [(name, Role(role), active) for name, role, active in rows]


def _person(name: str) -> models.Person:
    person = models.Person.objects.filter(name=name).first()
    if person is None:
        raise ValueError(f"name: {name} has no key here")
    return person


def _strong(password: str, person: models.Person) -> None:
    try:
        validate_password(password, person)
    except ValidationError as weak:
        raise ValueError(" ".join(weak.messages)) from None


def make_secret(name: str, purpose: Purpose, label: str = "") -> str:
    """A new secret, told once. A calendar has one address at a time: the former one ends."""
    person, secret = _person(name), secrets.token_urlsafe(32)
    with transaction.atomic():
        if purpose is Purpose.CALENDAR:
            end_secrets(name, purpose)
        models.Secret.objects.create(
            person=person, purpose=purpose.value, label=words_of("label", label, 60), digest=_digest(secret)
        )
    return secret


def end_secrets(name: str, purpose: Purpose, key: int | None = None) -> None:
    """End a person's secrets of one purpose, or the one with this key."""
    rows = models.Secret.objects.filter(person=_person(name), purpose=purpose.value, ended_at=None)
    (rows if key is None else rows.filter(id=key)).update(ended_at=timezone.now())


def secrets_of(name: str, purpose: Purpose) -> list[tuple[int, str, datetime]]:
    """Key, label and day of making of a person's open secrets."""
    rows = models.Secret.objects.filter(person__name=name, purpose=purpose.value, ended_at=None)
    return list(rows.order_by("id").values_list("id", "label", "made_at"))


def by_secret(secret: str, purpose: Purpose) -> Keeper | None:
    """Whose secret it is, if it is open and its person is let in."""
    row = (
        models.Secret.objects.filter(
            digest=_digest(secret), purpose=purpose.value, ended_at=None, person__is_active=True
        )
        .values_list("person__name", "person__role")
        .first()
    )
    return Keeper(row[0], Role(row[1])) if row else None


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def knocked(name: str, address: str) -> None:
    """Remember a failed sign-in, and forget those of long ago."""
    models.Knock.objects.filter(at__lt=timezone.now() - WITHIN).delete()
    models.Knock.objects.create(name=name[:LONGEST_NAME], address=address[:60])


def too_many(name: str, address: str, device: str = "") -> bool:
    """Whether there were too many failed tries lately.

    A device on which this person has signed in before is counted alone, so that strangers cannot shut it out.
    From elsewhere both the name's tries, wherever made, and the address's count.
    """
    recent = models.Knock.objects.filter(at__gte=timezone.now() - WITHIN)
    of_name = recent.filter(name=name[:LONGEST_NAME])
    if device:
        return of_name.filter(address=device[:60]).count() >= KNOCKS
    return of_name.count() >= KNOCKS or recent.filter(address=address[:60]).count() >= 4 * KNOCKS


def who_for_log(name: str) -> str:
    """The name if somebody bears it; what else was typed there may be a password, and is not written down."""
    return repr(name) if models.Person.objects.filter(name=name).exists() else "a name not known here"
