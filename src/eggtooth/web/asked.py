"""What an address asks for beyond its page: the day, and which part of a long list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import wraps

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest

from eggtooth.web.clock import day_asked
from eggtooth.web.speech import said

FARTHEST_PAGE = 10_000
MOST_TAGS = 500
"""Tags offered while one is typed; a longer list would outweigh the page."""


def on_a_day(show: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Give a page the day asked for as `on`; a bad date is refused with what is wrong."""

    @wraps(show)
    def page(request: HttpRequest, **parts: str) -> HttpResponse:
        try:
            on = day_asked(request)
        except ValueError as refused:
            return HttpResponseBadRequest(said(str(refused)))
        return show(request, on=on, **parts)

    return page


@dataclass(frozen=True, slots=True)
class Page:
    """One part of a long list: its number from 1, how many lines a part holds, how many parts there are."""

    number: int
    size: int
    last: int = 1

    @classmethod
    def asked(cls, request: HttpRequest, size: int) -> Page:
        """The part asked for by `page`; anything else than a number is the first."""
        text = request.GET.get("page", "")
        number = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 1
        return cls(min(max(1, number), FARTHEST_PAGE), size)

    def of(self, lines: int) -> Page:
        """The same of a list of so many lines."""
        return replace(self, last=max(1, -(-lines // self.size)))

    @property
    def first(self) -> int:
        """Lines before this part."""
        return (self.number - 1) * self.size

    @property
    def before(self) -> int:
        """The part before, 0 for none."""
        return min(self.number - 1, self.last)

    @property
    def after(self) -> int:
        """The part after, 0 for none."""
        return self.number + 1 if self.number < self.last else 0
