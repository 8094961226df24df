"""Photos of an animal: shown on its page, added at `/animal/TAG/photos`, removed by an owner."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import redirect, render
from django.utils.http import parse_etags
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from eggtooth.jobs.photo import LARGEST_BYTES, Unfit, fit
from eggtooth.records import photos, store
from eggtooth.records.people import Role
from eggtooth.web.clock import day_asked, today
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import said, spoken


@require_http_methods(["GET", "HEAD", "POST"])
def show(request: HttpRequest, tag: str) -> HttpResponse:
    """All photos of an animal by date, and the form that adds one."""
    if tag not in store.colony().animals:
        raise Http404(spoken("{tag} is not an animal here", tag=tag))
    if request.method != "POST":
        return render(request, "photos.html", photo_context(request, tag))
    try:
        _keep(request, tag)
    except ValueError as wrong:
        context = photo_context(request, tag) | {"problem": said(str(wrong))}
        return render(request, "photos.html", context, status=400)
    return redirect("animal", tag=tag)


def photo_context(request: HttpRequest, tag: str) -> dict[str, Any]:
    """What shows an animal's photos: the latest, the earlier ones, and who may do what."""
    found, keeper = photos.of_animal(tag), keeper_of(request)
    return {
        "tag": tag,
        "latest": found[0] if found else None,
        "earlier": found[1:],
        "may_add": keeper.may(Role.HELPER),
        "may_remove": keeper.may(Role.OWNER),
        "today": today().isoformat(),
    }


def _keep(request: HttpRequest, tag: str) -> None:
    """Raises `ValueError` with words on whatever cannot be kept."""
    file = request.FILES.get("taken") or request.FILES.get("chosen")
    if not isinstance(file, UploadedFile):
        raise Unfit(spoken("No photo was taken or chosen."))
    on = day_asked(request)
    if on > today():
        raise ValueError(f"{on.isoformat()} is yet to come; a photo is of today or before")
    kept = fit(file.read(LARGEST_BYTES + 1), file.name or "")
    photos.add(tag, on, kept.jpeg, kept.width_px, kept.height_px, keeper_of(request).name)


@require_safe
def file(request: HttpRequest, tag: str, number: int) -> HttpResponse:
    """The photo itself. A browser may keep it, and asks each time whether it may still show it."""
    digest = photos.digest_of(tag, number)
    if not digest:
        raise Http404(spoken("{tag} has no photo {number} here", tag=tag, number=number))
    known = parse_etags(request.headers.get("If-None-Match", ""))
    same = f'"{digest}"' in known
    answer = (
        HttpResponseNotModified()
        if same
        else HttpResponse(photos.jpeg_of(tag, number), content_type="image/jpeg")
    )
    answer["ETag"] = f'"{digest}"'
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@require_POST
def remove(request: HttpRequest, tag: str) -> HttpResponse:
    """Take a photo out of the store for good."""
    number = request.POST.get("photo", "")
    if not (number.isdecimal() and len(number) < 19 and photos.remove(tag, int(number))):
        raise Http404(spoken("{tag} has no photo {number} here", tag=tag, number=number))
    return redirect("animal", tag=tag)
