"""The catalogue: what it holds, how disputed points and a user's file change it, what it refuses."""

from __future__ import annotations

import pytest

from eggtooth.engine.facts.catalogue import CatalogueError, catalogue, standard
from eggtooth.engine.facts.inheritance import Fate, Mode
from eggtooth.engine.facts.sources import COMMON_PRACTICE


def test_has_72_genes_and_25_combinations() -> None:
    # The trade's usual list (common practice, no source): 20 recessives, 10 + 5 + 5 + 3 of four complexes,
    # 7 with a nervous defect, 1 sex-linked, 21 others.
    known = standard()
    assert len(known.home) == 72
    assert len(known.combinations) == 25
    modes = [a.mode for locus in known.loci for a in locus.alleles]
    assert modes.count(Mode.RECESSIVE) == 20
    assert [locus.name for locus in known.loci if locus.sex_linked] == ["Banana"]


@pytest.mark.parametrize(
    ("gene", "published"),
    [
        ("Albino", "Brown et al. 2022"),
        ("Lavender Albino", "Brown et al. 2022"),
        ("Ultramel", "Brown et al. 2022"),
        ("Piebald", "Garcia-Elfring et al. 2023"),
        ("Clown", "Garcia-Elfring et al. 2025"),
        ("Axanthic", "Garcia-Elfring et al. 2024"),
        ("Ghost", "Lederer et al. 2023"),
        ("Yellow Belly", "Dao et al. 2023"),
        ("Spider", "Starck et al. 2022"),
        ("Banana", "Mallery & Carrillo 2016"),
    ],
)
def test_published_genes_name_their_paper(gene: str, published: str) -> None:
    locus = standard().locus_of(gene)
    allele = locus.alleles[locus.index(gene) - 1]
    assert published in {source.cite for source in allele.basis}


def test_what_is_not_published_says_common_practice() -> None:
    locus = standard().locus_of("Mojave")
    assert locus.alleles[locus.index("Mojave") - 1].basis == (COMMON_PRACTICE,)


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        ("Albino", "Candy", True),
        ("Lesser", "Mojave", True),
        ("Yellow Belly", "Specter", True),
        ("Cinnamon", "Black Pastel", True),
        ("Fire", "Vanilla", True),
        ("Spider", "Blackhead", True),
        ("Clown", "Cryptic", True),
        ("Lavender Albino", "Albino", False),
        ("Desert Ghost", "Ghost", False),
        ("Desert Ghost", "Desert", False),
        ("Fire", "Lesser", False),
        ("Axanthic", "Black Axanthic", False),
    ],
)
def test_alleles_and_loci(one: str, other: str, together: bool) -> None:
    # Albino series: Brown et al. 2022 (several TYR alleles); the others common practice, no source.
    known = standard()
    assert (known.locus_of(one) == known.locus_of(other)) is together


def test_two_lines_of_axanthic_are_two_loci() -> None:
    known = standard()
    assert known.locus("Axanthic (north)") != known.locus("Axanthic (south)")
    assert known.locus_of("Axanthic (north)").alleles[0].name == "Axanthic (north)"
    with pytest.raises(KeyError):
        known.locus("Clown (north)")


def test_disputed_points_switch() -> None:
    spider = standard().locus_of("Spider")
    two = spider.genotype(spider.index("Spider"), spider.index("Spider"))
    assert spider.fate(two) is Fate.UNKNOWN
    lost = catalogue(readings={"spider-two-copies": "lost"}).locus_of("Spider")
    assert lost.fate(two) is Fate.LOST
    assert (
        catalogue(readings={"blackhead-is-a-spider-allele": "own"}).locus_of("Blackhead").name == "Blackhead"
    )
    same = catalogue(readings={"butter-is-lesser": "Lesser"})
    assert same.aliases["Butter"] == "Lesser"
    assert "Butter" not in same.home


def test_pearl_dies_after_hatching_not_before() -> None:
    # Common practice, no source: two copies of Hidden Gene Woma die at or soon after hatching.
    locus = standard().locus_of("Hidden Gene Woma")
    assert locus.fate(locus.genotype(1, 1)) is Fate.DIES


def test_a_user_adds_and_replaces() -> None:
    own = """
    [[gene]]
    name = "Fern"
    mode = "recessive"
    [[gene]]
    name = "Acid"
    locus = "Fern"
    mode = "incomplete dominant"
    [[caution]]
    id = "champagne-wobble"
    level = "block"
    about = "offspring"
    genes = ["Champagne"]
    text = "Not here."
    """
    known = catalogue(own)
    assert known.locus_of("Fern") == known.locus_of("Acid")
    assert len(known.home) == 73
    assert next(rule for rule in known.rules if rule.id == "champagne-wobble").level == "block"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[gene]]\nname = 'Fern'\nmode = 'codominant'", "Fern: mode is one of recessive"),
        ("[[gene]]\nmode = 'recessive'", "has no name"),
        ("[[gene]]\nname = 'Fern'\nmode = 'recessive'\nsuper = 'X'", "'super' is not a key"),
        ("[[genes]]\nname = 'Fern'", "[genes] is not a part"),
        ("[[gene]]\nname = 'Fern'\nmode = 'recessive'\nlocus = 'Banana'", "some genes are sex-linked"),
        ("[[gene]]\nname = 'Fern'\nmode = 'recessive'\naliases = ['Clown']", "names both"),
        (
            "[[caution]]\nid = 'x'\nlevel = 'warn'\nabout = 'dam'\ntext = 't'\ngenes = ['Fern']",
            "no gene 'Fern'",
        ),
        ("name = ", "is not TOML"),
    ],
)
def test_a_bad_file_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(CatalogueError) as refused:
        catalogue(text)
    assert says in str(refused.value)


@pytest.mark.parametrize("readings", [{"spider": "lost"}, {"spider-two-copies": "maybe"}])
def test_a_reading_that_is_none_is_refused(readings: dict[str, str]) -> None:
    with pytest.raises(CatalogueError):
        catalogue(readings=readings)
