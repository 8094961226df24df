"""What a wish says: a look to see hatch, an animal to prove, or a line to keep going.

`Clown Piebald`, `het Clown female`: a look in trade notation. `prove M03`, `prove M03 Clown`: settle whether
the animal carries what it may carry, or that gene. `keep line F12`: see young of this animal, or of its own
young, hatch.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from eggtooth.engine.facts.catalogue import standard
from eggtooth.engine.facts.inheritance import Catalogue
from eggtooth.engine.genetics.notation import NotationError, read
from eggtooth.engine.genetics.statement import Statement
from eggtooth.engine.genetics.writing import write
from eggtooth.engine.wording import joined, say


class Aim(StrEnum):
    """What kind of wish it is, by the words it begins with."""

    LOOK = ""
    PROVE = "prove"
    LINE = "keep line"


@dataclass(frozen=True, slots=True)
class WishRead:
    """A wish as read: its canonical text, and by its aim the look, or the animal and perhaps the locus."""

    aim: Aim
    text: str
    look: Statement | None = None
    tag: str = ""
    locus: str = ""


class WishError(ValueError):
    """A wish that cannot be read; `tag` is set when that text is no animal here."""

    def __init__(self, why: str, tag: str = "") -> None:
        """Keep the sentence, and the tag it is about if it is one."""
        super().__init__(why)
        self.tag = tag


def read_wish(text: str, tags: Collection[str], known: Catalogue | None = None) -> WishRead:
    """What a wish says. Raises `WishError` in a sentence (a mistyped gene with the nearest known ones)."""
    words = " ".join(text.split())
    for aim in (Aim.PROVE, Aim.LINE):
        if words.casefold() == aim:
            raise WishError(say("{aim} whom? Name the animal's tag", aim=aim))
        if words.casefold().startswith(f"{aim} "):
            return _about_animal(aim, words[len(aim) + 1 :], tags, known or standard())
    return _look(words, known or standard())


def _look(words: str, known: Catalogue) -> WishRead:
    try:
        said = read(words, known)
    except NotationError as wrong:
        raise WishError(joined("; ", wrong.problems)) from None
    if not said.noted:
        raise WishError(say("the wish is missing"))
    return WishRead(Aim.LOOK, write(said, known), said)


def _about_animal(aim: Aim, rest: str, tags: Collection[str], known: Catalogue) -> WishRead:
    """A tag may hold spaces, so the longest beginning that is one counts; a gene may follow after prove."""
    words = rest.split(" ")
    for n in range(len(words), 0, -1):
        tag, gene = " ".join(words[:n]), " ".join(words[n:])
        if tag in tags:
            break
    else:
        raise WishError(say("is not an animal here"), words[0] if aim is Aim.PROVE else rest)
    if not gene:
        return WishRead(aim, f"{aim} {tag}", tag=tag)
    if aim is Aim.LINE:
        raise WishError(
            say("after keep line {tag} nothing more is read, but {gene!r} was found", tag=tag, gene=gene)
        )
    locus, name = _gene(gene, known)
    return WishRead(aim, f"{aim} {tag} {name}", tag=tag, locus=locus)


def _gene(text: str, known: Catalogue) -> tuple[str, str]:
    try:
        said = read(text, known)
    except NotationError as wrong:
        raise WishError(joined("; ", wrong.problems)) from None
    loci = said.loci()
    if len(loci) != 1:
        raise WishError(say("one gene is proved at a time, not {text!r}", text=text))
    alleles = {a for s in said.said if s.genotype for a in s.genotype} | {c.allele for c in said.claims}
    names = sorted(loci[0].alleles[a - 1].name for a in alleles if a)
    return loci[0].name, names[0] if len(names) == 1 else text
