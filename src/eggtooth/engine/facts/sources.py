"""Every paper and other basis once. A fact names its source by one of these values."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """How firmly a figure stands."""

    PUBLISHED = "published"
    SECOND_HAND = "published, read at second hand"
    COMMON_PRACTICE = "common practice"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from; `cite` is what stands on the screen."""

    cite: str
    title: str
    standing: Standing
    doi: str = ""

    def __post_init__(self) -> None:
        """Refuse a source nobody could look up."""
        if not self.cite or not self.title:
            raise ValueError("a source needs a citation and a title")


COMMON_PRACTICE = Source(
    "common practice", "broad agreement in the trade; no published source", Standing.COMMON_PRACTICE
)
CHOICE = Source("our choice", "a modelling choice of this project, not a fact", Standing.CHOICE)

ELLIS_CHAPPELL_1987 = Source(
    "Ellis & Chappell 1987",
    "Metabolism, temperature relations, maternal behavior, and reproductive energetics in the ball python, "
    "J. Comp. Physiol. B 157:393-402",
    Standing.PUBLISHED,
)
OTT_SECOR_2007 = Source(
    "Ott & Secor 2007",
    "Adaptive regulation of digestive performance in pythons, J. Exp. Biol. 210:340-351",
    Standing.PUBLISHED,
)
MCCUE_2007 = Source(
    "McCue 2007",
    "Snakes survive starvation by employing supply- and demand-side economic strategies, Zoology 110:318-327",
    Standing.SECOND_HAND,
)
SHINE_1997 = Source(
    "Shine et al. 1997",
    "Water python incubation at two temperatures, Ecology 78:1713-1721, as tabulated in RepDevo",
    Standing.PUBLISHED,
    "10.1890/0012-9658(1997)078[1713:TIONTA]2.0.CO;2",
)
GORZULA_1997 = Source(
    "Gorzula et al. 1997",
    "Survey of the status and management of the royal python in Ghana",
    Standing.PUBLISHED,
)
AUBRET_2005 = Source(
    "Aubret et al. 2005",
    "Brooding costs in ball pythons (n = 48), Anim. Behav. 69:1043-1053",
    Standing.PUBLISHED,
    "10.1016/j.anbehav.2004.09.008",
)
BERTOCCHI_2018 = Source(
    "Bertocchi et al. 2018",
    "Reproductive cycle of 129 captive ball pythons by ultrasound, PLoS ONE 13:e0199377, "
    "and the Parma thesis on the same animals",
    Standing.PUBLISHED,
    "10.1371/journal.pone.0199377",
)
FOLLICLES_2016 = Source(
    "J. Herpetol. Med. Surg. 26(3-4), 2016",
    "Follicular cycle of the ball python by ultrasound, p. 108 ff.",
    Standing.PUBLISHED,
)
DENARDO_AUTUMN_2001 = Source(
    "DeNardo & Autumn 2001",
    "Effect of male presence on reproductive activity in captive female blood pythons, "
    "Copeia 2001(4):1138-1141",
    Standing.PUBLISHED,
)
MYHRVOLD_2015 = Source(
    "Myhrvold et al. 2015", "An amniote life-history database, Ecology 96:3109", Standing.SECOND_HAND
)

BROWN_2022 = Source(
    "Brown et al. 2022",
    "A community-science approach identifies genetic variants associated with three color morphs in ball "
    "pythons, PLoS ONE 17(10):e0276376",
    Standing.PUBLISHED,
    "10.1371/journal.pone.0276376",
)
DAO_2023 = Source(
    "Dao et al. 2023",
    "Stripes and loss of color in ball pythons are associated with variants affecting endothelin "
    "signaling, G3 13(7)",
    Standing.PUBLISHED,
    "10.1101/2022.10.09.511500",
)
LEDERER_2023 = Source(
    "Lederer et al. 2023",
    "Frameshift in melanophilin associated with loss of pigment from shed skin in ball python",
    Standing.PUBLISHED,
)
OMIA_002758 = Source("OMIA:002758-51751", "Online Mendelian Inheritance in Animals", Standing.PUBLISHED)
OMIA_002761 = Source("OMIA:002761-51751", "Online Mendelian Inheritance in Animals", Standing.PUBLISHED)
OMIA_002937 = Source("OMIA:002937-51751", "Online Mendelian Inheritance in Animals", Standing.PUBLISHED)
GARCIA_ELFRING_2023 = Source(
    "Garcia-Elfring et al. 2023",
    "Piebaldism and chromatophore development in reptiles are linked to the tfec gene, Current Biology",
    Standing.PUBLISHED,
)
TZIKA_2024 = Source(
    "Tzika 2024",
    "On the role of TFEC in reptilian coloration, Front. Cell Dev. Biol.",
    Standing.PUBLISHED,
    "10.3389/fcell.2024.1358828",
)
GARCIA_ELFRING_2025A = Source(
    "Garcia-Elfring et al. 2025",
    "A ball python colour morph implicates MC1R in melanophore-xanthophore distribution and pattern "
    "formation, Pigment Cell Melanoma Res. 38:e13215",
    Standing.PUBLISHED,
    "10.1111/pcmr.13215",
)
GARCIA_ELFRING_2025B = Source(
    "Garcia-Elfring et al. 2024",
    "GTP cyclohydrolase II (gch2) and axanthism in ball pythons, preprint",
    Standing.PUBLISHED,
    "10.1101/2024.05.22.595308",
)
MALLERY_2016 = Source(
    "Mallery & Carrillo 2016",
    "A case study of sex-linkage in Python regius (Serpentes: Boidae), Phyllomedusa 15(1):29-42",
    Standing.PUBLISHED,
)
GAMBLE_2017 = Source(
    "Gamble et al. 2017",
    "The discovery of XY sex chromosomes in a boa and python, Current Biology 27(14):2148-2153",
    Standing.PUBLISHED,
)
ROSE_2014 = Source(
    "Rose & Williams 2014",
    "Neurological dysfunction in a ball python colour morph and implications for welfare, "
    "J. Exotic Pet Med. 23",
    Standing.PUBLISHED,
)
STARCK_2022 = Source(
    "Starck et al. 2022",
    "Malformations of the sacculus and the semicircular canals in spider morph pythons, PLoS ONE",
    Standing.PUBLISHED,
    "10.1371/journal.pone.0262788",
)


BY_KEY = {
    "common practice": COMMON_PRACTICE,
    "Brown2022": BROWN_2022,
    "Dao2023": DAO_2023,
    "Lederer2023": LEDERER_2023,
    "OMIA002758": OMIA_002758,
    "OMIA002761": OMIA_002761,
    "OMIA002937": OMIA_002937,
    "GarciaElfring2023": GARCIA_ELFRING_2023,
    "Tzika2024": TZIKA_2024,
    "GarciaElfring2025a": GARCIA_ELFRING_2025A,
    "GarciaElfring2025b": GARCIA_ELFRING_2025B,
    "Mallery2016": MALLERY_2016,
    "Gamble2017": GAMBLE_2017,
    "Rose2014": ROSE_2014,
    "Starck2022": STARCK_2022,
}
"""Sources that data files name by key."""
