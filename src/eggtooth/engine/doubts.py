"""Contradictions (cannot be) and doubts (odd but possible) in what was noted."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise

from eggtooth.engine.colony import Animal, Colony, Sex, State, Tub
from eggtooth.engine.condition.weights import believable
from eggtooth.engine.entries import LEFT, Entry, Kind
from eggtooth.engine.facts import biology
from eggtooth.engine.history import History
from eggtooth.engine.kept import Kept
from eggtooth.engine.planning.warmed import no_incubator
from eggtooth.engine.wording import say


class Grade(StrEnum):
    """How firmly something is at odds."""

    CONTRADICTION = "contradiction"
    DOUBT = "doubt"


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing to look into: which animal, what is odd, the entries it rests on and the day it shows.

    `records`: what is recorded of animals that together cannot be, as (tag, words), `gene`: what it is about;
    empty for other kinds.
    """

    grade: Grade
    tag: str
    text: str
    entries: tuple[Entry, ...] = ()
    on: date | None = None
    records: tuple[tuple[str, str], ...] = ()
    gene: str = ""


Check = Callable[[Animal, History, Colony], Iterator[Doubt]]

LAID_MOST = biology.CLUTCH_SIZE_WILD_MAX.value
HEAVIEST_G = 6000.0
HATCHLING_G = (20.0, 120.0)
INCUBATOR_C = (27.5, 33.3)


def doubts_of(colony: Colony, on: date, kept: Kept | None = None, basis: object = None) -> list[Doubt]:
    """Everything at odds in a colony up to a day, contradictions first, then by animal.

    `kept` holds what was found before for this day; `basis` stands for all animals as recorded: the same
    object for as long as none changes.
    """
    everyone = basis or colony.animals
    rests_on = {tag: (everyone, colony.of_animal(tag)) for tag in colony.animals}

    def odd(tags: list[str]) -> list[list[Doubt]]:
        seen = ((colony.animals[t], History(colony.of_animal(t), on)) for t in tags)
        return [list(doubts_of_animal(colony, animal, history)) for animal, history in seen]

    found = [
        d
        for doubts in (kept or Kept()).each(f"doubts, eggs in {list(colony.incubators)}", rests_on, odd)
        for d in doubts
    ]
    found += shared_tubs(colony, on)
    found += incubators_out_of_range(colony, on)
    return sorted(found, key=lambda d: (d.grade is Grade.DOUBT, d.tag, d.on or date.min, d.text))


def doubts_of_animal(
    colony: Colony, animal: Animal, seen: History, since: date | None = None
) -> Iterator[Doubt]:
    """What is at odds about one animal, from its entries; of its weighings only those from `since` on."""
    for check in CHECKS:
        yield from check(animal, seen, colony)
    yield from masses(animal, seen, since)


def after_leaving(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Nothing happens to an animal after it died, was sold or given away."""
    left = colony.left_by(animal.tag, seen.on)
    if left is None:
        return
    later = [e for e in colony.of_animal(animal.tag) if left.on < e.on <= seen.on and e.kind not in LEFT]
    if later:
        text = say(
            "{kind} on {on} after it {left}",
            kind=later[0].kind,
            on=later[0].on,
            left=_left_said(left),
        )
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (left, later[0]), later[0].on)


def state_and_entries(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """The recorded state and the entries agree."""
    left = colony.left_by(animal.tag, seen.on)
    if left and animal.state is State.HERE:
        text = say("recorded as here, but it {left}", left=_left_said(left))
        yield Doubt(Grade.DOUBT, animal.tag, text, (left,), left.on)


def before_hatching(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Nothing is noted about an animal before it hatched."""
    first = next(iter(colony.of_animal(animal.tag)), None)
    if animal.hatched and first and first.on < animal.hatched:
        text = say(
            "{kind} on {on}, before it hatched on {hatched}",
            kind=first.kind,
            on=first.on,
            hatched=animal.hatched,
        )
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (first,), first.on)


def parents(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Parents are older than the child, of the right sex, and known here."""
    for sex, tags in ((Sex.MALE, animal.sires), (Sex.FEMALE, (animal.dam,))):
        for tag in filter(None, tags):
            yield from _parent(animal, sex, colony.animals.get(tag), tag)


def _parent(animal: Animal, sex: Sex, parent: Animal | None, tag: str) -> Iterator[Doubt]:
    role = say("sire") if sex is Sex.MALE else say("dam")
    if parent is None:
        yield Doubt(
            Grade.CONTRADICTION, animal.tag, say("its {role} {tag} is not an animal here", role=role, tag=tag)
        )
        return
    if parent.sex not in (sex, Sex.UNKNOWN):
        yield Doubt(
            Grade.CONTRADICTION,
            animal.tag,
            say("its {role} {tag} is recorded as {sex}", role=role, tag=tag, sex=parent.sex),
        )
    if animal.hatched and parent.hatched:
        years = (animal.hatched - parent.hatched).days / 365.25
        if years <= 0:
            text = say(
                "its {role} {tag} hatched on {hatched}, not before {child}",
                role=role,
                tag=tag,
                hatched=parent.hatched,
                child=animal.hatched,
            )
            yield Doubt(Grade.CONTRADICTION, animal.tag, text)
        elif years < 0.75:
            yield Doubt(
                Grade.DOUBT,
                animal.tag,
                say("its {role} {tag} was {months:.0f} months old", role=role, tag=tag, months=years * 12),
            )


def masses(animal: Animal, seen: History, since: date | None) -> Iterator[Doubt]:
    """Weighings that no ball python has, and ones that do not follow their neighbours."""
    weighings = [e for e in seen.all(Kind.WEIGHT) if e.value is not None]
    first = bisect_left(weighings, since, key=lambda e: e.on) if since else 0
    for i, entry in enumerate(weighings[first:], first):
        follows = i == 0 or believable(weighings[i - 1], entry)
        text = _odd_mass(animal, entry) or ("" if follows else _odd_step(seen, weighings, i))
        if text:
            yield Doubt(Grade.DOUBT, animal.tag, text, (entry,), entry.on)


def _odd_mass(animal: Animal, entry: Entry) -> str:
    mass = entry.value or 0.0
    if mass > HEAVIEST_G:
        return say("weight of {mass:g} g on {on}: heavier than a ball python grows", mass=mass, on=entry.on)
    if animal.hatched and 0 <= (entry.on - animal.hatched).days <= 7:
        low, high = HATCHLING_G
        if not low <= mass <= high:
            return say(
                "hatchling of {mass:g} g on {on}: hatchlings weigh 25 to 90 g (Gorzula et al. 1997)",
                mass=mass,
                on=entry.on,
            )
    return ""


def _odd_step(seen: History, weighings: list[Entry], i: int) -> str:
    back = i + 1 < len(weighings) and believable(weighings[i - 1], weighings[i + 1])
    last = i + 1 == len(weighings)
    if i > 1 and believable(weighings[i - 2], weighings[i]):
        return ""  # the one before was the odd one
    laid = any(weighings[i - 1].on <= e.on <= weighings[i].on for e in seen.all(Kind.LAID))
    if laid or not (back or last):
        return ""
    before, odd = weighings[i - 1], weighings[i]
    return say(
        "weight of {odd:g} g on {on} does not follow {before:g} g",
        odd=odd.value,
        on=odd.on,
        before=before.value,
    )


def clutches(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Clutch sizes, two clutches in a season, eggs from a male, more hatched than laid."""
    laid = seen.all(Kind.LAID)
    for entry in laid:
        slugs = entry.detail if isinstance(entry.detail, int) else 0
        eggs = (entry.value or 0) + slugs
        if eggs > LAID_MOST:
            most = say("the largest clutch counted is {most:g} (Gorzula et al. 1997)", most=LAID_MOST)
            text = say("{eggs:g} eggs on {on}: {most}", eggs=eggs, on=entry.on, most=most)
            yield Doubt(Grade.DOUBT, animal.tag, text, (entry,), entry.on)
    for one, two in pairwise(laid):
        if (two.on - one.on).days < 150:
            text = say("laid on {on} and again on {again}", on=one.on, again=two.on)
            yield Doubt(Grade.DOUBT, animal.tag, text, (one, two), two.on)
    yield from _hatched_of(animal, seen)


def _hatched_of(animal: Animal, seen: History) -> Iterator[Doubt]:
    for hatched in seen.all(Kind.HATCHED):
        laid = [e for e in seen.all(Kind.LAID) if e.on < hatched.on]
        if laid and (hatched.value or 0) > (laid[-1].value or 0):
            text = say(
                "{hatched:g} hatched on {on} of {laid:g} good eggs",
                hatched=hatched.value,
                on=hatched.on,
                laid=laid[-1].value,
            )
            yield Doubt(Grade.DOUBT, animal.tag, text, (laid[-1], hatched), hatched.on)


FEMALE_ONLY = (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID, Kind.SCAN)


def of_the_other_sex(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Males do not ovulate or lay, and two of a sex do not pair."""
    if animal.sex is Sex.MALE:
        for kind in FEMALE_ONLY:
            if entry := seen.last(kind):
                text = say("{kind} on {on}, but it is recorded as a male", kind=kind, on=entry.on)
                yield Doubt(Grade.CONTRADICTION, animal.tag, text, (entry,), entry.on)
    lock = seen.last(Kind.LOCK)
    other = colony.animals.get(lock.partner) if lock else None
    if lock and other and animal.sex and other.sex == animal.sex and animal.tag < other.tag:
        text = say(
            "locked with {tag} on {on}, but both are recorded as {sex}",
            tag=other.tag,
            on=lock.on,
            sex=animal.sex,
        )
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (lock,), lock.on)


def unknown_incubators(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Eggs noted in an incubator that is none here count as lying nobody knows where."""
    for entry in seen.all(Kind.EGGS):
        if box := no_incubator(entry, colony.incubators):
            known = ", ".join(colony.incubators)
            text = say(
                "eggs in {box} on {on}, but the incubators here are {known}",
                box=box,
                on=entry.on,
                known=known,
            )
            yield Doubt(Grade.DOUBT, animal.tag, text, (entry,), entry.on)


def ages(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Nobody is older than the oldest believed, or hatched in the days to come."""
    days = animal.age_days(seen.on)
    if days is not None and days > biology.OLDEST_KNOWN.value * 365.25:
        yield Doubt(Grade.DOUBT, animal.tag, say("{years:.0f} years old", years=days / 365.25))


def intervals(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Ovulation to eggs outside 36 to 70 days is odd."""
    for laid in seen.all(Kind.LAID):
        before = [e for e in seen.all(Kind.OVULATION) if 0 <= (laid.on - e.on).days <= 150]
        if before and not 36 <= (days := (laid.on - before[-1].on).days) <= 70:
            text = say("laid {days} days after ovulation; 44 to 50 is usual (common practice)", days=days)
            yield Doubt(Grade.DOUBT, animal.tag, text, (before[-1], laid), laid.on)


CHECKS: tuple[Check, ...] = (
    after_leaving,
    state_and_entries,
    before_hatching,
    parents,
    clutches,
    of_the_other_sex,
    unknown_incubators,
    ages,
    intervals,
)


def shared_tubs(colony: Colony, on: date) -> Iterator[Doubt]:
    """Two animals recorded in one tub. A male on a visit keeps his own tub, so pairs do not count."""
    by_tub: defaultdict[Tub, list[str]] = defaultdict(list)
    for animal in colony.here(on):
        if tub := colony.tub_of(animal.tag, on):
            by_tub[tub].append(animal.tag)
    for tub, tags in by_tub.items():
        if len(tags) > 1:
            yield Doubt(Grade.DOUBT, tags[0], say("tub {tub} holds {listed}", tub=tub, listed=_listed(tags)))


def incubators_out_of_range(colony: Colony, on: date) -> Iterator[Doubt]:
    """The last temperature of an incubator outside what eggs bear for long (common practice)."""
    for tag in colony.incubators:
        last = History(colony.of_animal(tag), on).last(Kind.TEMPERATURE)
        if last and last.value is not None and not INCUBATOR_C[0] <= last.value <= INCUBATOR_C[1]:
            text = say(
                "incubator at {celsius:g} °C ({fahrenheit:.1f} °F) on {on}; "
                "eggs are kept at 31 to 32 °C, 88 to 90 °F (common practice)",
                celsius=last.value,
                fahrenheit=last.value * 1.8 + 32,
                on=last.on,
            )
            yield Doubt(Grade.DOUBT, tag, text, (last,), last.on)


def _left_said(left: Entry) -> str:
    if left.kind is Kind.DIED:
        return say("died on {on}", on=left.on)
    if left.kind is Kind.SOLD:
        return say("was sold on {on}", on=left.on)
    return say("was given away on {on}", on=left.on)


def _listed(tags: Iterable[str]) -> str:
    *most, last = sorted(tags)
    return say("{most} and {last}", most=", ".join(most), last=last) if most else last
