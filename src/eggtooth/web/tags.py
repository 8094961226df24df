"""A tag as part of an address: it may hold anything, a slash and a line break too."""

from __future__ import annotations

import re

from django.urls import register_converter
from django.urls.converters import PathConverter


class TagConverter(PathConverter):
    """Whatever stands there, so that a page or the interface says what is wrong with it."""

    regex = "(?s:.+)"


class AnimalConverter(TagConverter):
    """The same before a page's own last word: a tag that ends like one of them (`22/note`) is written with a
    sign before it (`22/=note`), so that an address is one page of one animal.
    """

    def to_url(self, value: str) -> str:
        """The tag with a sign more where it ends like the address of a page."""
        return _ENDS_LIKE_A_PAGE.sub(r"/=\1\2", value)

    def to_python(self, value: str) -> str:
        """The tag again."""
        return _ENDS_LIKE_A_PAGE.sub(lambda found: f"/{found[1][1:]}{found[2]}", value)


_ENDS_LIKE_A_PAGE = re.compile(r"/(=*)(note|edit|papers|photos|remove|\d+\.jpg)\Z")
TAG, ANIMAL = "tag", "animal"
register_converter(TagConverter, TAG)
register_converter(AnimalConverter, ANIMAL)
