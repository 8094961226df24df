"""Parts of pages kept as they were drawn, for as long as the answer they were drawn from is the answer.

An answer that nothing has changed is the very same object (`jobs/keeping_answers.py`), so a part is drawn
again only for another answer, day, language or address. What must differ each time a page is sent, the form's
token and the keys of taps, is put in anew: a tap sent twice from one page is one, from two pages two.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, NamedTuple
from uuid import uuid4

from django.http import HttpRequest
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from eggtooth.web.clock import today

MOST = 12
TOKEN = "form-token-goes-here"
HEX = re.compile(r"\b[0-9a-f]{32}\b")

Keys = set[str]


class _Part(NamedTuple):
    answer: object
    text: str
    keys: Keys


_parts: dict[Hashable, _Part] = {}
_one_at_a_time = Lock()


def drawn(
    request: HttpRequest,
    template: str,
    answer: object,
    more: Hashable,
    context: Callable[[Keys], dict[str, Any]],
) -> SafeString:
    """The template with its context, drawn from `answer` alone and from `more`, which tells apart what is
    drawn of one answer. `context` is asked only when the part must be drawn, and adds the keys of its taps,
    32 hexadecimal letters each, to the set it is given.
    """
    asked = template, get_language(), today(), more
    with _one_at_a_time:
        part = _parts.pop(asked, None)
    if part is None or part.answer is not answer:
        keys: Keys = set()
        part = _Part(answer, render_to_string(template, {**context(keys), "csrf_token": TOKEN}), keys)
    with _one_at_a_time:
        _parts[asked] = part
        while len(_parts) > MOST:
            _parts.pop(next(iter(_parts)))
    return _sent_anew(request, part)


def forget() -> None:
    """Drop all parts, as in a new process."""
    with _one_at_a_time:
        _parts.clear()


def _sent_anew(request: HttpRequest, part: _Part) -> SafeString:
    text = part.text.replace(TOKEN, get_token(request)) if TOKEN in part.text else part.text
    if part.keys:
        fresh = {key: uuid4().hex for key in part.keys}
        text = HEX.sub(lambda found: fresh.get(found[0], found[0]), text)
    return SafeString(text)
