"""An animal at `/animal/TAG`: what it carries with why, its family as a tree, what was noted of it."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Animal, Colony
from eggtooth.engine.facts.inheritance import Genotype, Locus
from eggtooth.engine.pedigree.carriers import Carriers
from eggtooth.engine.pedigree.why import Moved, chance
from eggtooth.jobs import answered
from eggtooth.jobs.family_kept import known_now
from eggtooth.jobs.gather import from_store
from eggtooth.web.body_part import body_context
from eggtooth.web.clock import today
from eggtooth.web.inbreeding import inbred
from eggtooth.web.names import happened
from eggtooth.web.photo_page import photo_context
from eggtooth.web.pictures.family import Relative, tree
from eggtooth.web.proving import settling
from eggtooth.web.speech import number, said, spoken

LATEST = 40


@dataclass(frozen=True, slots=True)
class Carried:
    """One locus as the page tells it."""

    gene: str
    chance: float
    genotypes: str
    chosen: bool
    sampled: float
    settled: bool


@require_safe
def show(request: HttpRequest, tag: str) -> HttpResponse:
    """The page; `gene` picks the locus of the tree and the story."""
    source = from_store()
    colony = source.colony
    animal = colony.animals.get(tag)
    if animal is None:
        raise Http404(spoken("{tag} is not an animal here", tag=tag))
    found = known_now(colony, today())
    loci = [locus.name for locus, _ in found.animal(tag)]
    gene = request.GET.get("gene", "")
    gene = gene if gene in found.loci else _most_open(found, tag, loci)
    context = {
        "animal": animal,
        "tub": colony.tub_of(tag, today()),
        "age": animal.age_days(today()),
        "carried": sorted((_carried(found, tag, name, gene) for name in loci), key=_openness),
        "gene": gene,
        "tree": tree(_ancestors(colony, found, tag, gene), gene)
        if gene and (animal.dam or animal.sires)
        else "",
        "why": [_told(m) for m in answered.moved(source, tag, gene, today())] if gene else [],
        "settling": settling(source, tag, gene, today()),
        "inbred": inbred(source, animal, today()),
        "young": _young(colony, found, tag, gene),
        "contradictions": [c for c in found.contradictions if tag in c.tags],
        "body": body_context(source, tag, today()),
        **photo_context(request, tag),
        "entries": [(e.on, happened(e)) for e in reversed(colony.of_animal(tag)[-LATEST:])],
    }
    return render(request, "animal.html", context)


def _most_open(found: Carriers, tag: str, loci: list[str]) -> str:
    return min(loci, key=lambda name: abs(chance(found, tag, name) - 0.5), default="")


def _openness(carried: Carried) -> tuple[bool, str]:
    """Open questions first, then what is settled, by name."""
    return carried.chance in (0.0, 1.0), carried.gene


def _carried(found: Carriers, tag: str, name: str, gene: str) -> Carried:
    locus = found.loci[name].model.locus
    odds = sorted(found.odds(tag, name).items(), key=lambda pair: -pair[1])
    told = ", ".join(
        spoken("{genotype} {p:.0%}", genotype=worded(locus, g), p=p) for g, p in odds if p >= 0.005
    )
    if not found.settled(tag, name):
        ways = ", ".join(sorted(worded(locus, g) for g, p in odds if p >= 0.005))
        told = spoken(
            "not settled ({ways}): the family is too tangled, and sampled runs of it do not agree", ways=ways
        )
    return Carried(
        name, chance(found, tag, name), told, name == gene, found.error(tag, name), found.settled(tag, name)
    )


def worded(locus: Locus, genotype: Genotype) -> str:
    """A genotype in the words of the trade: its look, het, or not carrying."""
    if genotype.a == genotype.b == 0:
        return spoken("does not carry")
    shown = " ".join(locus.look(genotype))
    held = " ".join(locus.alleles[i - 1].name for i in sorted({genotype.a, genotype.b} - {0}))
    return shown or f"het {held}"


def _told(moved: Moved) -> tuple[str, tuple[str, ...], str, str]:
    return said(moved.what), moved.tags, number(f"{moved.without:.0%}"), number(f"{moved.now:.0%}")


def _ancestors(colony: Colony, found: Carriers, tag: str, gene: str) -> list[Relative]:
    """The animal, its parents and grandparents; a place nobody is recorded for stays empty."""
    boxes = [_relative(found, tag, gene, 0, 1.5)]
    for i, parent in enumerate(_parents(colony, tag)):
        boxes += [_relative(found, parent, gene, 1, 0.5 + 2 * i)] if parent else []
        for j, grand in enumerate(_parents(colony, parent)):
            boxes += [_relative(found, grand, gene, 2, 2 * i + j)] if grand else []
    return boxes


def _parents(colony: Colony, tag: str) -> tuple[str, str]:
    """Sire and dam; an uncertain sire is named by all candidates."""
    animal = colony.animals.get(tag)
    return ("|".join(animal.sires), animal.dam) if animal else ("", "")


def _relative(found: Carriers, tag: str, gene: str, back: int, row: float) -> Relative:
    known = tag in found.skeleton.position
    odds = chance(found, tag, gene) if known and found.settled(tag, gene) else None
    return Relative(back, row, tag, odds, _address(tag, gene) if known else "#")


def _address(tag: str, gene: str) -> str:
    return f"{reverse('animal', args=[tag])}?{urlencode({'gene': gene})}"


def _young(colony: Colony, found: Carriers, tag: str, gene: str) -> list[tuple[str, str, str, str]]:
    def mine(a: Animal) -> bool:
        return tag == a.dam or tag in a.sires

    return [
        (a.tag, a.genes, _odds(found, a.tag, gene) if gene else "", _address(a.tag, gene))
        for a in colony.animals.values()
        if mine(a)
    ]


def _odds(found: Carriers, tag: str, gene: str) -> str:
    return number(f"{chance(found, tag, gene):.0%}") if found.settled(tag, gene) else spoken("not settled")
