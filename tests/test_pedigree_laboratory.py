"""Laboratory results against published and worked answers."""

from __future__ import annotations

import numpy as np
import pytest

from eggtooth.engine.pedigree.evidence import Rates
from eggtooth.engine.pedigree.laboratory import LabErrors, lab_worth, result_chances
from tests.pedigree_colonies import answer, lab_result, p

SIB = (("S", "M", "het Clown"), ("D", "F", "het Clown"), ("a", "M", "Normal", "S", "D"))
DETECTS_90 = Rates(test_misses=0.1, test_invents=0.0)


def test_unaffected_sib_with_a_negative_result() -> None:
    """Prior 2/3, a test that finds 90 % of carriers and errs in no other: 1/6 (set-up of Ogino & Wilson 2004,
    J. Mol. Diagn. 6:1-9; result computed)."""
    found = answer(*SIB, entries=(lab_result("a", "Clown", 0),), rates=DETECTS_90)
    assert p(found, "a", "Clown/+") == pytest.approx(1 / 6, abs=1e-12)
    assert lab_worth(2 / 3, DETECTS_90.laboratory).after_not == pytest.approx(1 / 6, abs=1e-12)


def test_carrier_of_the_population_with_a_negative_result() -> None:
    """Carriers 1 in 25, the same test: 1/241 (computed; a published patient report rounds to 1/240)."""
    worth = lab_worth(1 / 25, DETECTS_90.laboratory)
    assert worth.after_not == pytest.approx(1 / 241, abs=1e-12)
    assert worth.after_found == 1


def test_a_found_gene_is_sure_when_none_is_invented() -> None:
    """Perfect specificity: a positive result settles it, whatever is missed (Bayes)."""
    found = answer(*SIB, entries=(lab_result("a", "Clown", 1),), rates=DETECTS_90)
    assert p(found, "a", "Clown/+") == 1


def test_a_stated_error_stands_before_the_usual_rates() -> None:
    """`error 10%` on the entry: 2/3 x 0.05 against 1/3 x 0.9 (Bayes)."""
    found = answer(*SIB, entries=(lab_result("a", "Clown", 0, 0.1),), rates=DETECTS_90)
    assert p(found, "a", "Clown/+") == pytest.approx(2 * 0.05 / (2 * 0.05 + 0.9), abs=1e-12)


@pytest.mark.parametrize(
    "errors", [LabErrors(), LabErrors(0.2), LabErrors(0.1, 0.3, 0.05), LabErrors(0, 0.1, 0)]
)
def test_results_sum_to_one(errors: LabErrors) -> None:
    """Whatever is there, one of three results is reported."""
    copies = np.array([0, 1, 2])
    total = sum(result_chances(copies, found, errors) for found in range(3))
    np.testing.assert_allclose(total, 1)


def test_worth_averages_to_what_is_known() -> None:
    """The law of total probability; a test that never errs settles all."""
    worth = lab_worth(0.4, LabErrors(0.02))
    assert worth.finds * worth.after_found + (1 - worth.finds) * worth.after_not == pytest.approx(0.4)
    assert lab_worth(0.4, LabErrors()).settles == pytest.approx(1)


@pytest.mark.parametrize("wrong", [{"misses": 1.0}, {"invents": -0.1}, {"error": 0.9, "misses": 0.6}])
def test_shares_that_are_none(wrong: dict[str, float]) -> None:
    """A laboratory that is never right is refused."""
    with pytest.raises(ValueError, match=r"share|right"):
        LabErrors(**wrong)
