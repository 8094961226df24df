"""Trade notation, read and written."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.catalogue import catalogue, standard
from eggtooth.engine.facts.inheritance import Genotype, Locus, Mode
from eggtooth.engine.genetics.notation import NotationError, problem, read
from eggtooth.engine.genetics.statement import Claim, Maker, Said, Statement
from eggtooth.engine.genetics.writing import write


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        # Trade usage, common practice, no source.
        ("pastel", "Pastel"),
        ("SUPER PASTEL", "Super Pastel"),
        ("Clown Banana", "Banana Clown"),
        ("het Piebald Clown", "het Clown Piebald"),
        ("Clown het Pied", "Clown het Piebald"),
        ("double het clown, pied", "het Clown Piebald"),
        ("triple het clown pied axanthic", "het Axanthic Clown Piebald"),
        ("Mojave/Lesser", "Lesser Mojave"),
        ("66%het clown", "66% het Clown"),
        ("possible het clown", "possible het Clown"),
        ("100% het clown", "het Clown"),
        ("coral-glow", "Banana"),
        ("white smoke", "Banana"),
        ("YB", "Yellow Belly"),
        ("super yellow belly", "Ivory"),
        ("hypo", "Ghost"),
        ("tri stripe", "Tri-Stripe"),
        ("8ball", "Black Pastel Cinnamon"),
        ("Killer Bee", "Super Pastel Spider"),
        ("bumble bee", "Pastel Spider"),
        ("panda pied", "Super Black Pastel Piebald"),
        ("double het snow", "het Albino Axanthic"),
        ("Desert, Ghost", "Desert, Ghost"),
        ("Desert Ghost", "Desert Ghost"),
        ("Axanthic (North)", "Axanthic (north)"),
        ("Clown/+", "het Clown"),
        ("Clown/Clown", "Clown"),
        ("albino het candy", "Albino Candy"),
        ("wild type", "Normal"),
        ("Pastel het clown female", "Pastel het Clown female"),
        ("male maker banana", "Banana (male maker)"),
    ],
)
def test_reads_and_writes_canonically(typed: str, canonical: str) -> None:
    assert write(read(typed)) == canonical


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        # Old records call the visible single copy of these two "het" (common practice, no source).
        ("het Russo", "Russo"),
        ("het Red Axanthic", "Het Red Axanthic"),
        ("het Russo Clown", "Russo Clown"),
        ("Clown het Red Axanthic het Pied", "Het Red Axanthic Clown het Piebald"),
        ("Red Axanthic", "Red Axanthic"),
    ],
)
def test_visible_hets_of_old_records(typed: str, canonical: str) -> None:
    said = read(typed)
    assert write(said) == canonical
    assert said.said[-1].look or said.said[0].look


@pytest.mark.parametrize(
    ("percent", "p"),
    [
        ("66", "2/3"),
        ("33", "1/3"),
        ("50", "1/2"),
        ("25", "1/4"),
        ("60", "3/5"),
        ("57", "57/100"),
        ("12.5", "1/8"),
    ],
)
def test_percent_het(percent: str, p: str) -> None:
    (claim,) = read(f"{percent}% het Clown").claims
    assert claim.p == Fraction(p)


def test_empty_is_not_noted_and_normal_is_the_whole_look() -> None:
    clown = standard().locus("Clown")
    assert read("").look(clown) is None
    assert read("Normal").look(clown) == ()
    assert read("Pastel").look(clown) == ()
    assert len(read("").possible(clown)) == len(clown.genotypes())
    assert Genotype(1, 1) not in read("Pastel").possible(clown)
    assert Genotype(0, 1) in read("Pastel").possible(clown)


def test_a_dominant_leaves_its_copies_open() -> None:
    pinstripe = standard().locus("Pinstripe")
    assert set(read("Pinstripe").possible(pinstripe)) == {(0, 1), (1, 1)}
    assert read("Super Pinstripe").possible(pinstripe) == ((1, 1),)
    assert read("Pinstripe/+").possible(pinstripe) == ((0, 1),)


def test_the_makers_chromosome() -> None:
    banana = standard().locus("Banana")
    assert read("Banana").founder(male=True)[banana] == {(0, 1): Fraction(1, 2), (1, 0): Fraction(1, 2)}
    assert read("Banana male maker").founder(male=True)[banana] == {(0, 1): 1}
    assert read("Banana (female maker)").possible(banana, male=True) == ((1, 0),)
    assert read("Super Banana").founder(male=True)[banana] == {(1, 1): 1}


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("Clwn", '"Clwn" is not a gene here; did you mean Clown?'),
        ("Pastell Clown", '"Pastell" is not a gene here; did you mean Pastel?'),
        ("Orenge Dream", '"Orenge Dream" is not a gene here; did you mean Orange Dream?'),
        ("Xqzzt", '"Xqzzt" is not a gene here'),
        ("66% het Pastel", "Pastel shows with one copy"),
        ("het", "no gene after it"),
        ("double het Clown", "2 genes were announced as het and 1 named"),
        ("Lesser Mojave Russo", "an animal has two alleles there"),
        ("Super Lesser Mojave", "two copies of one leave no room"),
        ("het Albino het Candy", "write Albino Candy"),
        ("Clown 66% het Clown", "cannot stand together"),
        ("Pastel Pastel", "for two copies write Super Pastel"),
        ("Normal Pastel", "contradict"),
        ("Clown male maker", "one copy of a sex-linked gene"),
        ("66% Clown", "wants het after it"),
        ("0% het Clown", "no chance between"),
        ("150% het Clown", "no chance between"),
        ("Clown $", "has no meaning here"),
        ("Clown (north)", "names no line"),
        ("Super Bumblebee", "say which of its genes is super"),
        ("het Ivory", "Ivory is two copies"),
    ],
)
def test_refuses_in_words(typed: str, says: str) -> None:
    with pytest.raises(NotationError) as refused:
        read(typed)
    assert says in str(refused.value)
    assert says in str(problem(typed))


def test_every_unknown_word_is_told() -> None:
    with pytest.raises(NotationError) as refused:
        read("Clwn Pastell")
    assert len(refused.value.problems) == 2


def test_every_gene_name_alias_and_combination_reads() -> None:
    known = standard()
    for name in [*known.home, *known.aliases, *known.combinations]:
        assert read(name).said, name


@pytest.mark.parametrize("gene", sorted(standard().home))
def test_each_gene_once_and_twice_reads_back(gene: str) -> None:
    locus = standard().locus_of(gene)
    index = locus.index(gene)
    for genotype in (Genotype(0, index), Genotype(index, index)):
        said = Statement(True, (Said(locus, locus.look(genotype), genotype),))
        assert read(write(said)) == said


LOCI = st.lists(st.sampled_from(standard().loci), unique=True, max_size=6)
SHARES = st.one_of(
    st.none(), st.sampled_from([Fraction(2, 3), Fraction(1, 3), Fraction(1, 2)]), st.fractions(0, 1)
)


@st.composite
def statements(draw: st.DrawFn) -> Statement:
    """Any statement the notation can hold."""
    said, claims = [], []
    for locus in sorted(draw(LOCI), key=lambda found: found.name):
        if draw(st.booleans()) and any(not a.shows_once for a in locus.alleles):
            claims += _claim(draw, locus)
        else:
            said.append(_said(draw, locus))
    single = [s for s in said if s.locus.sex_linked and s.genotype and s.genotype.a == 0]
    maker = draw(st.sampled_from([None, *Maker])) if single else None
    sexes = [Sex.UNKNOWN, Sex.MALE] if maker else list(Sex)
    return Statement(True, tuple(said), tuple(claims), maker, draw(st.sampled_from(sexes)))


def _claim(draw: st.DrawFn, locus: Locus) -> list[Claim]:
    hidden = [locus.index(a.name) for a in locus.alleles if not a.shows_once]
    p = draw(SHARES)
    return [] if p in (0, 1) else [Claim(locus, draw(st.sampled_from(hidden)), p)]


def _said(draw: st.DrawFn, locus: Locus) -> Said:
    genotype = draw(st.sampled_from(locus.genotypes()[1:]))
    look = locus.look(genotype)
    single = locus.alleles[genotype.b - 1]
    open_copies = single.mode is Mode.DOMINANT and look == single.look_once and draw(st.booleans())
    return Said(locus, look, None if open_copies else genotype)


@given(statements())
@settings(max_examples=300, deadline=None)
def test_reading_what_was_written_gives_it_back(said: Statement) -> None:
    if not said.said and not said.claims:
        said = Statement(True, sex=said.sex)
    assert read(write(said)) == said


def test_a_users_gene_reads_too() -> None:
    known = catalogue("[[gene]]\nname = 'Fern Leaf'\nmode = 'recessive'")
    assert write(read("fernleaf het clown", known), known) == "Fern Leaf het Clown"
    assert problem("Fern Leaf")
