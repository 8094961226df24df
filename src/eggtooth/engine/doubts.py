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

    found = [d for doubts in (kept or Kept()).each("doubts", rests_on, odd) for d in doubts]
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
        text = f"{later[0].kind} on {later[0].on} after it {_left_word(left)} on {left.on}"
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (left, later[0]), later[0].on)


def state_and_entries(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """The recorded state and the entries agree."""
    left = colony.left_by(animal.tag, seen.on)
    if left and animal.state is State.HERE:
        text = f"recorded as here, but it {_left_word(left)} on {left.on}"
        yield Doubt(Grade.DOUBT, animal.tag, text, (left,), left.on)


def before_hatching(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Nothing is noted about an animal before it hatched."""
    first = next(iter(colony.of_animal(animal.tag)), None)
    if animal.hatched and first and first.on < animal.hatched:
        text = f"{first.kind} on {first.on}, before it hatched on {animal.hatched}"
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (first,), first.on)


def parents(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Parents are older than the child, of the right sex, and known here."""
    for role, sex, tags in (("sire", Sex.MALE, animal.sires), ("dam", Sex.FEMALE, (animal.dam,))):
        for tag in filter(None, tags):
            yield from _parent(animal, role, sex, colony.animals.get(tag), tag)


def _parent(animal: Animal, role: str, sex: Sex, parent: Animal | None, tag: str) -> Iterator[Doubt]:
    if parent is None:
        yield Doubt(Grade.CONTRADICTION, animal.tag, f"its {role} {tag} is not an animal here")
        return
    if parent.sex not in (sex, Sex.UNKNOWN):
        yield Doubt(Grade.CONTRADICTION, animal.tag, f"its {role} {tag} is recorded as {parent.sex.value}")
    if animal.hatched and parent.hatched:
        years = (animal.hatched - parent.hatched).days / 365.25
        if years <= 0:
            text = f"its {role} {tag} hatched on {parent.hatched}, not before {animal.hatched}"
            yield Doubt(Grade.CONTRADICTION, animal.tag, text)
        elif years < 0.75:
            yield Doubt(Grade.DOUBT, animal.tag, f"its {role} {tag} was {years * 12:.0f} months old")


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
        return f"weight of {mass:g} g on {entry.on}: heavier than a ball python grows"
    if animal.hatched and 0 <= (entry.on - animal.hatched).days <= 7:
        low, high = HATCHLING_G
        if not low <= mass <= high:
            return f"hatchling of {mass:g} g on {entry.on}: hatchlings weigh 25 to 90 g (Gorzula et al. 1997)"
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
    return f"weight of {odd.value:g} g on {odd.on} does not follow {before.value:g} g"


def clutches(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Clutch sizes, two clutches in a season, eggs from a male, more hatched than laid."""
    laid = seen.all(Kind.LAID)
    for entry in laid:
        slugs = entry.detail if isinstance(entry.detail, int) else 0
        eggs = (entry.value or 0) + slugs
        if eggs > LAID_MOST:
            most = f"the largest clutch counted is {LAID_MOST:g} (Gorzula et al. 1997)"
            text = f"{eggs:g} eggs on {entry.on}: {most}"
            yield Doubt(Grade.DOUBT, animal.tag, text, (entry,), entry.on)
    for one, two in pairwise(laid):
        if (two.on - one.on).days < 150:
            text = f"laid on {one.on} and again on {two.on}"
            yield Doubt(Grade.DOUBT, animal.tag, text, (one, two), two.on)
    yield from _hatched_of(animal, seen)


def _hatched_of(animal: Animal, seen: History) -> Iterator[Doubt]:
    for hatched in seen.all(Kind.HATCHED):
        laid = [e for e in seen.all(Kind.LAID) if e.on < hatched.on]
        if laid and (hatched.value or 0) > (laid[-1].value or 0):
            text = f"{hatched.value:g} hatched on {hatched.on} of {laid[-1].value:g} good eggs"
            yield Doubt(Grade.DOUBT, animal.tag, text, (laid[-1], hatched), hatched.on)


FEMALE_ONLY = (Kind.OVULATION, Kind.PRELAY_SHED, Kind.LAID, Kind.SCAN)


def of_the_other_sex(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Males do not ovulate or lay, and two of a sex do not pair."""
    if animal.sex is Sex.MALE:
        for kind in FEMALE_ONLY:
            if entry := seen.last(kind):
                text = f"{kind} on {entry.on}, but it is recorded as a male"
                yield Doubt(Grade.CONTRADICTION, animal.tag, text, (entry,), entry.on)
    lock = seen.last(Kind.LOCK)
    other = colony.animals.get(lock.partner) if lock else None
    if lock and other and animal.sex and other.sex == animal.sex and animal.tag < other.tag:
        text = f"locked with {other.tag} on {lock.on}, but both are recorded as {animal.sex.value}"
        yield Doubt(Grade.CONTRADICTION, animal.tag, text, (lock,), lock.on)


def ages(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Nobody is older than the oldest believed, or hatched in the days to come."""
    days = animal.age_days(seen.on)
    if days is not None and days > biology.OLDEST_KNOWN.value * 365.25:
        yield Doubt(Grade.DOUBT, animal.tag, f"{days / 365.25:.0f} years old")


def intervals(animal: Animal, seen: History, colony: Colony) -> Iterator[Doubt]:
    """Ovulation to eggs outside 36 to 70 days is odd."""
    for laid in seen.all(Kind.LAID):
        before = [e for e in seen.all(Kind.OVULATION) if 0 <= (laid.on - e.on).days <= 150]
        if before and not 36 <= (days := (laid.on - before[-1].on).days) <= 70:
            text = f"laid {days} days after ovulation; 44 to 50 is usual (common practice)"
            yield Doubt(Grade.DOUBT, animal.tag, text, (before[-1], laid), laid.on)


CHECKS: tuple[Check, ...] = (
    after_leaving,
    state_and_entries,
    before_hatching,
    parents,
    clutches,
    of_the_other_sex,
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
            yield Doubt(Grade.DOUBT, tags[0], f"tub {tub} holds {_listed(tags)}")


def incubators_out_of_range(colony: Colony, on: date) -> Iterator[Doubt]:
    """The last temperature of an incubator outside what eggs bear for long (common practice)."""
    for tag in colony.incubators:
        last = History(colony.of_animal(tag), on).last(Kind.TEMPERATURE)
        if last and last.value is not None and not INCUBATOR_C[0] <= last.value <= INCUBATOR_C[1]:
            text = (
                f"incubator at {last.value:g} °C ({last.value * 1.8 + 32:.1f} °F) on {last.on}; "
                "eggs are kept at 31 to 32 °C, 88 to 90 °F (common practice)"
            )
            yield Doubt(Grade.DOUBT, tag, text, (last,), last.on)


def _left_word(left: Entry) -> str:
    return {Kind.DIED: "died", Kind.SOLD: "was sold", Kind.GIVEN: "was given away"}[left.kind]


def _listed(tags: Iterable[str]) -> str:
    *most, last = sorted(tags)
    return f"{', '.join(most)} and {last}" if most else last
