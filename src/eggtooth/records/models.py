"""The tables. What was seen (entries) is only added; what is arranged (animals, wishes) may change."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from functools import reduce
from operator import or_
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from eggtooth.engine.colony import Sex, State
from eggtooth.engine.entries import WITH_PARTNER, Kind
from eggtooth.records.files.details import MEASURES, NEEDED
from eggtooth.records.files.fields import (
    EARLIEST,
    LONGEST_BY,
    LONGEST_CLUTCH,
    LONGEST_DETAIL,
    LONGEST_GENES,
    LONGEST_NAME,
    LONGEST_TAG,
    LONGEST_WISH,
)
from eggtooth.records.only_added import OnlyAdded


def _one_of(kinds: Iterable[Kind]) -> Q:
    """The kind is one of these. Not written as `IN`: SQLite builds a table for each, at each new row."""
    return reduce(or_, (Q(kind=k.value) for k in Kind if k in set(kinds)))


MEASURED = _one_of(MEASURES)
PARTNERED = _one_of(WITH_PARTNER)
DETAILED = _one_of(set(NEEDED) - WITH_PARTNER)


class Rack(models.Model):
    """A rack of tubs."""

    name = models.CharField(max_length=LONGEST_TAG, unique=True)

    class Meta:
        """What a rack cannot be."""

        # A rack without a name would make tubs that no file can write down.
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(name=""), name="rack_named")]


class Tub(models.Model):
    """One place in a rack."""

    rack = models.ForeignKey(Rack, models.PROTECT)
    row = models.PositiveIntegerField()
    place = models.PositiveIntegerField()

    class Meta:
        """One row for each place in the room."""

        # Two rows for one place would hide that two animals sit in it.
        constraints: ClassVar = [models.UniqueConstraint(fields=["rack", "row", "place"], name="tub_once")]


class Animal(models.Model):
    """One animal as recorded. `genes` is the text as typed: what it means is computed, never stored."""

    tag = models.CharField(max_length=LONGEST_TAG, unique=True)
    name = models.CharField(max_length=LONGEST_NAME, blank=True)
    sex = models.CharField(max_length=1, blank=True)
    hatched = models.DateField(null=True)
    genes = models.CharField(max_length=LONGEST_GENES, blank=True)
    dam = models.ForeignKey("self", models.PROTECT, null=True, related_name="laid_by")
    clutch = models.CharField(max_length=LONGEST_CLUTCH, blank=True)
    tub = models.ForeignKey(Tub, models.PROTECT, null=True)
    state = models.CharField(max_length=10, default=State.HERE.value)
    note = models.TextField(blank=True)

    class Meta:
        """What no animal can be."""

        constraints: ClassVar = [
            # The bar parts candidate sires in the files; a tag holding one could not be read back.
            models.CheckConstraint(condition=~Q(tag="") & ~Q(tag__contains="|"), name="animal_tagged"),
            # Every odds and every move rests on the sex; a third spelling would fall out of both.
            models.CheckConstraint(condition=Q(sex__in=[s.value for s in Sex]), name="animal_sex"),
            # An unknown state would leave an animal neither in the room nor out of it.
            models.CheckConstraint(condition=Q(state__in=[s.value for s in State]), name="animal_state"),
            # Its own mother: every walk up the pedigree would go round for ever.
            models.CheckConstraint(condition=Q(dam=None) | ~Q(dam=F("id")), name="animal_not_own_dam"),
            # A hatch date typed into the wrong century makes every age wrong.
            models.CheckConstraint(
                condition=Q(hatched=None) | Q(hatched__gte=EARLIEST), name="animal_hatched"
            ),
        ]


class Sire(models.Model):
    """One candidate sire of an animal; more than one row means it is not known which."""

    child = models.ForeignKey(Animal, models.CASCADE, related_name="sires")
    sire = models.ForeignKey(Animal, models.PROTECT, related_name="fathered")
    rank = models.PositiveSmallIntegerField()

    class Meta:
        """A candidate stands once."""

        constraints: ClassVar = [
            # A candidate named twice would count double among the odds of who fathered it.
            models.UniqueConstraint(fields=["child", "sire"], name="sire_once"),
            # Its own father: every walk up the pedigree would go round for ever.
            models.CheckConstraint(condition=~Q(child=F("sire")), name="sire_not_self"),
        ]


class Entry(OnlyAdded):
    """One thing seen. `key` is made by whoever notes it, so that sending it twice keeps it once.

    `at` is what the room's clock showed, as ISO text; `seq` keeps the order of noting. `detail` is written as
    in the log, except that the other animal of a pairing is a reference.
    """

    seq = models.BigAutoField(primary_key=True)
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    on = models.DateField(db_index=True, db_column="on_day")
    at = models.CharField(max_length=40, blank=True)
    animal = models.ForeignKey(Animal, models.PROTECT, null=True, related_name="+")
    place = models.CharField(max_length=LONGEST_TAG, blank=True)
    kind = models.CharField(max_length=20)
    value = models.FloatField(null=True)
    detail = models.CharField(max_length=LONGEST_DETAIL, blank=True)
    other = models.ForeignKey(Animal, models.PROTECT, null=True, related_name="+", db_index=False)
    noted_by = models.CharField(max_length=LONGEST_BY, blank=True)
    noted_at = models.DateTimeField(db_default=Now())
    note = models.TextField(blank=True)

    class Meta:
        """What no entry can say; what is merely odd is kept and shown as a doubt."""

        indexes: ClassVar = [
            # Few entries name another animal; an index over the others would be dead weight.
            models.Index(fields=["other"], condition=~Q(other=None), name="entry_other"),
        ]
        constraints: ClassVar = [
            # A kind nobody knows would be silently left out of every computation.
            models.CheckConstraint(condition=_one_of(Kind), name="entry_kind"),
            # An entry about nothing, or two things, can be shown nowhere; only temperatures have places.
            models.CheckConstraint(
                condition=Q(animal__isnull=False, place="")
                | (Q(animal=None, kind=Kind.TEMPERATURE.value) & ~Q(place="")),
                name="entry_about_one",
            ),
            # A weight without grams, or grams on a shed, would count as nothing or as something else.
            models.CheckConstraint(
                condition=(MEASURED & Q(value__isnull=False)) | (~MEASURED & Q(value=None)),
                name="entry_value",
            ),
            # Infinite or negative numbers poison every mean.
            models.CheckConstraint(
                condition=Q(value=None) | Q(value__gte=0, value__lt=1_000_000), name="entry_value_finite"
            ),
            # A pairing is between two animals; nothing else names a second one.
            models.CheckConstraint(
                condition=(PARTNERED & Q(other__isnull=False, detail="")) | (~PARTNERED & Q(other=None)),
                name="entry_with_other",
            ),
            # An animal cannot sit with itself.
            models.CheckConstraint(condition=Q(other=None) | ~Q(other=F("animal")), name="entry_not_self"),
            # A sign, a test or a move says nothing without its detail.
            models.CheckConstraint(condition=~(DETAILED & Q(detail="")), name="entry_detail"),
            # Long past days are slips of the hand.
            models.CheckConstraint(condition=Q(on__gte=EARLIEST), name="entry_on"),
        ]


class Voiding(OnlyAdded):
    """An entry taken back: who did so, when and why. The entry itself stays."""

    entry = models.OneToOneField(Entry, models.PROTECT, primary_key=True)  # taken back once, not twice
    voided_by = models.CharField(max_length=LONGEST_BY, blank=True)
    voided_at = models.DateTimeField(db_default=Now())
    why = models.TextField(blank=True)


class Wish(models.Model):
    """What the breeder wants to see hatch."""

    text = models.CharField(max_length=LONGEST_WISH)
    weight = models.FloatField(default=1)
    count = models.PositiveIntegerField(default=1)

    class Meta:
        """What no wish can be."""

        constraints: ClassVar = [
            # A negative weight would make the plan work against its own wish.
            models.CheckConstraint(
                condition=~Q(text="") & Q(weight__gte=0, weight__lte=1e6), name="wish_weight"
            ),
            # Nobody wants none.
            models.CheckConstraint(condition=Q(count__gte=1), name="wish_count"),
        ]


class Incubator(models.Model):
    """A box with places for clutches."""

    tag = models.CharField(max_length=LONGEST_TAG, unique=True)
    places = models.PositiveIntegerField()
    target_c = models.FloatField()

    class Meta:
        """What no incubator can be."""

        constraints: ClassVar = [
            # Degrees Fahrenheit typed here would cook the forecast, if not the eggs.
            models.CheckConstraint(condition=Q(target_c__gte=20, target_c__lte=40), name="incubator_target"),
            models.CheckConstraint(
                condition=Q(places__gte=1), name="incubator_places"
            ),  # else it holds nothing
        ]


class PairChoice(models.Model):
    """The keeper's choice about a pair from a moment on; empty `says` takes it back. A change adds a row."""

    male = models.ForeignKey(Animal, models.PROTECT, related_name="+")
    female = models.ForeignKey(Animal, models.PROTECT, related_name="+")
    says = models.CharField(max_length=10, blank=True)
    chosen_at = models.DateTimeField(db_default=Now())
    chosen_by = models.CharField(max_length=100, blank=True)

    class Meta:
        """What no choice can be."""

        constraints: ClassVar = [
            # A third word would be taken for no choice at all, and the pair made or not against the keeper.
            models.CheckConstraint(condition=Q(says__in=["pin", "ban", ""]), name="pair_choice_says"),
            # An animal is not paired with itself.
            models.CheckConstraint(condition=~Q(male=F("female")), name="pair_choice_two"),
        ]


class Photo(models.Model):
    """A photo of an animal, as a JPEG without metadata. Nothing but what shows it reads `jpeg`."""

    animal = models.ForeignKey(Animal, models.PROTECT, related_name="+")
    on = models.DateField(db_column="on_day")
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    kept_at = models.DateTimeField(db_default=Now())
    kept_by = models.CharField(max_length=100, blank=True)
    jpeg = models.BinaryField()  # last: SQLite reads a row up to the column asked for

    class Meta:
        """What no photo can be."""

        constraints: ClassVar = [
            # Sent twice from a phone with a poor line, it is kept once.
            models.UniqueConstraint(fields=["animal", "sha256"], name="photo_once"),
            # A year typed wrong would put it first or last for ever.
            models.CheckConstraint(condition=Q(on__gte=EARLIEST), name="photo_on"),
            # A picture without sides shows nothing.
            models.CheckConstraint(condition=Q(width_px__gte=1, height_px__gte=1), name="photo_sides"),
        ]


class HouseChange(models.Model):
    """The house's settings from a moment on. A change adds a row; going back adds the former one again."""

    changed_at = models.DateTimeField(db_default=Now())
    changed_by = models.CharField(max_length=100, blank=True)
    settings = models.JSONField()


class Person(AbstractBaseUser):
    """Somebody who may come in. The password is hashed by the framework."""

    name = models.CharField(max_length=60, unique=True)
    role = models.CharField(max_length=10)
    is_active = models.BooleanField(default=True)
    first_until = models.DateTimeField(null=True)
    """The end of a first password made here; empty once the person has chosen one of their own."""

    USERNAME_FIELD = "name"
    objects = BaseUserManager["Person"]()

    class Meta:
        """What no person can be."""

        constraints: ClassVar = [
            # An unknown role would open nothing, or everything.
            models.CheckConstraint(
                condition=Q(role__in=["owner", "helper", "reader"]) & ~Q(name=""), name="person_role"
            ),
        ]


class Secret(models.Model):
    """A secret address or token of a person; only its digest is kept."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="secrets")
    purpose = models.CharField(max_length=20)
    label = models.CharField(max_length=60, blank=True)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(db_default=Now())
    ended_at = models.DateTimeField(null=True)


class DoorNote(OnlyAdded):
    """Who changed what about people and their keys, and who was turned away. It holds no secret."""

    at = models.DateTimeField(db_default=Now(), db_index=True)
    did = models.CharField(max_length=30)
    by = models.CharField(max_length=60, blank=True, db_column="by_whom")
    whom = models.CharField(max_length=60, blank=True)
    what = models.CharField(max_length=100, blank=True)
    address = models.CharField(max_length=60, blank=True)

    class Meta:
        """What no note can be."""

        # A line that says nothing of what was done is of no use to whoever looks for it.
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(did=""), name="door_note_did")]


class Knock(models.Model):
    """A failed sign-in, remembered for a quarter of an hour."""

    at = models.DateTimeField(db_default=Now(), db_index=True)
    name = models.CharField(max_length=60)
    address = models.CharField(max_length=60)
