"""One animal's papers at `/animal/TAG/papers`: what whoever takes it over should know, to print or send."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from eggtooth.engine.colony import Animal
from eggtooth.engine.entries import Kind
from eggtooth.engine.facts.inheritance import Locus
from eggtooth.engine.history import History
from eggtooth.jobs.family_kept import known_now
from eggtooth.records import photos, store
from eggtooth.web.animal_page import worded
from eggtooth.web.clock import today
from eggtooth.web.speech import spoken

MEALS, WEIGHTS = 12, 12


@require_safe
def show(request: HttpRequest, tag: str) -> HttpResponse:
    """The page: identity, parents, genes with their odds, last weights, meals and sheds."""
    colony, on = store.colony(), today()
    animal = colony.animals.get(tag)
    if animal is None:
        raise Http404(spoken("{tag} is not an animal here", tag=tag))
    seen, found = History(colony.of_animal(tag), on), known_now(colony, on)
    parents = [("sire", colony.animals.get(s)) for s in animal.sires] + [
        ("dam", colony.animals.get(animal.dam))
    ]
    context = {
        "animal": animal,
        "on": on,
        "photo": next(iter(photos.of_animal(tag, most=1)), None),
        "parents": [(role, p) for role, p in parents if isinstance(p, Animal)],
        "genes": [(locus.name, _odds(locus, odds)) for locus, odds in found.animal(tag)],
        "weights": list(reversed(seen.all(Kind.WEIGHT)))[:WEIGHTS],
        "meals": list(reversed(seen.all(Kind.MEAL)))[:MEALS],
        "shed": seen.last(Kind.SHED),
        "clutches": list(seen.all(Kind.LAID)),
        "tests": list(seen.all(Kind.TEST)),
    }
    return render(request, "papers.html", context)


def _odds(locus: Locus, odds: object) -> str:
    assert isinstance(odds, dict) or hasattr(odds, "items")
    likely = sorted(odds.items(), key=lambda pair: -pair[1])
    return ", ".join(f"{worded(locus, g)} {p:.0%}" for g, p in likely if p >= 0.005)
