"""Kinship and inbreeding against printed matrices, worked examples and the tabular method."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from eggtooth.engine.pedigree.kinship import _diagonal_and_sampling, inbreeding, kinship
from eggtooth.engine.pedigree.lineage import CircularDescent, Lineage, from_links
from tests.oracles.tabular import tabular


def of(**parents: str) -> Lineage:
    """`of(c="a b")`: sire a, dam b; `-` unknown; `a:0.3+d:0.7` uncertain sires."""
    links, dams = [], []
    for text in parents.values():
        sire, dam = (text or "- -").split()
        row = [(dam, 0.5)] if dam != "-" else []
        for one in sire.split("+") if sire != "-" else []:
            name, _, p = one.partition(":")
            row.append((name, 0.5 * float(p or 1)))
        links.append(row)
        dams.append(dam != "-")
    return from_links(list(parents), links, dams)


def f_of(pedigree: Lineage, base: float = 0.0) -> dict[str, float]:
    return dict(zip(pedigree.tags, inbreeding(pedigree, base).tolist(), strict=True))


def a_of(pedigree: Lineage, *tags: str) -> np.ndarray:
    rows = pedigree.rows(tags)
    return 2 * kinship(pedigree, rows, rows)


SIX = of(a1="", a2="", a3="a1 a2", a4="a1 -", a5="a4 a3", a6="a5 a2")


def test_mrode_table_2_1() -> None:
    """Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., table 2.1 and example
    2.1."""
    printed = [
        [1, 0, 0.5, 0.5, 0.5, 0.25],
        [0, 1, 0.5, 0, 0.25, 0.625],
        [0.5, 0.5, 1, 0.25, 0.625, 0.5625],
        [0.5, 0, 0.25, 1, 0.625, 0.3125],
        [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875],
        [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
    ]
    np.testing.assert_allclose(a_of(SIX, "a1", "a2", "a3", "a4", "a5", "a6"), printed, atol=1e-12)
    assert f_of(SIX) == pytest.approx({"a1": 0, "a2": 0, "a3": 0, "a4": 0, "a5": 0.125, "a6": 0.125})


def test_mrode_inverse() -> None:
    """Mrode 2014, the inverse of the same matrix as printed (six decimals); sires 1, 4 and 5 alone."""
    printed = [
        [1.833333, 0.5, -1, -0.666667, 0, 0],
        [0.5, 2.033333, -1, 0, 0.533333, -1.066667],
        [-1, -1, 2.5, 0.5, -1, 0],
        [-0.666667, 0, 0.5, 1.833333, -1, 0],
        [0, 0.533333, -1, -1, 2.533333, -1.066667],
        [0, -1.066667, 0, 0, -1.066667, 2.133333],
    ]
    np.testing.assert_allclose(np.linalg.inv(a_of(SIX, *SIX.tags)), printed, atol=1e-6)
    sires = [[1, 0.5, 0.5], [0.5, 1, 0.625], [0.5, 0.625, 1.125]]
    np.testing.assert_allclose(a_of(SIX, "a1", "a4", "a5"), sires, atol=1e-12)


def sampling_of(pedigree: Lineage) -> dict[str, float]:
    """Mendelian sampling variances D of A = T D T', on which Henderson's rules rest too."""
    return dict(zip(pedigree.tags, _diagonal_and_sampling(pedigree)[1].tolist(), strict=True))


def test_mrode_sampling_variances() -> None:
    """Mrode 2014, table 2.1 as decomposed: 1, 1, 0.5, 0.75, 0.5, 0.46875. His inner walk for animal 5 ends at
    the 1.125 checked above; its steps are another algorithm's."""
    assert sampling_of(SIX) == pytest.approx(
        {"a1": 1, "a2": 1, "a3": 0.5, "a4": 0.75, "a5": 0.5, "a6": 0.46875}
    )


def test_mrode_eight_animals() -> None:
    """Mrode 2014, repeatability chapter: printed inverse of eight animals (two decimals; pedigree inferred
    from it)."""
    eight = of(a1="", a2="", a3="", a4="a1 a2", a5="a3 -", a6="a1 a5", a7="a3 a4", a8="a1 a7")
    inverse = np.linalg.inv(a_of(eight, *(f"a{i}" for i in range(1, 9))))
    assert np.diag(inverse) == pytest.approx([2.5, 1.5, 1.83, 2.5, 1.83, 2.0, 2.5, 2.0], abs=0.005)
    beside = inverse[np.triu_indices(8, 1)]
    assert {round(float(x), 2) for x in beside[np.abs(beside) > 1e-9]} == {0.5, -1.0, -0.67}
    assert list(f_of(eight).values()) == pytest.approx([0] * 7 + [0.125])


def test_copenhagen_seven_animals() -> None:
    """Royal Veterinary and Agricultural University, Copenhagen, population genetics notes 4.4-4.5 (F7 printed
    0.218)."""
    seven = of(a1="", a2="a1 -", a3="a1 -", a4="a1 -", a5="a2 a3", a6="a4 a3", a7="a5 a6")
    f = f_of(seven)
    assert (f["a5"], f["a6"], f["a7"]) == pytest.approx((0.125, 0.125, 0.21875))
    assert a_of(seven, "a5", "a6", "a7")[[0, 0, 1], [1, 2, 2]] == pytest.approx([0.4375, 0.78125, 0.78125])
    assert a_of(seven, "a2", "a3", "a7")[[0, 1], [2, 2]] == pytest.approx([0.4375, 0.625])


def test_twelve_animals() -> None:
    """Documentation example of the R package FnR: F and the first nine D printed; the rest computed."""
    sires, dams = [0, 0, 0, 2, 2, 0, 4, 6, 0, 6, 10, 10], [0, 0, 0, 1, 1, 0, 3, 5, 7, 8, 9, 0]
    name = lambda i: f"a{i}" if i else "-"  # noqa: E731
    twelve = of(
        **{f"a{i + 1}": f"{name(s)} {name(d)}" for i, (s, d) in enumerate(zip(sires, dams, strict=True))}
    )
    f = f_of(twelve)
    assert [f[f"a{i}"] for i in range(1, 13)] == pytest.approx([0] * 9 + [0.25, 0.015625, 0])
    d = sampling_of(twelve)
    assert [d[f"a{i}"] for i in range(1, 13)] == pytest.approx(
        [1, 1, 1, 0.5, 0.5, 1, 0.5, 0.5, 0.75, 0.5, 0.4375, 0.6875]
    )
    assert a_of(twelve, "a10", "a11")[0, 1] == pytest.approx(0.640625)


def test_zurich_exercises() -> None:
    """ETH Zurich livestock breeding course: printed 6-animal A; 11-animal exercise (no printed answer,
    computed)."""
    six = of(a1="", a2="", a3="", a4="a1 a2", a5="a3 a2", a6="a4 a5")
    assert a_of(six, "a4", "a5", "a6")[[0, 0, 1, 2], [1, 2, 2, 2]] == pytest.approx(
        [0.25, 0.625, 0.625, 1.125]
    )
    assert list(sampling_of(six).values()) == pytest.approx([1, 1, 1, 0.5, 0.5, 0.5])
    founders = {f"a{i}": "" for i in range(1, 6)}
    eleven = of(**founders, a6="a2 a1", a7="a2 a3", a8="a6 a4", a9="a7 a5", a10="a8 a9", a11="a10 a5")
    assert (f_of(eleven)["a10"], f_of(eleven)["a11"]) == pytest.approx((0.03125, 0.125))


def test_wright_shorthorns() -> None:
    """Wright 1922 as worked in Lynch & Walsh 1998 ch. 7: Roan Gauntlet 0.141 and the fraternity 1/64
    of its parents printed; the others computed from the shortened pedigree (Wright's deeper one gives 0.192
    and 0.471, from memory; it was not obtained). Their X-linked coancestry 1/4 has no twin here: kinship is
    autosomal."""
    roan = of(
        raglan="", x1="", x2="", mid="raglan x1", champion="mid x2", y="", carmine="raglan y", gd_dam="",
        m_dam="",
        grand="champion gd_dam", mimulus="champion m_dam", royal="grand mimulus", princess="champion carmine",
        roan="royal princess",
    )  # fmt: skip
    assert f_of(roan)["roan"] == pytest.approx(0.140625)
    k = lambda one, other: a_of(roan, one, other)[0, 1] / 2  # noqa: E731
    fraternity = k("grand", "champion") * k("mimulus", "carmine") + k("grand", "carmine") * k(
        "mimulus", "champion"
    )
    assert fraternity == pytest.approx(1 / 64)
    favourite = of(
        dalton="", favourite_cow="", foljambe="", strawberry="dalton favourite_cow",
        bolingbroke="foljambe strawberry", phoenix="foljambe favourite_cow", favourite="bolingbroke phoenix",
        young_phoenix="favourite phoenix", comet="favourite young_phoenix",
    )  # fmt: skip
    f = f_of(favourite)
    assert (f["favourite"], f["young_phoenix"], f["comet"]) == pytest.approx((0.1875, 0.34375, 0.46875))


FULL = [0.25, 0.375, 0.5, 0.5938, 0.6719, 0.7344, 0.7852, 0.8262, 0.8594, 0.8862]
HALF = [0.125, 0.2188, 0.3047, 0.3809, 0.4487, 0.5092, 0.563, 0.6109, 0.6535, 0.6915]
BACK = [0.25, 0.375, 0.4375, 0.4688, 0.4844, 0.4922, 0.4961, 0.498, 0.499, 0.4995]


def test_regular_systems() -> None:
    """Falconer & Mackay 1996 table 5.1 (from memory): full-sib mating and backcross to one outbred parent."""
    parents = {"m0": "", "f0": ""}
    for k in range(11):
        parents |= {f"m{k + 1}": f"m{k} f{k}", f"f{k + 1}": f"m{k} f{k}"}
    f = f_of(of(**parents))
    assert [f[f"m{k}"] for k in range(2, 12)] == pytest.approx(FULL, abs=5e-5)
    back = {"a": "", "b0": ""} | {f"b{k + 1}": f"a b{k}" for k in range(11)}
    f = f_of(of(**back))
    assert [f[f"b{k}"] for k in range(2, 12)] == pytest.approx(BACK, abs=6e-5)


def test_half_sib_mating() -> None:
    """The same table, half sibs: a male with his half sisters, all of one sire and each of another dam, so
    that every generation needs one female more than the next."""
    parents = {"m0": ""} | {f"f0_{i}": "" for i in range(14)}
    for k in range(1, 12):
        born = [f"m{k - 1} f{k - 1}_{i}" for i in range(14 - k + 1)]
        parents[f"m{k}"] = born[0]
        parents |= {f"f{k}_{i}": who for i, who in enumerate(born[1:])}
    f = f_of(of(**parents))
    assert [f[f"m{k}"] for k in range(2, 12)] == pytest.approx(HALF, abs=5e-5)


def test_kinship_of_relatives() -> None:
    """Lange 2010, Applied Probability, table 5.1, and the three-quarter sibs of Vigeland & Egeland's course
    2024."""
    family = of(
        a="", b="", c="", d="", m1="a b", m2="a b", half="a c", f1="c d", n1="m1 f1", n2="m2 c",
        p="", q="", g1="m1 p", g2="m2 q", h1="m1 f1", h2="m2 f1",
        o="", r="", f2="c d", d1="m1 f1", d2="m2 f2", hg="half o", s1="g1 o", s2="g2 r",
    )  # fmt: skip
    k = a_of(family, *family.tags) / 2
    at = family.position
    for one, other, value in (("a", "m1", 1 / 4), ("m1", "m2", 1 / 4), ("m1", "half", 1 / 8),
                              ("m1", "g2", 1 / 8),
                              ("a", "g1", 1 / 8), ("g1", "g2", 1 / 16), ("h1", "h2", 3 / 16),
                              ("d1", "d2", 1 / 8), ("m1", "hg", 1 / 16), ("s1", "s2", 1 / 64)):  # fmt: skip
        assert k[at[one], at[other]] == pytest.approx(value), (one, other)


HENDERSON = of(
    a1="", a2="", a3="a1 a2", a4="a1 a2", a5="a3 a4", a6="a3 -", a7="a3:0.6+a5:0.4 a6", a8="a1:0.3+a5:0.7 a4",
    a9="a1:0.3+a4:0.6+a5:0.1 a6", a10="a1 a4",
)  # fmt: skip


def test_henderson_uncertain_sires() -> None:
    """Henderson 1988, J. Anim. Sci. 66:1614-1621: his pedigree (at second hand); values computed."""
    f = f_of(HENDERSON)
    assert [f[f"a{i}"] for i in (5, 7, 8, 9, 10)] == pytest.approx([0.25, 0.225, 0.3375, 0.13125, 0.25])
    a = a_of(HENDERSON, "a5", "a7", "a8", "a9", "a10")
    assert [a[0, 1], a[0, 2], a[1, 2], a[1, 3], a[2, 3], a[2, 4]] == pytest.approx(
        [0.6625, 0.8875, 0.500625, 0.579375, 0.52875, 0.70625]
    )


def test_average_over_parentages() -> None:
    """Henderson's matrix is the mean of A over all certain pedigrees, each with its probability."""
    mean = np.zeros((10, 10))
    for (s7, p7), (s8, p8), (s9, p9) in product(
        (("a3", 0.6), ("a5", 0.4)), (("a1", 0.3), ("a5", 0.7)), (("a1", 0.3), ("a4", 0.6), ("a5", 0.1))
    ):
        sure = of(
            a1="", a2="", a3="a1 a2", a4="a1 a2", a5="a3 a4", a6="a3 -", a7=f"{s7} a6", a8=f"{s8} a4",
            a9=f"{s9} a6", a10="a1 a4",
        )  # fmt: skip
        mean += p7 * p8 * p9 * a_of(sure, *(f"a{i}" for i in range(1, 11)))
    np.testing.assert_allclose(a_of(HENDERSON, *(f"a{i}" for i in range(1, 11))), mean, atol=1e-12)


@pytest.mark.parametrize(("base", "f"), [(0.0, 0.125), (0.02, 0.1425), (0.05, 0.16875)])
def test_base_inbreeding(base: float, f: float) -> None:
    """Unknown parents of kinship `base` with everyone (idea: Aguilar & Misztal 2008; values computed)."""
    assert [f_of(SIX, base)[tag] for tag in ("a5", "a6")] == pytest.approx([f, f])


@pytest.mark.parametrize("seed", range(12))
def test_equals_tabular(seed: int) -> None:
    """The tabular method on random pedigrees, half of them with uncertain sires."""
    rng = np.random.default_rng(seed)
    links, dams = [], []
    for i in range(70):
        row = [(str(rng.integers(i)), 0.5)] if i > 3 and rng.random() < 0.9 else []
        dams.append(bool(row))
        if i > 3 and rng.random() < 0.9:
            who = rng.choice(i, size=int(rng.integers(1, 4)) if seed % 2 else 1, replace=False)
            row += [(str(w), 0.5 * p) for w, p in zip(who, rng.dirichlet(np.ones(len(who))), strict=True)]
        links.append(row)
    pedigree = from_links([str(i) for i in range(70)], links, dams)
    expected = tabular(pedigree)
    everyone = np.arange(70)
    np.testing.assert_allclose(2 * kinship(pedigree, everyone, everyone), expected, atol=1e-12)
    np.testing.assert_allclose(inbreeding(pedigree), np.diag(expected) - 1, atol=1e-12)
    some = rng.choice(70, 9, replace=False)
    np.testing.assert_allclose(2 * kinship(pedigree, some, everyone), expected[some], atol=1e-12)


def test_a_circle_is_refused() -> None:
    """An animal cannot be its own ancestor."""
    with pytest.raises(CircularDescent, match="a"):
        of(a="b -", b="a -")


def test_base_is_a_kinship() -> None:
    """A base of 1 or below 0 is refused."""
    with pytest.raises(ValueError, match="base"):
        inbreeding(SIX, 1.0)
