"""Records that cannot all be true are named, and nothing that is not needed for it."""

from __future__ import annotations

from tests.pedigree_colonies import answer, lab_result


def tags(found) -> list[set[str]]:
    return [set(c.tags) for c in found.contradictions]


def test_a_gene_from_nowhere() -> None:
    """A Pastel of two normal founders: all three records are needed."""
    found = answer(("m", "M", "Normal"), ("f", "F", "Normal"), ("k", "", "Pastel", "m", "f"))
    assert tags(found) == [{"m", "f", "k"}]
    assert "k is noted as Pastel" in found.contradictions[0].text
    assert "k is from m × f" in found.contradictions[0].text


def test_a_super_needs_both() -> None:
    """A Super Pastel of one Pastel parent: the other parent and the young."""
    found = answer(("m", "M", "Pastel"), ("f", "F", "Normal"), ("k", "", "Super Pastel", "m", "f"))
    assert tags(found) == [{"f", "k"}]


def test_across_generations() -> None:
    """The grandparents of an impossible visual are named, bystanders are not."""
    found = answer(
        ("gm", "M", "Normal"), ("gf", "F", "Normal"), ("a", "M", "", "gm", "gf"), ("c", "F", "Clown"),
        ("v", "", "Clown", "a", "c", "K"), ("w", "", "Normal", "a", "c", "K"),
        ("bystander", "F", "Normal", "gm", "gf"),
    )  # fmt: skip
    assert tags(found) == [{"gm", "gf", "v"}]


def test_a_laboratory_result_against_the_pedigree() -> None:
    """Young of a visual must carry; a result of none contradicts the sire's text."""
    found = answer(("m", "M", "Clown"), ("f", "F", "Normal"), ("k", "", "Normal", "m", "f"),
                   entries=(lab_result("k", "Clown", 0),))  # fmt: skip
    assert tags(found) == [{"m", "k"}]
    assert "0 of Clown found" in found.contradictions[0].text


def test_no_contradiction_no_list() -> None:
    """Ordinary records give none."""
    assert answer(("m", "M", "Clown"), ("f", "F", "Clown"), ("k", "", "Clown", "m", "f")).contradictions == ()


def test_loci_that_rule_out_all_candidates_together_leave_the_rest_answerable() -> None:
    """One locus speaks for one candidate and another for the other: the eggs are then taken one by one."""
    from eggtooth.engine.colony import Animal, Colony, Sex
    from eggtooth.engine.facts.catalogue import standard
    from eggtooth.engine.pedigree.carriers import carriers

    clutch = [
        Animal(f"K{i}", Sex.FEMALE, genes=genes, sires=("S1", "S2"), dam="D", clutch="c")
        for i, genes in enumerate(["Banana", "Pastel", "Normal"])
    ]
    others = [
        Animal(f"X{i}", Sex.FEMALE, genes="Normal", sires=("S1", "S2"), dam=f"D{i}", clutch=f"x{i}")
        for i in range(8)
    ]
    founders = [
        Animal("S1", Sex.MALE, genes="Banana"),
        Animal("S2", Sex.MALE, genes="Pastel"),
        Animal("D", Sex.FEMALE, genes="Normal"),
        *(Animal(f"D{i}", Sex.FEMALE, genes="Normal") for i in range(8)),
    ]
    found = carriers(Colony.of([*founders, *clutch, *others]), standard())
    assert ("D", "c") in found.clashing
    assert sum(p for g, p in found.odds("K1", "Pastel").items() if g.a or g.b) > 0.99
