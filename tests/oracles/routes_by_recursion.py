"""Routes to a wish by plain recursion over everything that can happen, season by season.

Genetics are written out gamete by gamete; the chance of a route is worked out forwards, from the state of the
whole house at a season (what each step has in hand, and how often it was tried) to the next. Nothing of the
engine is used. One female a step and one young a sex: the space is trees of pairs in which an animal held
back breeds once, and females here are not in two steps that run side by side. Slow and plainly right.
"""

from __future__ import annotations

from itertools import product
from math import comb
from typing import NamedTuple

Pair = tuple[str, str]
Genes = tuple[Pair, ...]


class Gene(NamedTuple):
    """A locus: alleles with `+` first, those that show with one copy, and whether it is sex-linked."""

    alleles: tuple[str, ...]
    shows_once: frozenset[str] = frozenset()
    linked: bool = False


class Animal(NamedTuple):
    """A founder: odds over genotypes of all loci, and the first season it breeds in."""

    tag: str
    sex: str
    odds: tuple[tuple[Genes, float], ...]
    season: int = 1


class Choice(NamedTuple):
    """What is taken of a pair's young: a sex (either when empty), and at each locus unordered genotypes."""

    sex: str
    kinds: tuple[frozenset[Pair], ...]


class Mating(NamedTuple):
    """A pair and what is taken of its young: `male` and `female` are animals or (mating, place)."""

    male: object
    female: object
    takes: tuple[Choice, ...]
    tries: int


class House(NamedTuple):
    """The terms: genes, seasons, seasons from hatching to breeding, hatchlings a season, recombination."""

    genes: tuple[Gene, ...]
    seasons: int
    after: dict[str, int]
    hatchlings: tuple[float, ...]
    r: float = 0.07


def plain(pair: Pair) -> Pair:
    """The genotype without order."""
    return pair if pair[0] <= pair[1] else (pair[1], pair[0])


def look(gene: Gene, pair: Pair) -> tuple[str, ...]:
    """What shows of a pair of alleles."""
    a, b = plain(pair)
    held = sorted({x for x in (a, b) if x != "+"})
    if a == b != "+":
        return (f"two {a}",)
    if len(held) == 2:
        return tuple(held)
    return tuple(x for x in held if x in gene.shows_once)


def eggs(sire: Genes, dam: Genes, house: House) -> dict[tuple[str, Genes], float]:
    """Sex and genotypes of an egg. A sex-linked pair of a male is (on X, on Y)."""
    made: dict[tuple[str, Genes], float] = {}
    for sex in "MF":
        for his, hers in product(product((0, 1), repeat=len(house.genes)), repeat=2):
            p, genes = 0.5, []
            for i, gene in enumerate(house.genes):
                p *= 0.5
                if gene.linked:
                    stays = (his[i] == 1) == (sex == "M")
                    p *= 1 - house.r if stays else house.r
                else:
                    p *= 0.5
                pair = (dam[i][hers[i]], sire[i][his[i]])
                genes.append(pair if gene.linked and sex == "M" else plain(pair))
            key = sex, tuple(genes)
            made[key] = made.get(key, 0.0) + p
    return made


def fits(sex: str, genes: Genes, choice: Choice) -> bool:
    """Whether a hatchling is one of those taken."""
    return choice.sex in ("", sex) and all(
        plain(g) in kind for g, kind in zip(genes, choice.kinds, strict=True)
    )


def season_of(
    mating: Mating, sire: Genes, dam: Genes, held: tuple[object, ...], house: House
) -> dict[object, float]:
    """What is in hand after one more season, from what was before; None stands for not yet."""
    odds = eggs(sire, dam, house)
    after: dict[object, float] = {}
    now = {held: 1.0}
    for m, p in enumerate(house.hatchlings):
        if m:
            now = _one_more(now, mating, odds)
        for state, q in now.items():
            after[state] = after.get(state, 0.0) + p * q
    return after


def _one_more(
    now: dict[object, float], mating: Mating, odds: dict[tuple[str, Genes], float]
) -> dict[object, float]:
    made: dict[object, float] = {}
    for held, p in now.items():
        for (sex, genes), q in odds.items():
            to = held
            for place, choice in enumerate(mating.takes):
                if held[place] is None and fits(sex, genes, choice):  # type: ignore[index]
                    to = (*held[:place], genes, *held[place + 1 :])  # type: ignore[index]
                    break
            made[to] = made.get(to, 0.0) + p * q
    return made


def matings(last: Mating) -> list[Mating]:
    """Every mating of a route, the first ones first."""
    found: list[Mating] = []
    for parent in (last.male, last.female):
        if not isinstance(parent, Animal):
            found += [m for m in matings(parent[0]) if m not in found]  # type: ignore[index]
    return [*found, last]


def founders(last: Mating) -> list[Animal]:
    """Every founder of a route, once."""
    return list(dict.fromkeys(p for m in matings(last) for p in (m.male, m.female) if isinstance(p, Animal)))


def chance(last: Mating, by: int, house: House) -> float:
    """Chance that the last mating has what it takes by a season."""
    steps, total = matings(last), 0.0
    limits = deadlines(last, by, house)
    for choice in product(*(a.odds for a in founders(last))):
        weight = 1.0
        for _, p in choice:
            weight *= p
        genes = {a.tag: g for a, (g, _) in zip(founders(last), choice, strict=True)}
        start = tuple((tuple(None for _ in m.takes), 0, 0) for m in steps)
        total += weight * _on(1, start, steps, genes, limits, by, house)
    return total


def deadlines(last: Mating, by: int, house: House) -> dict[Mating, int]:
    """Last season each mating may be tried in."""
    found = {last: by}
    for mating in reversed(matings(last)):
        for parent in (mating.male, mating.female):
            if not isinstance(parent, Animal):
                before, place = parent  # type: ignore[misc]
                least = found[mating] - house.after[before.takes[place].sex]
                found[before] = min(found.get(before, least), least)
    return found


def _on(
    season: int,
    state: object,
    steps: list[Mating],
    genes: dict[str, Genes],
    limits: dict[Mating, int],
    by: int,
    house: House,
) -> float:
    """Chance of success from a state at the start of a season: (in hand, tried, season done) a step."""
    if season > by:
        return float(state[-1][2] > 0)  # type: ignore[index]
    branches: list[tuple[float, tuple[object, ...]]] = [(1.0, ())]
    for step, (held, tried, done) in zip(steps, state, strict=True):  # type: ignore[call-overload]
        ready = all(_there(p, season, state, steps, house) for p in (step.male, step.female))
        if done or not ready or tried >= step.tries or season > limits[step]:
            branches = [(p, (*b, (held, tried, done))) for p, b in branches]
            continue
        sire, dam = (_genes(p, state, steps, genes) for p in (step.male, step.female))
        after = season_of(step, sire, dam, held, house)
        branches = [
            (p * q, (*b, (h, tried + 1, season if all(x is not None for x in h) else 0)))  # type: ignore[attr-defined]
            for p, b in branches
            for h, q in after.items()
        ]
    merged: dict[object, float] = {}
    for p, b in branches:
        merged[b] = merged.get(b, 0.0) + p
    return sum(p * _on(season + 1, b, steps, genes, limits, by, house) for b, p in merged.items() if p)


def _there(parent: object, season: int, state: object, steps: list[Mating], house: House) -> bool:
    if isinstance(parent, Animal):
        return season >= parent.season
    before, place = parent  # type: ignore[misc]
    done = state[steps.index(before)][2]  # type: ignore[index]
    return bool(done) and season >= done + house.after[before.takes[place].sex]


def _genes(parent: object, state: object, steps: list[Mating], genes: dict[str, Genes]) -> Genes:
    if isinstance(parent, Animal):
        return genes[parent.tag]
    before, place = parent  # type: ignore[misc]
    return state[steps.index(before)][0][place]  # type: ignore[index,no-any-return]


# Every route
# -----------
def every_route(animals: list[Animal], wish: Choice, house: House, limit: float) -> list[tuple[Mating, int]]:
    """All routes with the season they end by; founders are unrelated to each other."""
    found: list[tuple[Mating, int]] = []
    males: list[object] = [a for a in animals if a.sex == "M"]
    females: list[object] = [a for a in animals if a.sex == "F"]
    pairs = [(m, f) for m in males for f in females]
    while pairs:
        more_males: list[object] = []
        more_females: list[object] = []
        sibs: list[tuple[object, object]] = []
        for male, female in pairs:
            start = max(begins(male, house), begins(female, house))
            if start > house.seasons or akin(male, female) > limit + 1e-9 or _clash(male, female):
                continue
            for by in range(start, house.seasons + 1):
                for tries in range(1, by - start + 2):
                    last = Mating(male, female, (wish,), tries)
                    if _no_idle_tries(last, by, house):
                        found.append((last, by))
            sons, daughters = (list(_ways(male, female, s, wish, house)) for s in "MF")
            for takes in [*((s,) for s in sons), *((d,) for d in daughters), *product(sons, daughters)]:
                wait = max(house.after[c.sex] for c in takes)
                for tries in range(1, house.seasons - wait - start + 2):
                    made = Mating(male, female, takes, tries)
                    if len(takes) == 2:
                        sibs.append(((made, 0), (made, 1)))
                    else:
                        (more_males if takes[0].sex == "M" else more_females).append((made, 0))
        old = {(id(m), id(f)) for m in males for f in females}
        males, females = males + more_males, females + more_females
        pairs = [(m, f) for m in males for f in females if (id(m), id(f)) not in old] + sibs
    return found


def _no_idle_tries(last: Mating, by: int, house: House) -> bool:
    limits = deadlines(last, by, house)
    return all(
        m.tries <= limits[m] - max(begins(m.male, house), begins(m.female, house)) + 1 for m in matings(last)
    )


def begins(parent: object, house: House) -> int:
    """Earliest season an animal can breed in."""
    if isinstance(parent, Animal):
        return parent.season
    mating, place = parent  # type: ignore[misc]
    if len(mating.takes) == 2:  # a brother and sister wait for each other
        return max(begins(mating.male, house), begins(mating.female, house)) + max(house.after.values())
    return (
        max(begins(mating.male, house), begins(mating.female, house)) + house.after[mating.takes[place].sex]
    )


def akin(a: object, b: object) -> float:
    """Kinship by the textbook recursion (Lange 2010, ch. 5), up through the animal of more generations."""
    if a == b:
        return 0.5 if isinstance(a, Animal) else 0.5 * (1 + akin(a[0].male, a[0].female))  # type: ignore[index]
    if isinstance(a, Animal) and isinstance(b, Animal):
        return 0.0
    if _generations(a) < _generations(b):
        a, b = b, a
    return 0.5 * (akin(a[0].male, b) + akin(a[0].female, b))  # type: ignore[index]


def _generations(a: object) -> int:
    return 0 if isinstance(a, Animal) else 1 + max(_generations(p) for p in (a[0].male, a[0].female))  # type: ignore[index]


def _clash(male: object, female: object) -> bool:
    if not isinstance(male, Animal) and not isinstance(female, Animal) and male[0] is female[0]:  # type: ignore[index]
        return False
    return bool(_dams(male) & _dams(female))


def _dams(parent: object) -> set[str]:
    if isinstance(parent, Animal):
        return set()
    return {a.tag for m in matings(parent[0]) if isinstance(a := m.female, Animal)}  # type: ignore[index]


def may_be(parent: object, house: House) -> set[Genes]:
    """Every genotype an animal may have."""
    if isinstance(parent, Animal):
        return {g for g, p in parent.odds if p}
    mating, place = parent  # type: ignore[misc]
    pairs = product(may_be(mating.male, house), may_be(mating.female, house))
    choice = mating.takes[place]
    return {g for s, d in pairs for (sex, g), p in eggs(s, d, house).items() if p and fits(sex, g, choice)}


def _ways(male: object, female: object, sex: str, wish: Choice, house: House) -> list[Choice]:
    rows = []
    for i, gene in enumerate(house.genes):
        made = {
            plain(g[i])
            for s, d in product({s[i] for s in may_be(male, house)}, {d[i] for d in may_be(female, house)})
            for (x, g), p in eggs(_only(s, i, house), _only(d, i, house), house).items()
            if p and x == sex
        }
        looks = {look(gene, g) for g in made}
        sets = {frozenset(g for g in made if look(gene, g) == shown) for shown in looks}
        sets |= {frozenset(g for g in made if look(gene, g)), frozenset(made)}
        rows.append([kind for kind in sets if kind])
    wanted = [{a for g in kind for a in g} - {"+"} for kind in wish.kinds]
    return [
        Choice(sex, kinds)
        for kinds in product(*rows)
        if any({a for g in kind for a in g} & w for kind, w in zip(kinds, wanted, strict=True))
    ]


def _only(pair: Pair, place: int, house: House) -> Genes:
    return tuple(pair if i == place else ("+", "+") for i in range(len(house.genes)))


Point = tuple[int, int, int, float]


def points(routes: list[tuple[Mating, int]], house: House) -> set[Point]:
    """(seasons, clutches, held back, chance) of routes that can succeed; chances to nine digits."""
    found = set()
    for last, by in routes:
        steps = matings(last)
        held = sum(len(m.takes) for m in steps[:-1])
        found.add((by, sum(m.tries for m in steps), held, round(chance(last, by, house), 9)))
    return {point for point in found if point[3] > 0}


def front(found: set[Point]) -> set[Point]:
    """The points none of which is beaten."""
    return {x for x in found if not any(y != x and _beats(y, x) for y in found)}


def _beats(y: Point, x: Point) -> bool:
    return all(a <= b for a, b in zip(y[:3], x[:3], strict=True)) and y[3] >= x[3]


def binomial_clutch(eggs_laid: int, hatch: float) -> tuple[float, ...]:
    """Hatchlings of a clutch in which each egg hatches with the same chance."""
    return tuple(comb(eggs_laid, m) * hatch**m * (1 - hatch) ** (eggs_laid - m) for m in range(eggs_laid + 1))
