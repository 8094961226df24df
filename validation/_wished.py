"""Who of the young of an invented house is wished for, by its true genome."""

from __future__ import annotations

import numpy as np

from eggtooth.engine.simulate.genes import LOCI, MALE


def meets(genome: np.ndarray, sex: int, text: str) -> bool:
    """Whether a true genome is what a wish says: every gene named shows, or is carried once after `het`.

    Read here from the words, apart from the engine's own reading.
    """
    words = text.split()
    if words[-1] in ("female", "male"):
        if (words[-1] == "male") != (sex == MALE):
            return False
        words = words[:-1]
    rest = " ".join(words)
    for i, locus in enumerate(LOCI):
        for number, allele in enumerate(locus.alleles, 1):
            copies = int((genome[i] == number).sum())
            for prefix, enough in (("het ", copies == 1), ("Super ", copies == 2)):
                if f"{prefix}{allele}" in rest:
                    rest = rest.replace(f"{prefix}{allele}", "")
                    if not enough:
                        return False
            if allele in rest:
                rest = rest.replace(allele, "")
                if copies < (2 if locus.recessive else 1):
                    return False
    if rest.strip():
        raise ValueError(f"no gene of the invented house: {rest.strip()!r}")
    return True


def true_text(genome: np.ndarray) -> str:
    """A genome in trade notation with every het named."""
    from eggtooth.engine.simulate.genes import RECESSIVE, trade_text

    return trade_text(genome, np.ones(len(RECESSIVE)) * (genome[list(RECESSIVE)] > 0).any(axis=1))
