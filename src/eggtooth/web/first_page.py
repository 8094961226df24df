"""First use: an empty store leads to the first animals, to a sheet, or to an invented colony and back."""

from __future__ import annotations

import atexit
import os
import signal
import subprocess
import sys
from threading import Timer

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from eggtooth.web.doors import sign_in_asked
from eggtooth.web.speech import spoken

BACK = "EGGTOOTH_BACK"
"""In the environment of an invented colony's server: the address of the house it was opened from."""


def invented(request: HttpRequest) -> dict[str, object]:
    """For every page: whether it shows an invented colony that can be left."""
    return {"invented": BACK in os.environ}


@require_POST
def look_around(request: HttpRequest) -> HttpResponse:
    """Open an invented colony in a process of its own, with a store of its own that is thrown away."""
    if sign_in_asked() or BACK in os.environ:
        return HttpResponseBadRequest(
            spoken("On a server for the house: run `eggtooth demo` at the machine itself.")
        )
    back = f"{request.scheme}://{request.get_host()}/"
    command = [sys.executable, "-m", "eggtooth", "demo", "--port", "0", "--quiet"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=os.environ | {BACK: back})
    atexit.register(process.terminate)
    assert process.stdout
    words = process.stdout.readline()
    address = next((w for w in words.split() if w.startswith("http://")), "")
    if not address:
        return render(
            request,
            "plain.html",
            {"title": spoken("Invented colony"), "words": spoken("It could not be opened.")},
        )
    context = {
        "title": spoken("Invented colony"),
        "words": spoken("It is ready, with a store of its own."),
        "address": address,
    }
    return render(request, "plain.html", context)


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """Stop the invented colony's server; its store goes with it."""
    back = os.environ.get(BACK)
    if back is None:
        return redirect("round")
    Timer(0.5, os.kill, (os.getpid(), signal.SIGINT)).start()
    context = {
        "title": spoken("Left"),
        "words": spoken("The invented colony is gone."),
        "address": back,
        "label": spoken("Back to your own"),
    }
    return render(request, "plain.html", context)
