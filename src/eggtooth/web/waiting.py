"""What a page says of long work that is not there yet: it is being worked out, it waits, or it failed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from eggtooth.jobs.long_work.asking import Outcome, ask_anew
from eggtooth.web.doors import keeper_of
from eggtooth.web.speech import spoken

AGAIN_SECONDS, NOBODY_SECONDS = 3, 15
"""After so long the page is loaded again by itself; later where no worker runs."""


def asked_for(request: HttpRequest) -> bool:
    """Whether somebody asked that what takes long be worked out now."""
    return request.GET.get("work") == "out"


def respond(
    request: HttpRequest, template: str, context: dict[str, object], asked: dict[str, Outcome]
) -> HttpResponse:
    """The page, with what is to be said of long work it shows or waits for; `asked` is by question's digest.

    It is loaded again by itself (a header does that, without a script) while it has nothing to show; an
    earlier answer that somebody may be reading stays.
    """
    worst = next((one for one in asked.items() if one[1].fault), None)
    worst = worst or next((one for one in asked.items() if one[1].standing), None)
    worst = worst or next((one for one in asked.items() if one[1].unasked), None)
    if worst is None:
        return render(request, template, context)
    question, outcome = worst
    nothing = any(one.answer is None for one in asked.values())
    seconds = AGAIN_SECONDS if outcome.standing and outcome.standing.anybody else NOBODY_SECONDS
    reloads = nothing and outcome.standing is not None and not outcome.fault
    work = {
        "question": question,
        "outcome": outcome,
        "nothing": nothing,
        "seconds": seconds if reloads else None,
        "mine": keeper_of(request).role == "owner",
        "back": request.get_full_path(),
        "with": [(n, v) for n, values in request.GET.lists() for v in values if n != "work"],
    }
    answer = render(request, template, context | {"work": work})
    if reloads:
        answer["Refresh"] = str(seconds)
    return answer


@require_POST
def again(request: HttpRequest) -> HttpResponse:
    """Ask anew what failed, and back to the page."""
    back = request.POST.get("back", "")
    if not url_has_allowed_host_and_scheme(back, None) or not back.startswith("/"):
        return HttpResponseBadRequest(spoken("This button is not known here; load the page again."))
    ask_anew(request.POST.get("question", ""))
    return redirect(back)
