"""The addresses of the pages, readable as a table of contents."""

from __future__ import annotations

from django.urls import path

from eggtooth.web import (
    all_page,
    animal_page,
    bring_page,
    cross_page,
    doubts_page,
    edit_page,
    hatch_page,
    labels_page,
    many_page,
    note_page,
    papers_page,
    records_page,
    room_page,
    round_page,
    settings_page,
    take_page,
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
    path("hatchlings", hatch_page.show, name="hatchlings"),
    path("hatchlings/<str:dam>/<str:day>", hatch_page.enter, name="hatch"),
    path("animals/new", edit_page.new, name="animal-new"),
    path("animal/<str:tag>", animal_page.show, name="animal"),
    path("animal/<str:tag>/note", tub_page.of_animal, name="animal-note"),
    path("animal/<str:tag>/edit", edit_page.edit, name="animal-edit"),
    path("animal/<str:tag>/papers", papers_page.show, name="papers"),
    path("cross", cross_page.show, name="cross"),
    path("doubts", doubts_page.show, name="doubts"),
    path("records", records_page.show, name="records"),
    path("records/correct", records_page.correct, name="entry-correct"),
    path("records/<str:key>", records_page.entry, name="entry"),
    path("labels", labels_page.show, name="labels"),
    path("labels.pdf", labels_page.pdf, name="labels-pdf"),
    path("bring", bring_page.bring, name="bring"),
    path("bring/<str:key>", bring_page.sheet, name="bring-sheet"),
    path("take/<str:form>", take_page.take, name="take"),
    path("settings", settings_page.show, name="settings"),
    path("all", all_page.show, name="all"),
]
