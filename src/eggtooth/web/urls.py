"""The addresses of the pages, readable as a table of contents."""

from __future__ import annotations

from django.urls import path

from eggtooth.web import cross_page, note_page, round_page

urlpatterns = [
    path("", round_page.show, name="round"),
    path("note", note_page.note, name="note"),
    path("cross", cross_page.show, name="cross"),
    path("undo", note_page.undo, name="undo"),
]
