"""How many normal babies, and which mate settles it best."""

from __future__ import annotations

import pytest

from eggtooth.engine.pedigree import sampling
from eggtooth.engine.pedigree.worth import open_questions
from eggtooth.engine.pedigree.worth import test_crosses as crosses_of
from tests.pedigree_colonies import answer

NEEDED = [("50%", 5, 11), ("66%", 6, 13), ("33%", 4, 8)]


def crosses(share: str, *mates: tuple[str, str]):
    found = answer(("A", "M", f"{share} het Clown"), *((tag, "F", genes) for tag, genes in mates))
    ranked = crosses_of(found, "A", "Clown", [tag for tag, _ in mates])
    return {c.mate: c for c in ranked}, [c.mate for c in ranked]


@pytest.mark.parametrize(("share", "visual", "het"), NEEDED)
def test_normal_babies_needed(share: str, visual: int, het: int) -> None:
    """Normal-looking young until below 5 %: 1/2 -> 5 and 11, 2/3 -> 6 and 13, 1/3 -> 4 and 8 (computed)."""
    by_mate, _ = crosses(share, ("v", "Clown"), ("h", "het Clown"), ("n", "Normal"))
    assert (by_mate["v"].normals, by_mate["h"].normals, by_mate["n"].normals) == (visual, het, None)


def test_one_uncertain_mate_is_not_many() -> None:
    """Young of one 1/2-het mate are not independent: the chance levels off at the mate being no carrier."""
    by_mate, _ = crosses("50%", ("p", "50% het Clown"))
    assert by_mate["p"].normals is None


def test_the_visual_mate_settles_most() -> None:
    """Visual before het before possible het before normal, and a normal mate settles nothing."""
    by_mate, order = crosses(
        "66%", ("n", "Normal"), ("p", "50% het Clown"), ("h", "het Clown"), ("v", "Clown")
    )
    assert order == ["v", "h", "p", "n"]
    assert by_mate["n"].settles == pytest.approx(0)
    assert by_mate["v"].shows == pytest.approx(2 / 3 * (1 - 0.5**6))


def test_open_questions_first() -> None:
    """Animals nearest to even odds come first; the certain ones are left out."""
    found = answer(("a", "M", "50% het Clown"), ("b", "M", "66% het Pied"), ("c", "F", "het Clown"))
    assert [(tag, locus) for tag, locus, _ in open_questions(found, ["a", "b", "c"])] == [
        ("a", "Clown"),
        ("b", "Piebald"),
    ]


def chance_of(found, tag: str = "A") -> float:
    return sum(q for g, q in found.odds(tag, "Clown").items() if g.a or g.b)


RELATED = (("S", "M", "66% het Clown"), ("D", "F", "66% het Clown"), ("A", "M", "Normal", "S", "D"),
           ("H", "F", "Normal", "S", "D"))  # fmt: skip
BRED = (("A", "M", "66% het Clown"), ("D", "F", "50% het Clown"),
        *((f"k{i}", "", "Normal", "A", "D", "C") for i in range(3)))  # fmt: skip

UNSURE = (("S1", "M", "Clown"), ("S2", "M", "Pastel 66% het Clown"), ("D", "F", "het Clown"),
          ("A", "M", "Normal", "S1|S2", "D", "c"), ("B", "F", "Normal", "S1|S2", "D", "c"))  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "mate"),
    [
        (UNSURE, "B"),
        (UNSURE, "D"),
        (RELATED, "D"),
        (RELATED, "H"),
        (BRED, "D"),
        ((*BRED, ("v", "F", "Clown")), "v"),
    ],
)
def test_what_is_foretold_is_what_comes(lines, mate: str) -> None:
    """Normal babies foretold one by one, and added to the records one by one: the same odds, for a mate of
    the same family, for one it has young with, and where its own sire is one of two."""
    foretold = {c.mate: c for c in crosses_of(answer(*lines), "A", "Clown", [mate])}[mate]
    assert foretold.exact
    for n in range(7):
        more = [(f"n{i}", "", "Normal", "A", mate, "new") for i in range(n)]
        assert foretold.falling[n] == pytest.approx(chance_of(answer(*lines, *more)), abs=1e-12)
    assert foretold.after_none == pytest.approx(foretold.falling[6])
    shown = answer(*lines, ("n", "", "Clown", "A", mate, "new"))
    assert foretold.after_some == pytest.approx(chance_of(shown))


def test_outcomes_average_to_what_is_known_now() -> None:
    """The law of total probability; each egg of a carrier and a visual shows it with 1/2 (Mendel)."""
    by_mate, _ = crosses("66%", ("v", "Clown"), ("h", "het Clown"))
    for c, each in ((by_mate["v"], 1 / 2), (by_mate["h"], 1 / 4)):
        assert c.each == pytest.approx(each)
        assert c.shows * c.after_some + (1 - c.shows) * c.after_none == pytest.approx(2 / 3)


def test_a_shared_answer_names_its_own_mate() -> None:
    """Two mates with the same odds are worked out once and both listed."""
    by_mate, order = crosses("50%", ("v", "Clown"), ("w", "Clown"))
    assert order == ["v", "w"] and by_mate["w"].mate == "w"


def test_a_sampled_family_is_said_to_be_about(monkeypatch: pytest.MonkeyPatch) -> None:
    """Too tangled for the budget and for the shell: mates are still ranked, and none is called exact."""
    monkeypatch.setattr(sampling, "SHELL_CELLS", 1)
    cousins = (("S", "M", "66% het Clown"), ("D", "F", "66% het Clown"), ("E", "F", "66% het Clown"),
               ("a", "M", "Normal", "S", "D", "1"), ("b", "F", "Normal", "S", "E", "2"),
               ("A", "M", "Normal", "a", "b", "3"), ("v", "F", "Clown"), ("h", "F", "het Clown"))  # fmt: skip
    found = answer(*cousins, budget=1)
    assert found.loci["Clown"].tangled
    ranked = crosses_of(found, "A", "Clown", ["h", "v"])
    assert [(c.mate, c.exact) for c in ranked] == [("v", False), ("h", False)]
    assert all(c.exact for c in crosses_of(answer(*cousins), "A", "Clown", ["h", "v"]))
