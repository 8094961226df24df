"""What the pages ask of the whole house, worked out once for a colony as it stands and a day."""

from __future__ import annotations

from datetime import date

from eggtooth.engine.condition.fitness import Ready
from eggtooth.engine.doubts import Doubt
from eggtooth.engine.pedigree.why import Moved, moved_by
from eggtooth.engine.planning.coming import ComingNight
from eggtooth.engine.planning.feeders import Need
from eggtooth.engine.planning.proving import Proving
from eggtooth.jobs.clutches import Eggs, eggs_of
from eggtooth.jobs.family_kept import known_now
from eggtooth.jobs.feeders import order
from eggtooth.jobs.gather import Source
from eggtooth.jobs.hatching import HatchedClutch, hatched_clutches
from eggtooth.jobs.keeping_answers import Answers
from eggtooth.jobs.kin import Kin, how_related
from eggtooth.jobs.looking import everything_odd
from eggtooth.jobs.males import Male, males_on
from eggtooth.jobs.proving import how_to_prove
from eggtooth.jobs.readiness import who_is_ready
from eggtooth.jobs.rotation import rotation
from eggtooth.jobs.season import Strips, strips_on

MOST_ANIMALS = 12
"""Animals whose family's answers are kept: those looked at by turns in an evening."""

_strips, _males, _ready = Answers[Strips](), Answers[list[Male]](), Answers[list[Ready]]()
_eggs, _needs, _odd = Answers[Eggs](), Answers[list[Need]](), Answers[list[Doubt]]()
_nights = Answers[list[ComingNight]]()
_related = Answers[Kin]()
_hatched = Answers[list[HatchedClutch]]()

_moved, _ways = Answers[list[Moved]](MOST_ANIMALS), Answers[Proving](MOST_ANIMALS)


def strips(source: Source, on: date, first: int, most: int) -> Strips:
    """As `strips_on`."""
    colony, settings = source.colony, source.settings
    return _strips.to(
        colony, on, settings, lambda kept: strips_on(source, on, first, most, kept), (first, most)
    )


def males(source: Source, on: date) -> list[Male]:
    """As `males_on`."""
    return _males.to(source.colony, on, source.settings, lambda kept: males_on(source, on, kept))


def ready(source: Source, on: date) -> list[Ready]:
    """As `who_is_ready`."""
    return _ready.to(source.colony, on, source.settings, lambda kept: who_is_ready(source, on, kept))


def eggs(source: Source, on: date) -> Eggs:
    """As `eggs_of`."""
    return _eggs.to(source.colony, on, source.settings, lambda kept: eggs_of(source, on, kept))


def nights(source: Source, on: date, most: int) -> list[ComingNight]:
    """As `rotation`."""
    colony, settings = source.colony, source.settings
    return _nights.to(colony, on, settings, lambda kept: rotation(source, on, most, kept), most)


def needs(source: Source, on: date, weeks: int) -> list[Need]:
    """As `order`."""
    return _needs.to(source.colony, on, source.settings, lambda kept: order(source, on, weeks, kept), weeks)


def odd(source: Source, on: date) -> list[Doubt]:
    """As `everything_odd`."""
    colony = source.colony
    return _odd.to(colony, on, source.settings, lambda kept: everything_odd(colony, on, kept))


def inbreeding(source: Source, on: date) -> Kin:
    """As `how_related`, of no pairs."""
    colony = source.colony
    return _related.to(colony, on, source.settings, lambda _: how_related(colony, on, "none"))


def hatched(source: Source, on: date) -> list[HatchedClutch]:
    """As `hatched_clutches`."""
    colony, settings = source.colony, source.settings
    return _hatched.to(colony, on, settings, lambda kept: hatched_clutches(colony, on, settings, kept))


def moved(source: Source, tag: str, gene: str, on: date) -> list[Moved]:
    """As `moved_by`, of what is known now."""
    colony, settings = source.colony, source.settings
    return _moved.to(colony, on, settings, lambda _: moved_by(known_now(colony, on), tag, gene), (tag, gene))


def way_to_prove(source: Source, tag: str, gene: str, on: date) -> Proving:
    """As `how_to_prove`, of one gene and what is known now."""
    colony, settings = source.colony, source.settings

    def work(_: object) -> Proving:
        (way,) = how_to_prove(known_now(colony, on), tag, on, settings, [gene])
        return way

    return _ways.to(colony, on, settings, work, (tag, gene))
