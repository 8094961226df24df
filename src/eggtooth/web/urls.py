"""The addresses of the pages, readable as a table of contents."""

from __future__ import annotations

from django.urls import path

from eggtooth.web import (
    all_page,
    animal_page,
    cross_page,
    doubts_page,
    many_page,
    note_page,
    room_page,
    round_page,
    tub_page,
)

urlpatterns = [
    path("", round_page.show, name="round"),
    path("note", note_page.note, name="note"),
    path("note/entry", tub_page.note, name="note-entry"),
    path("undo", note_page.undo, name="undo"),
    path("room", room_page.show, name="room"),
    path("tub/<str:name>", tub_page.show, name="tub"),
    path("scale", many_page.scale, name="scale"),
    path("feeding", many_page.feeding, name="feeding"),
    path("animal/<str:tag>", animal_page.show, name="animal"),
    path("animal/<str:tag>/note", tub_page.of_animal, name="animal-note"),
    path("cross", cross_page.show, name="cross"),
    path("doubts", doubts_page.show, name="doubts"),
    path("all", all_page.show, name="all"),
]
