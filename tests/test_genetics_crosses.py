"""Crosses against worked tables, Mendel's counts, a Bayesian-network library and plain enumeration."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, chisquare

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.catalogue import catalogue, standard
from eggtooth.engine.facts.inheritance import Allele, Fate, Genotype, Locus, Mode
from eggtooth.engine.genetics.crosses import Cross, CrossError, cross, given_look
from eggtooth.engine.genetics.notation import read
from eggtooth.engine.genetics.outcomes import outcomes
from eggtooth.engine.genetics.statement import Genotypes
from tests.oracles.crosses_by_enumeration import Odds, PlainLocus, enumerated

F = Fraction
GOLDEN = json.loads((Path(__file__).parent / "oracles" / "crosses_by_pgmpy.json").read_text())


SEVEN = F(7, 100)


def of(sire: str, dam: str, r: Fraction = SEVEN) -> Cross:
    """A cross of two texts."""
    return cross(read(sire).founder(male=True), read(dam).founder(), r)


def looks(made: Cross) -> dict[str, Fraction]:
    """Chances by looks; by sex too, where that is told."""
    found: dict[str, Fraction] = {}
    for o in outcomes(made):
        key = " ".join([*o.looks, *([o.sex.value] if o.sex else [])])
        found[key] = found.get(key, F(0)) + o.p
    assert sum(found.values()) + made.lost == 1
    return found


# By Mendel's rules, worked by hand; that the named genes share a locus is common practice, no source.
@pytest.mark.parametrize(
    ("sire", "dam", "expected"),
    [
        ("Lesser", "Mojave", {"Normal": "1/4", "Lesser": "1/4", "Mojave": "1/4", "Lesser Mojave": "1/4"}),
        ("Lesser Mojave", "Normal", {"Lesser": "1/2", "Mojave": "1/2"}),
        (
            "Superstripe",
            "Yellow Belly",
            {"Yellow Belly": "1/4", "Specter": "1/4", "Specter Yellow Belly": "1/4", "Ivory": "1/4"},
        ),
        ("Pastel", "Pastel", {"Normal": "1/4", "Pastel": "1/2", "Super Pastel": "1/4"}),
        (
            "Bumblebee",
            "Pastel",
            {
                "Normal": "1/8",
                "Spider": "1/8",
                "Pastel": "1/4",
                "Pastel Spider": "1/4",
                "Super Pastel": "1/8",
                "Super Pastel Spider": "1/8",
            },
        ),
        ("het Albino", "het Candy", {"Normal": "3/4", "Albino Candy": "1/4"}),
        (
            "het Clown Pied",
            "het Clown Pied",
            {"Normal": "9/16", "Clown": "3/16", "Piebald": "3/16", "Clown Piebald": "1/16"},
        ),
    ],
)
def test_worked_crosses(sire: str, dam: str, expected: dict[str, str]) -> None:
    assert looks(of(sire, dam)) == {look: F(p) for look, p in expected.items()}
    assert looks(of(dam, sire)) == {look: F(p) for look, p in expected.items()}


def test_hidden_genes_of_a_double_het_cross() -> None:
    # Of the normal-looking: 4/9 double het, 2/3 het for each (Mendel's rules).
    made = of("het Clown Pied", "het Clown Pied")
    normal = next(o for o in outcomes(made) if o.looks == ("Normal",))
    assert dict(normal.carries) == {"Clown": F(2, 3), "Piebald": F(2, 3)}
    both = made.chance(
        {locus: [Genotype(0, 1)] for locus in (standard().locus(n) for n in ("Clown", "Piebald"))}
    )
    assert both / normal.p == F(4, 9)


def test_hidden_alleles_of_one_locus() -> None:
    normal = next(o for o in outcomes(of("het Albino", "het Candy")) if o.looks == ("Normal",))
    assert dict(normal.carries) == {"Albino": F(1, 3), "Candy": F(1, 3)}


def test_triple_het() -> None:
    found = looks(of("het Clown Pied Albino", "het Clown Pied Albino"))
    assert found["Albino Clown Piebald"] == F(1, 64)
    assert found["Normal"] == F(27, 64)


def test_two_lines_of_axanthic_make_normal_double_hets() -> None:
    # Different lines are different loci (common practice, no source).
    (o,) = outcomes(of("Axanthic (north)", "Axanthic (south)"))
    assert o.looks == ("Normal",)
    assert dict(o.carries) == {"Axanthic (north)": 1, "Axanthic (south)": 1}


CARRIERS = [
    # p1, p2, P(visual), P(het), P(het given normal-looking); formulas p1 p2/4 and so on, worked by hand.
    ("1", "1", "1/4", "1/2", "2/3"), ("1", "2/3", "1/6", "1/2", "3/5"), ("1", "1/2", "1/8", "1/2", "4/7"),
    ("1", "0", "0", "1/2", "1/2"), ("2/3", "2/3", "1/9", "4/9", "1/2"),
    ("2/3", "1/2", "1/12", "5/12", "5/11"),
    ("2/3", "0", "0", "1/3", "1/3"), ("1/2", "1/2", "1/16", "3/8", "2/5"), ("1/2", "0", "0", "1/4", "1/4"),
    ("1/3", "1/3", "1/36", "5/18", "2/7"),
]  # fmt: skip


@pytest.mark.parametrize(("p1", "p2", "visual", "het", "given_normal"), CARRIERS)
def test_two_uncertain_parents(p1: str, p2: str, visual: str, het: str, given_normal: str) -> None:
    clown = standard().locus("Clown")

    def parent(p: str) -> Genotypes:
        return {clown: {Genotype(0, 1): F(p), Genotype(0, 0): 1 - F(p)}}

    made = cross(parent(p1), parent(p2))
    assert made.chance({clown: [Genotype(1, 1)]}) == F(visual)
    assert made.chance({clown: [Genotype(0, 1)]}) == F(het)
    normal = next(o for o in outcomes(made) if o.looks == ("Normal",))
    assert dict(normal.carries).get("Clown", 0) == F(given_normal)


@pytest.mark.parametrize("r", [F(3, 100), F(5, 100), F(7, 100), F(1, 10)])
def test_banana_male_with_normal_female(r: Fraction) -> None:
    # Direction of the rule: Mallery & Carrillo 2016 and Gamble et al. 2017; the algebra worked by hand.
    near, far = (1 - r) / 2, r / 2
    assert looks(of("Banana male maker", "Normal", r)) == {
        "Banana M": near, "Normal M": far, "Banana F": far, "Normal F": near,
    }  # fmt: skip
    assert looks(of("Banana female maker", "Normal", r)) == {
        "Banana M": far, "Normal M": near, "Banana F": near, "Normal F": far,
    }  # fmt: skip
    assert set(looks(of("Normal", "Banana", r)).values()) == {F(1, 4)}


@pytest.mark.parametrize("r", [F(7, 100), F(1, 10), F(0), F(1, 2)])
def test_banana_with_banana(r: Fraction) -> None:
    q = 1 - r
    table = {"Normal M": r / 4, "Banana M": F(1, 4), "Super Banana M": q / 4,
             "Normal F": q / 4, "Banana F": F(1, 4), "Super Banana F": r / 4}  # fmt: skip
    other = {"Normal M": q / 4, "Banana M": F(1, 4), "Super Banana M": r / 4,
             "Normal F": r / 4, "Banana F": F(1, 4), "Super Banana F": q / 4}  # fmt: skip
    for sire, expected in (("Banana male maker", table), ("Banana female maker", other)):
        assert looks(of(sire, "Banana", r)) == {k: p for k, p in expected.items() if p}


@pytest.mark.parametrize(("maker", "male_maker"), [("male maker", F(93, 100)), ("female maker", F(7, 100))])
def test_a_one_copy_sons_phase(maker: str, male_maker: Fraction) -> None:
    banana = standard().locus("Banana")
    sire, dam = read(f"Banana {maker}").founder(male=True), read("Banana").founder()
    phase = given_look(banana, sire[banana], dam[banana], ("Banana",), Sex.MALE, F(7, 100))
    assert phase[Genotype(0, 1)] == male_maker
    son = next(o for o in outcomes(cross(sire, dam)) if o.sex is Sex.MALE and o.looks == ("Banana",))
    assert son.classes[0].genotypes[Genotype(0, 1)] == male_maker


def test_super_banana_parents() -> None:
    assert looks(of("Banana male maker", "Super Banana")) == {
        "Banana F": F("0.465"), "Super Banana F": F("0.035"),
        "Banana M": F("0.035"), "Super Banana M": F("0.465"),
    }  # fmt: skip
    son = next(
        o
        for o in outcomes(of("Banana male maker", "Super Banana"))
        if o.looks == ("Banana",) and o.sex == "M"
    )
    assert son.classes[0].genotypes == {Genotype(1, 0): 1}  # all female makers
    assert set(looks(of("Super Banana", "Banana")).values()) == {F(1, 4)}
    sire = next(o for o in outcomes(of("Super Banana", "Banana")) if o.looks == ("Banana",) and o.sex == "M")
    assert sire.classes[0].genotypes == {Genotype(0, 1): 1}  # all male makers
    assert looks(of("Super Banana", "Super Banana")) == {"Super Banana F": F(1, 2), "Super Banana M": F(1, 2)}


@pytest.mark.parametrize(
    ("counts", "ratio", "statistic"),
    [
        # Mendel 1866, as analysed by Fisher 1936 (counts at second hand).
        ((5474, 1850), "3:1", 0.2629), ((6022, 2001), "3:1", 0.0150), ((705, 224), "3:1", 0.3907),
        ((882, 299), "3:1", 0.0635), ((428, 152), "3:1", 0.4506), ((651, 207), "3:1", 0.3497),
        ((787, 277), "3:1", 0.6065), ((315, 101, 108, 32), "9:3:3:1", 0.4700),
    ],
)  # fmt: skip
def test_mendels_peas(counts: tuple[int, ...], ratio: str, statistic: float) -> None:
    genes = "het Clown" if ratio == "3:1" else "het Clown Pied"
    odds = sorted(looks(of(genes, genes)).values(), reverse=True)
    expected = [float(p * sum(counts)) for p in odds]
    assert chisquare(counts, expected).statistic == pytest.approx(statistic, abs=6e-5)
    assert chisquare(counts, expected).pvalue > 0.4


def _genotype_odds(genes: str) -> list[Fraction]:
    return sorted(o.p for o in outcomes(of(genes, genes), genotypes=True))


def test_mendels_genotypes_of_two_and_three_traits() -> None:
    # Fisher's groups: with n heterozygous loci a genotype has weight 2^n; chi-squares 2.8110 and 15.3224.
    two = [38, 35, 28, 30, 65, 68, 60, 67, 138]
    odds = _genotype_odds("het Clown Pied")
    assert [p * 16 for p in odds] == [1] * 4 + [2] * 4 + [4]
    assert chisquare(two, [float(p) * sum(two) for p in odds]).statistic == pytest.approx(2.8110, abs=6e-5)
    three = [
        8,
        14,
        9,
        11,
        8,
        10,
        10,
        7,
        22,
        17,
        25,
        20,
        15,
        18,
        19,
        24,
        14,
        18,
        20,
        16,
        45,
        36,
        38,
        40,
        49,
        48,
        78,
    ]
    odds = _genotype_odds("het Clown Pied Albino")
    assert [p * 64 for p in odds] == [1] * 8 + [2] * 12 + [4] * 6 + [8]
    assert chisquare(three, [float(p) * sum(three) for p in odds]).statistic == pytest.approx(
        15.3224, abs=6e-5
    )


def test_mendels_f3_and_gametes_and_the_grand_total() -> None:
    # Dominants of an F2 are carriers 2 : 1; gametes of a double het 1 : 1 : 1 : 1. Fisher: 5.1733, 3.6730.
    f3 = [(372, 193), (353, 166), (64, 36), (71, 29), (60, 40), (67, 33), (72, 28), (65, 35)]
    normal = next(o for o in outcomes(of("het Clown", "het Clown")) if o.looks == ("Normal",))
    het = float(dict(normal.carries)["Clown"])
    third = sum(chisquare(row, [het * sum(row), (1 - het) * sum(row)]).statistic for row in f3)
    assert third == pytest.approx(5.1733, abs=6e-5)
    gametic = [(20, 23, 25, 22), (25, 19, 22, 21), (31, 26, 27, 26), (24, 25, 22, 27), (47, 40, 38, 41)]
    odds = [float(p) for p in looks(of("het Clown Pied", "Clown Pied")).values()]
    fourth = sum(chisquare(row, [p * sum(row) for p in odds]).statistic for row in gametic)
    assert fourth == pytest.approx(3.6730, abs=6e-5)
    total = 2.1389 + third + 2.8110 + fourth + 15.3224
    assert total == pytest.approx(29.1185, abs=3e-4)
    assert chi2.sf(29.1185, 64) == pytest.approx(0.99995, abs=6e-6)


@pytest.mark.parametrize("case", GOLDEN, ids=[f"{c['sire']} x {c['dam']}" for c in GOLDEN])
def test_equals_a_bayesian_network(case: dict[str, object]) -> None:
    # Odds by pgmpy's variable elimination, see tests/oracles/crosses_by_pgmpy.py.
    made = of(str(case["sire"]), str(case["dam"]))
    found: dict[str, float] = {}
    for o in outcomes(made):
        for sex in [o.sex] if made.sexed else [Sex.FEMALE, Sex.MALE]:
            parts = sorted(" ".join(c.look) for c in o.classes if c.look)
            key = f"{sex.value}: {' + '.join(parts) or 'Normal'}"
            found[key] = found.get(key, 0.0) + float(o.p if made.sexed else o.p / 2)
    assert found == pytest.approx(case["odds"], abs=1e-12)


@st.composite
def random_crosses(draw: st.DrawFn) -> tuple[list[Locus], list[PlainLocus], list[Odds], list[Odds], Fraction]:
    """Up to two random loci as the engine's values and as plain tables, with random parents."""
    loci, plain, sire, dam = [], [], [], []
    for n in range(draw(st.integers(1, 2))):
        linked = n == 0 and draw(st.booleans())
        alleles = [_allele(draw, f"G{n}{i}") for i in range(draw(st.integers(1, 2)))]
        loci.append(Locus(f"L{n}", tuple(alleles), linked))
        plain.append(_plain(loci[-1]))
        sire.append(_odds(draw, plain[-1], linked))
        dam.append(_odds(draw, plain[-1], False))
    return loci, plain, sire, dam, draw(st.fractions(0, F(1, 2), max_denominator=50))


def _allele(draw: st.DrawFn, name: str) -> Allele:
    fate = Fate.LOST if draw(st.integers(0, 3)) == 0 else Fate.LIVES
    return Allele(name, draw(st.sampled_from(list(Mode))), fate=fate)


def _plain(locus: Locus) -> PlainLocus:
    names = [a.name for a in locus.alleles]
    once = {a.name: "" if a.mode == "recessive" else a.name for a in locus.alleles}
    twice = {a.name: f"Super {a.name}" if a.mode == "incomplete dominant" else a.name for a in locus.alleles}
    lost = frozenset(a.name for a in locus.alleles if a.fate is Fate.LOST)
    return PlainLocus(locus.name, ("+", *names), once, twice, lost, locus.sex_linked)


def _odds(draw: st.DrawFn, locus: PlainLocus, ordered: bool) -> Odds:
    pairs = [(a, b) for i, a in enumerate(locus.alleles) for b in locus.alleles[0 if ordered else i :]]
    chosen = draw(st.lists(st.sampled_from(pairs), min_size=1, max_size=2, unique=True))
    weights = [draw(st.integers(1, 5)) for _ in chosen]
    return {pair: F(w, sum(weights)) for pair, w in zip(chosen, weights, strict=True)}


@given(random_crosses())
@settings(max_examples=60, deadline=None)
def test_equals_plain_enumeration(
    case: tuple[list[Locus], list[PlainLocus], list[Odds], list[Odds], Fraction],
) -> None:
    loci, plain, sire, dam, r = case

    def typed(odds: list[Odds], male: bool) -> Genotypes:
        return {
            locus: {
                locus.genotype(locus.index(a), locus.index(b), male=male): p for (a, b), p in each.items()
            }
            for locus, each in zip(loci, odds, strict=True)
        }

    made = cross(typed(sire, True), typed(dam, False), r)
    odds, lost = enumerated(plain, sire, dam, r)
    found: dict[tuple[str, tuple[str, ...]], Fraction] = {}
    for o in outcomes(made):
        shown = tuple(sorted(name for c in o.classes for name in c.look))
        for sex in [o.sex] if made.sexed else [Sex.FEMALE, Sex.MALE]:
            key = (sex.value, shown)
            found[key] = found.get(key, F(0)) + (o.p if made.sexed else o.p / 2)
    assert found == odds
    assert made.lost == lost
    assert sum(found.values()) + made.lost == 1


def test_losses_before_hatching() -> None:
    # If two copies of Spider are lost: of hatchlings 2/3 Spider, 1/3 normal; a quarter lost (worked by hand).
    known = catalogue(readings={"spider-two-copies": "lost"})
    spider = read("Spider", known)
    made = cross(spider.founder(male=True), spider.founder())
    assert made.lost == F(1, 4)
    assert looks(made) == {"Spider": F(1, 2), "Normal": F(1, 4)}
    assert looks(cross(spider.founder(male=True), {})) == {"Spider": F(1, 2), "Normal": F(1, 2)}


def test_unknown_fate_is_an_outcome_of_its_own() -> None:
    fates = {o.fates: o.p for o in outcomes(of("Spider", "Spider"))}
    assert fates[(("Spider", Fate.UNKNOWN),)] == F(1, 4)


def test_refuses_what_makes_no_sense() -> None:
    clown = standard().locus("Clown")
    with pytest.raises(CrossError, match=r"sum to 0\.5"):
        cross({clown: {Genotype(0, 1): F(1, 2)}}, {})
    known = catalogue("[[gene]]\nname = 'Fern'\nmode = 'recessive'\nsex_linked = true")
    with pytest.raises(CrossError, match="both sex-linked"):
        cross(read("Banana", known).founder(male=True), read("het Fern", known).founder())


def test_floats_are_taken_but_not_called_exact() -> None:
    clown = standard().locus("Clown")
    made = cross({clown: {Genotype(0, 1): 0.1, Genotype(0, 0): 0.9}}, {})  # type: ignore[dict-item]
    assert not made.exact
    assert sum(o.p for o in outcomes(made)) == 1
