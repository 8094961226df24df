"""Writes a statement in canonical trade notation, so that reading it gives the statement back."""

from __future__ import annotations

from fractions import Fraction

from eggtooth.engine.colony import Sex
from eggtooth.engine.facts.inheritance import Catalogue, Mode
from eggtooth.engine.genetics.notation import TRADE_PERCENT, NotationError, read
from eggtooth.engine.genetics.statement import Said, Statement

SEX_WORDS = {Sex.MALE: ["male"], Sex.FEMALE: ["female"], Sex.UNKNOWN: []}


def write(statement: Statement, catalogue: Catalogue | None = None) -> str:
    """Canonical text: visible genes by name, recessives shown, hets, claims, sex. `read(write(x)) == x`.

    Names are parted by commas only where two neighbours would read as another name (Desert, Ghost).
    """
    parts = _parts(statement)
    text = " ".join(parts)
    return text if _reads_as(text, statement, catalogue) else ", ".join(parts)


def percent(p: Fraction) -> str:
    """A chance as the trade writes it: `66%` for 2/3; a fraction where no round percentage says it."""
    for text, value in TRADE_PERCENT.items():
        if value == p:
            return f"{text}%"
    per_cent = p * 100
    whole = per_cent.denominator == 1 and str(per_cent) not in TRADE_PERCENT
    return f"{per_cent}%" if whole else f"{p.numerator}/{p.denominator}"


def _reads_as(text: str, statement: Statement, catalogue: Catalogue | None) -> bool:
    try:
        return read(text, catalogue) == statement
    except NotationError:
        return False


def _parts(statement: Statement) -> list[str]:
    shown = sorted(part for said in statement.said for part in _shown(said, statement))
    parts = [text for _, text in shown]
    hets = sorted(name for said in statement.said for name in _het(said))
    parts += ["het " + hets[0], *hets[1:]] if hets else []
    parts += _claims(statement)
    if statement.noted and not parts:
        parts.append("Normal")
    return parts + SEX_WORDS[statement.sex]


def _het(said: Said) -> list[str]:
    return [said.locus.alleles[said.genotype.b - 1].name] if said.genotype and not said.look else []


def _shown(said: Said, statement: Statement) -> list[tuple[tuple[bool, str], str]]:
    """Parts for one locus, each with its place: visible genes, then recessives."""
    if not said.look:
        return []
    if said.genotype is None or said.genotype.a not in (0, said.genotype.b):
        held = {a for a in (said.genotype or (0, 1)) if a}
        alleles = [a for a in said.locus.alleles if said.locus.index(a.name) in held]
        if said.genotype is None:
            alleles = [a for a in said.locus.alleles if a.look_once == said.look]
        return [((not a.shows_once, a.name), a.name) for a in alleles]
    allele = said.locus.alleles[said.genotype.b - 1]
    text = said.look[0]
    if allele.mode is Mode.DOMINANT:
        text = f"Super {allele.name}" if said.genotype.a else f"{allele.name}/+"
    if statement.maker and said.locus.sex_linked:
        text += f" ({statement.maker})"
    return [((not allele.shows_once, allele.name), text)]


def _claims(statement: Statement) -> list[str]:
    rows = []
    for claim in statement.claims:
        name = claim.locus.alleles[claim.allele - 1].name
        word = "possible" if claim.p is None else percent(claim.p)
        rows.append((-(claim.p or 0), name, f"{word} het {name}"))
    return [text for _, _, text in sorted(rows)]
