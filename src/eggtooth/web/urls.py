"""The addresses of the pages, readable as a table of contents."""

from __future__ import annotations

from django.urls import path

from eggtooth.web import animal_page, cross_page, doubts_page, note_page, round_page

urlpatterns = [
    path("", round_page.show, name="round"),
    path("note", note_page.note, name="note"),
    path("animal/<str:tag>", animal_page.show, name="animal"),
    path("doubts", doubts_page.show, name="doubts"),
    path("cross", cross_page.show, name="cross"),
    path("undo", note_page.undo, name="undo"),
]
