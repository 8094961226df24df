"""Photos of animals, kept in the store itself: whatever carries the store carries them."""

from __future__ import annotations

import hashlib
from datetime import date
from typing import Any, NamedTuple

from django.db import transaction

from eggtooth.engine.wording import say
from eggtooth.records import models, upkeep
from eggtooth.records.files.refusal import Wrong, nearest

MOST_OF_ONE = 100
"""Photos of one animal; whoever has more would scroll, not look."""


class Kept(NamedTuple):
    """A photo without its bytes: its number, the day it was taken, its sides in pixels, who kept it."""

    number: int
    on: date
    width_px: int
    height_px: int
    by: str


class Full(ValueError):
    """An animal has as many photos as are kept of one."""


def of_animal(tag: str, most: int = MOST_OF_ONE) -> list[Kept]:
    """Its photos, the latest first; no image is read."""
    columns = "id", "on", "width_px", "height_px", "kept_by"
    found = models.Photo.objects.filter(animal__tag=tag).order_by("-on", "-id")
    return [Kept(*row) for row in found.values_list(*columns)[:most]]


def digest_of(tag: str, number: int) -> str:
    """The SHA-256 of a photo's bytes, without reading them; empty when there is no such photo."""
    return _one(tag, number).values_list("sha256", flat=True).first() or ""


def jpeg_of(tag: str, number: int) -> bytes | None:
    """The bytes of a photo."""
    jpeg = _one(tag, number).values_list("jpeg", flat=True).first()
    return None if jpeg is None else bytes(jpeg)


def add(tag: str, on: date, jpeg: bytes, width_px: int, height_px: int, by: str) -> int:
    """Keep a photo and return its number; one that is kept already stays as it is.

    Raises `Wrong` on an unknown tag, `Full`.
    """
    ids = dict(models.Animal.objects.values_list("tag", "id"))
    if tag not in ids:
        raise Wrong("tag", tag, say("is not an animal here"), "", nearest(tag, ids))
    said: dict[str, Any] = {
        "on": on, "jpeg": jpeg, "width_px": width_px, "height_px": height_px, "kept_by": by,
    }  # fmt: skip
    sha256 = hashlib.sha256(jpeg).hexdigest()
    with upkeep.in_turn(), transaction.atomic():
        upkeep.one_at_a_time()
        here = models.Photo.objects.filter(animal_id=ids[tag])
        if here.count() >= MOST_OF_ONE and not here.filter(sha256=sha256).exists():
            raise Full(
                f"{tag} has {MOST_OF_ONE} photos, the most that are kept of one animal; remove one first"
            )
        photo, _ = models.Photo.objects.get_or_create(animal_id=ids[tag], sha256=sha256, defaults=said)
    return int(photo.pk)


def remove(tag: str, number: int) -> bool:
    """Delete a photo; says whether it was there."""
    with upkeep.in_turn():
        return bool(_one(tag, number).delete()[0])


def _one(tag: str, number: int) -> Any:
    return models.Photo.objects.filter(animal__tag=tag, pk=number)
