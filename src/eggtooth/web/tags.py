"""A tag as part of an address: it may hold anything, a slash and a line break too."""

from __future__ import annotations

from django.urls import register_converter
from django.urls.converters import PathConverter


class TagConverter(PathConverter):
    """Whatever stands there, so that a page or the interface says what is wrong with it."""

    regex = "(?s:.+)"


TAG = "tag"
register_converter(TagConverter, TAG)
