"""What a page says when the store cannot be used: locked, full, read-only, or its server gone."""

from __future__ import annotations

import sys

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.views.defaults import server_error

from eggtooth.engine.wording import say
from eggtooth.web.speech import spoken

WORDS = (
    ("locked", say("somebody else has been writing to it for a long time")),
    ("full", say("the disk is full")),
    ("readonly", say("it may not be written")),
    ("read-only", say("it may not be written")),
    ("malformed", say("its file is damaged; the owner can restore the last copy with `eggtooth restore`")),
    ("disk I/O", say("the disk does not take it")),
)
UNSURE = say(
    "Whether this was kept is not known; send it again in a moment: what is sent twice is kept once."
)
"""A server may fall between keeping and answering."""
AGAIN_SECONDS = 5


def unusable(request: HttpRequest) -> HttpResponse:
    """Where the fault is the store's: 503 with words, which the page's script takes as "try again later".

    The driver's own words may name users and hosts, so they go to whoever runs the server, not to the page.
    """
    fault = sys.exc_info()[1]
    if not isinstance(fault, DatabaseError):
        return server_error(request)
    said = str(fault)
    print(f"the store cannot be used: {' '.join(said.split())}", file=sys.stderr, flush=True)
    why = next((words for sign, words in WORDS if sign in said), "")
    kept = say("Nothing of this was kept; try again in a moment.") if why else UNSURE
    text = spoken(
        "The store cannot be used just now: {why}. {kept}", why=why or say("it does not answer"), kept=kept
    )
    answer = HttpResponse(text, status=503, content_type="text/plain; charset=utf-8")
    answer["Retry-After"] = str(AGAIN_SECONDS)
    return answer
