"""Cautions: which crosses deserve one, how firmly, on what basis, and how a user goes against it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from eggtooth.engine.facts.catalogue import catalogue, standard
from eggtooth.engine.genetics.cautions import BLOCK, NOTE, WARN, Caution, cautions, overridden
from eggtooth.engine.genetics.crosses import cross
from eggtooth.engine.genetics.notation import read

F = Fraction


def found(sire: str, dam: str) -> dict[str, Caution]:
    """Cautions of a pair by id."""
    his, hers = read(sire).founder(male=True), read(dam).founder()
    return {c.id: c for c in cautions(cross(his, hers), his, hers, standard())}


# Levels: published defects and animals that die are blocked, disputed defects warned of. For Spider
# Rose & Williams 2014 and Starck et al. 2022; the rest common practice, no source.
@pytest.mark.parametrize(
    ("sire", "dam", "caution", "level", "p"),
    [
        ("Spider", "Normal", "spider-wobble", BLOCK, "1/2"),
        ("Spider", "Spider", "spider-two-copies", BLOCK, "1/4"),
        ("Champagne", "Normal", "champagne-wobble", WARN, "1/2"),
        ("Champagne", "Champagne", "champagne-two-copies", BLOCK, "1/4"),
        ("HGW", "HGW", "pearl", BLOCK, "1/4"),
        ("Spider", "Champagne", "double-wobble", BLOCK, "1/4"),
        ("Woma", "Champagne", "double-wobble", BLOCK, "1/4"),
        ("Spotnose", "Spotnose", "powerball-wobble", WARN, "1/4"),
        ("Sable", "Sable", "super-sable-wobble", WARN, "1/4"),
        ("Lesser", "Butter", "super-lesser-eyes", WARN, "1/4"),
        ("Cinnamon", "Black Pastel", "super-cinnamon-kinks", WARN, "1/4"),
        ("8-Ball", "8-Ball", "super-cinnamon-kinks", WARN, "1"),
        ("het Caramel", "het Caramel", "caramel-albino-kinks", WARN, "1/4"),
        ("Normal", "Caramel Albino", "caramel-albino-dam", WARN, "1"),
        ("Normal", "Desert", "desert-dam", BLOCK, "1"),
        ("Scaleless Head", "Scaleless Head", "scaleless", BLOCK, "1/4"),
    ],
)
def test_a_cross_that_deserves_a_caution(sire: str, dam: str, caution: str, level: str, p: str) -> None:
    here = found(sire, dam)[caution]
    assert (here.level, here.p) == (level, F(p))
    assert here.text
    assert here.basis
    assert here.blocks is (level == BLOCK)


@pytest.mark.parametrize(
    ("sire", "dam"),
    [
        ("Pastel", "Pastel"),
        ("Lesser", "Mojave"),
        ("Desert", "Normal"),
        ("het Clown", "Clown"),
        ("Cinnamon", "Normal"),
    ],
)
def test_no_block_without_a_reason(sire: str, dam: str) -> None:
    assert not any(c.blocks for c in found(sire, dam).values())


def test_spider_with_published_basis() -> None:
    cites = {source.cite for source in found("Spider", "Normal")["spider-wobble"].basis}
    assert cites == {"Rose & Williams 2014", "Starck et al. 2022"}


def test_spider_with_its_allele_blackhead_is_no_double_spider() -> None:
    assert "spider-two-copies" not in found("Spider", "Blackhead")


def test_harm_brings_the_law_and_the_vet() -> None:
    law = found("Spider", "Normal")["law"]
    assert law.level == NOTE
    assert "law" in law.text
    assert "reptile vet" in law.text
    assert "law" not in found("Normal", "Desert")


def test_a_reason_lifts_a_block_and_is_kept() -> None:
    here = overridden(found("Spider", "Normal").values(), {"spider-wobble": "study of severity"})
    lifted = next(c for c in here if c.id == "spider-wobble")
    assert not lifted.blocks
    assert lifted.reason == "study of severity"
    with pytest.raises(ValueError, match="give a reason"):
        overridden(here, {"spider-wobble": " "})


def test_losses_are_still_told_when_two_copies_are_lost() -> None:
    known = catalogue(readings={"spider-two-copies": "lost"})
    his, hers = read("Spider", known).founder(male=True), read("Spider", known).founder()
    here = {c.id: c.p for c in cautions(cross(his, hers), his, hers, known)}
    assert here["spider-two-copies"] == F(1, 4)
