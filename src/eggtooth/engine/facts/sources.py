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
MYHRVOLD_2015 = Source(
    "Myhrvold et al. 2015", "An amniote life-history database, Ecology 96:3109", Standing.SECOND_HAND
)
ANAGE = Source("AnAge", "Tacutu et al. 2013, Nucleic Acids Res. 41:D1027-D1033", Standing.SECOND_HAND)
