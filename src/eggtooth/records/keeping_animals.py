"""What is arranged rather than seen: animals, tubs, wishes and incubators. These may be changed."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import IntegrityError, transaction

from eggtooth.engine import colony as values
from eggtooth.engine.wording import say
from eggtooth.records import models
from eggtooth.records.files.refusal import Wrong, nearest

BATCH = 500


def save_animals(animals: Iterable[values.Animal]) -> None:
    """Keep animals, new and changed. Raises `ValueError` on an unknown parent or what the tables forbid.

    Parents are set in a second step, since a parent may stand after its child.
    """
    given = {a.tag: a for a in animals}
    try:
        with transaction.atomic():
            tubs = _tubs({a.tub for a in given.values() if a.tub})
            _upsert(given, tubs)
            _set_parents(given)
    except IntegrityError as broken:
        raise ValueError(f"an animal cannot be kept: {broken}") from broken


def _tubs(wanted: set[values.Tub]) -> dict[values.Tub, int]:
    """The places in the room, made where they are new."""
    models.Rack.objects.bulk_create([models.Rack(name=n) for n in _new_racks(wanted)])
    racks = dict(models.Rack.objects.values_list("name", "id"))
    here = _known_tubs()
    new = [models.Tub(rack_id=racks[t.rack], row=t.row, place=t.place) for t in sorted(wanted - here.keys())]
    models.Tub.objects.bulk_create(new, batch_size=BATCH)
    return _known_tubs()


def _new_racks(wanted: set[values.Tub]) -> list[str]:
    known = set(models.Rack.objects.values_list("name", flat=True))
    return sorted({t.rack for t in wanted} - known)


def _known_tubs() -> dict[values.Tub, int]:
    rows = models.Tub.objects.values_list("rack__name", "row", "place", "id")
    return {values.Tub(rack, row, place): key for rack, row, place, key in rows}


def _upsert(given: dict[str, values.Animal], tubs: dict[values.Tub, int]) -> None:
    rows = [
        models.Animal(
            tag=a.tag,
            name=a.name,
            sex=a.sex.value,
            hatched=a.hatched,
            genes=a.genes,
            clutch=a.clutch,
            tub_id=tubs[a.tub] if a.tub else None,
            state=a.state.value,
            note=a.note,
        )
        for a in given.values()
    ]
    changing = ["name", "sex", "hatched", "genes", "clutch", "tub", "state", "note"]
    models.Animal.objects.bulk_create(
        rows, batch_size=BATCH, update_conflicts=True, unique_fields=["tag"], update_fields=changing
    )


def _set_parents(given: dict[str, values.Animal]) -> None:
    ids = dict(models.Animal.objects.values_list("tag", "id"))
    rows = list(
        models.Animal.objects.filter(tag__in=given) if len(given) < BATCH else models.Animal.objects.all()
    )
    rows = [row for row in rows if row.tag in given]
    for row in rows:
        dam = given[row.tag].dam
        row.dam_id = _parent(ids, "dam", dam) if dam else None
    models.Animal.objects.bulk_update(rows, ["dam"], batch_size=BATCH)
    for chunk in range(0, len(rows), BATCH):
        models.Sire.objects.filter(child__in=[r.id for r in rows[chunk : chunk + BATCH]]).delete()
    sires = [
        models.Sire(child_id=ids[a.tag], sire_id=_parent(ids, "sire", sire), rank=rank)
        for a in given.values()
        for rank, sire in enumerate(a.sires)
    ]
    models.Sire.objects.bulk_create(sires, batch_size=BATCH)


def _parent(ids: dict[str, int], role: str, tag: str) -> int:
    if tag not in ids:
        raise Wrong(role, tag, say("is not an animal here"), "", nearest(tag, ids))
    return ids[tag]


def save_wishes(wishes: Iterable[values.Wish]) -> None:
    """Keep these wishes in place of the former ones."""
    with transaction.atomic():
        models.Wish.objects.all().delete()
        models.Wish.objects.bulk_create(
            [models.Wish(text=w.text, weight=w.weight, count=w.count) for w in wishes]
        )


def save_incubators(incubators: Iterable[values.Incubator]) -> None:
    """Keep incubators, new and changed."""
    rows = [models.Incubator(tag=i.tag, places=i.places, target_c=i.target_c) for i in incubators]
    models.Incubator.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["tag"], update_fields=["places", "target_c"]
    )
