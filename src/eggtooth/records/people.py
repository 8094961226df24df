"""Who may come in: people with a role and a password, their secret addresses and tokens.

Passwords are hashed by the framework (PBKDF2); secrets are random, shown once, and kept as SHA-256. Whatever
changes is written into the door book in the same transaction; `by` is the name of whoever changes it, empty
for whoever sits at the machine itself.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from eggtooth.engine.wording import say
from eggtooth.records import models
from eggtooth.records.door_book import Did, write
from eggtooth.records.files.fields import words_of

LONGEST_NAME = LONGEST_LABEL = 60


class Role(StrEnum):
    """What a person may do; each may also do what the ones after it may."""

    OWNER = "owner"
    HELPER = "helper"
    READER = "reader"


class Purpose(StrEnum):
    """What a secret opens."""

    CALENDAR = "calendar"
    INTERFACE = "interface"


MADE = {Purpose.CALENDAR: Did.CALENDAR, Purpose.INTERFACE: Did.TOKEN}
ENDED = {Purpose.CALENDAR: Did.CALENDAR_ENDED, Purpose.INTERFACE: Did.TOKEN_ENDED}


@dataclass(frozen=True, slots=True)
class Keeper:
    """Whoever is at the page: the name that entries bear, and the role."""

    name: str
    role: Role

    def may(self, role: Role) -> bool:
        """Whether this one may do what a role may."""
        order = list(Role)
        return order.index(self.role) <= order.index(role)


class Known(NamedTuple):
    """A person; `first_until` is the end of a first password that is still to be changed."""

    name: str
    role: Role
    active: bool
    first_until: datetime | None


def add(name: str, role: Role, password: str, by: str = "", first_until: datetime | None = None) -> None:
    """Let a person in, with a password of their own, or a first one that ends.

    Raises `ValueError` when the name is taken or empty, or the password too weak.
    """
    name = words_of("name", name, LONGEST_NAME)
    if not name:
        raise ValueError("name: the name is missing")
    person = models.Person(name=name, role=Role(role).value, first_until=first_until)
    _strong(password, person)
    person.set_password(password)
    try:
        with transaction.atomic():
            person.save(force_insert=True)
            write(Did.LET_IN, by, name, person.role)
            if first_until:
                write(Did.FIRST_PASSWORD, by, name)
    except IntegrityError:
        raise ValueError(f"name: {name} has a key already") from None


def change(name: str, role: Role | None = None, active: bool | None = None, by: str = "") -> None:
    """Give another role, or let in no longer. Raises `ValueError` when nobody would be owner then.

    An owner who has yet to choose a password does not count: perhaps they never come.
    """
    with transaction.atomic():
        # Two owners who demote each other wait in turn here; the second one then sees what the first one did.
        held = models.Person.objects.select_for_update().order_by("id")
        list(held.filter(role=Role.OWNER.value, is_active=True).values_list("id"))
        person = called(name)
        was = person.role, person.is_active
        person.role = role.value if role else person.role
        person.is_active = person.is_active if active is None else active
        person.save(update_fields=["role", "is_active"])
        settled = models.Person.objects.filter(role=Role.OWNER.value, is_active=True, first_until=None)
        if was == (Role.OWNER.value, True) and not settled.exists():
            raise ValueError(f"{name} is the last owner; make another one first")
        if not person.is_active:
            end_sessions(name)  # else they would live again when the person is let in again
            models.Secret.objects.filter(person=person, ended_at=None).update(ended_at=timezone.now())
        if person.role != was[0]:
            write(Did.ROLE, by, name, person.role)
        if person.is_active != was[1]:
            write(Did.IN_AGAIN if person.is_active else Did.OUT, by, name)


def set_password(name: str, password: str, by: str = "", first_until: datetime | None = None) -> None:
    """A new password: one's own, or a first one that ends.

    Raises `ValueError` when it is too weak or there is no such person, or when a first one is to stay.
    """
    person = called(name)
    if first_until is None and person.first_until and person.check_password(password):
        raise ValueError(say("This is the password you were given; choose another."))
    _strong(password, person)
    person.set_password(password)
    person.first_until = first_until
    with transaction.atomic():
        person.save(update_fields=["password", "first_until"])  # not the role, which another may be changing
        write(Did.FIRST_PASSWORD if first_until else Did.OWN_PASSWORD, by, name)
        if first_until:
            end_sessions(name)


def sign_out_everywhere(name: str) -> None:
    """Sign a person out on every device, at their own wish."""
    with transaction.atomic():
        end_sessions(name)
        write(Did.SIGNED_OUT, name, name)


def end_sessions(name: str) -> None:
    """Sign a person out on every device."""
    key = str(called(name).pk)
    open_ones = Session.objects.filter(expire_date__gte=timezone.now())
    theirs = [s.session_key for s in open_ones if s.get_decoded().get(SESSION_KEY) == key]
    Session.objects.filter(session_key__in=theirs).delete()


def owners() -> list[str]:
    """Names of the owners that may come in; one whose first password has ended may not."""
    active = models.Person.objects.filter(role=Role.OWNER.value, is_active=True)
    able = active.filter(Q(first_until=None) | Q(first_until__gt=timezone.now()))
    return list(able.order_by("name").values_list("name", flat=True))


def everyone() -> list[Known]:
    """Everyone with a key, by name."""
    rows = models.Person.objects.order_by("name").values_list("name", "role", "is_active", "first_until")
    return [Known(name, Role(role), active, until) for name, role, active, until in rows]


def called(name: str) -> models.Person:
    """The person of this name. Raises `ValueError` when there is none."""
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
    """A new secret of a person, told once. A calendar has one address at a time: the former one ends."""
    person, secret = called(name), secrets.token_urlsafe(32)
    label = words_of("label", label, LONGEST_LABEL)
    with transaction.atomic():
        if purpose is Purpose.CALENDAR:
            end_secrets(name, purpose)
        models.Secret.objects.create(
            person=person, purpose=purpose.value, label=label, digest=_digest(secret)
        )
        write(MADE[purpose], name, name, label)
    return secret


def end_secrets(name: str, purpose: Purpose, key: int | None = None) -> None:
    """End a person's secrets of one purpose, or the one with this key."""
    rows = models.Secret.objects.filter(person=called(name), purpose=purpose.value, ended_at=None)
    with transaction.atomic():
        for row in rows if key is None else rows.filter(id=key):
            row.ended_at = timezone.now()
            row.save(update_fields=["ended_at"])
            write(ENDED[purpose], name, name, row.label)


def secrets_of(name: str, purpose: Purpose) -> list[tuple[int, str, datetime]]:
    """Key, label and day of making of a person's open secrets."""
    rows = models.Secret.objects.filter(person__name=name, purpose=purpose.value, ended_at=None)
    return list(rows.order_by("id").values_list("id", "label", "made_at"))


def by_secret(secret: str, purpose: Purpose) -> Keeper | None:
    """Whose secret it is, if it is open, and its person is let in and has chosen a password of their own."""
    here = models.Secret.objects.filter(person__is_active=True, person__first_until=None)
    found = here.filter(digest=_digest(secret), purpose=purpose.value, ended_at=None)
    row = found.values_list("person__name", "person__role").first()
    return Keeper(row[0], Role(row[1])) if row else None


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
