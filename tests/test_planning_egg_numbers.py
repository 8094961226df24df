"""Numbers of eggs a plan rests on, against the published formulas.

n = ceil(ln(1 - g) / ln(1 - p)) for one target of chance p with success g; an overall success G over k chance
targets asks g = G^(1/k) of each: De Beukelaer et al. 2015, BMC Genetics 16:2 (as its program computes them).
The figures were computed from the formulas; the program's own tests print no sizes.
"""

from __future__ import annotations

import pytest

from eggtooth.engine.genetics.clutches import eggs_for_both_sexes, eggs_needed


@pytest.mark.parametrize(
    ("p", "g", "targets", "eggs"),
    [
        # Two recessives from one visual parent each: double hets together, or by way of visual a het b.
        (1 / 16, 0.95, 1, 47),
        (1 / 4, 0.95, 2, 13),
        (1 / 8, 0.95, 2, 28),
        (1 / 4, 0.95, 3, 15),
        # m loci from m founders, balanced and in tandem.
        (1 / 16, 0.95, 3, 64),
        (1 / 256, 0.95, 3, 1042),
        (1 / 4, 0.95, 6, 17),
        (1 / 8, 0.95, 6, 36),
        (1 / 16, 0.95, 6, 74),
        (1 / 32, 0.95, 6, 151),
        (1 / 64, 0.95, 6, 303),
        (1 / 128, 0.95, 6, 608),
        # All het x all het: homozygous for m loci, and showing m dominants.
        (1 / 4**2, 0.95, 1, 47),
        (1 / 4**4, 0.95, 1, 766),
        (1 / 4**8, 0.95, 1, 196_327),
        (0.75**2, 0.95, 1, 4),
        (0.75**4, 0.95, 1, 8),
        (0.75**8, 0.95, 1, 29),
        # The scheme with the last two loci 1 cM apart.
        (3.06333e-4, 0.90, 2, 9694),
        (1 / 16, 0.90, 2, 47),
        (3.06333e-4, 0.95, 2, 11_999),
        (1 / 16, 0.95, 2, 57),
    ],
)
def test_eggs_for_a_step_of_a_plan(p: float, g: float, targets: int, eggs: int) -> None:
    assert eggs_needed(p, g ** (1 / targets)) == pytest.approx(eggs, abs=2 if eggs > 9000 and p < 1e-3 else 0)


def test_eggs_for_a_male_and_a_female_visual() -> None:
    # One of each sex, 1/8 each, at 0.95^(1/2).
    assert eggs_for_both_sexes(1 / 8, 1 / 8, 0.95**0.5) == 33
