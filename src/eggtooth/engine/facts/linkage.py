"""Recombination on the sex chromosomes."""

from __future__ import annotations

from eggtooth.engine.facts.fact import Fact
from eggtooth.engine.facts.sources import CHOICE

MALE_RECOMBINATION = Fact(
    "recombination between Banana and the sex of the chromosome, in male meiosis",
    0.07,
    "share",
    CHOICE,
    note="a working assumption, to be set by the user: breeders quote 5 to 10 % (common practice, disputed). "
    "Mallery & Carrillo 2016 show that the gene is sex-linked and recombines; their figure was not available",
)
