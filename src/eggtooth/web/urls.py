"""The addresses of the pages, readable as a table of contents."""

from __future__ import annotations

from django.urls import path

from eggtooth.web import (
    all_page,
    animal_page,
    bring_page,
    calendar_page,
    clutches_page,
    cross_page,
    door_book_page,
    doubts_page,
    edit_page,
    feeders_page,
    find_page,
    first_page,
    hatch_page,
    labels_page,
    males_page,
    many_page,
    nights_page,
    note_page,
    own_password,
    papers_page,
    people_page,
    photo_page,
    plan_page,
    ready_page,
    records_page,
    review_page,
    room_page,
    round_page,
    routes_page,
    season_page,
    settings_page,
    take_page,
    tub_page,
    waiting,
    wishes_page,
    worker,
)
from eggtooth.web.interface import api

urlpatterns = [
    # Tonight, and noting
    path("", round_page.show, name="round"),
    path("room", room_page.show, name="room"),
    path("tub/<path:name>", tub_page.show, name="tub"),
    path("note", note_page.note, name="note"),
    path("note/entry", tub_page.note, name="note-entry"),
    path("undo", note_page.undo, name="undo"),
    path("scale", many_page.scale, name="scale"),
    path("feeding", many_page.feeding, name="feeding"),
    path("hatchlings", hatch_page.show, name="hatchlings"),
    path("hatchlings/<path:dam>/<str:day>", hatch_page.enter, name="hatch"),
    # The season
    path("season", season_page.show, name="season"),
    path("males", males_page.show, name="males"),
    path("ready", ready_page.show, name="ready"),
    path("clutches", clutches_page.show, name="clutches"),
    path("feeders", feeders_page.show, name="feeders"),
    path("review", review_page.show, name="review"),
    # Who with whom
    path("cross", cross_page.show, name="cross"),
    path("wishes", wishes_page.show, name="wishes"),
    path("plan", plan_page.show, name="plan"),
    path("plan/choose", plan_page.choose, name="choose"),
    path("plan/go-by", plan_page.go_by, name="go-by"),
    path("nights", nights_page.show, name="nights"),
    path("routes", routes_page.show, name="routes"),
    # An animal
    path("find", find_page.find, name="find"),
    path("animals/new", edit_page.new, name="animal-new"),
    path("animal/<tag:tag>/note", tub_page.of_animal, name="animal-note"),  # a tag may hold a slash: 22/14
    path("animal/<tag:tag>/edit", edit_page.edit, name="animal-edit"),
    path("animal/<tag:tag>/photos", photo_page.show, name="photos"),
    path("animal/<tag:tag>/photos/remove", photo_page.remove, name="photo-remove"),
    path("animal/<tag:tag>/photos/<int:number>.jpg", photo_page.file, name="photo"),
    path("animal/<tag:tag>/papers", papers_page.show, name="papers"),
    path("animal/<tag:tag>", animal_page.show, name="animal"),
    # The records
    path("records", records_page.show, name="records"),
    path("records/correct", records_page.correct, name="entry-correct"),
    path("records/<str:key>", records_page.entry, name="entry"),
    path("doubts", doubts_page.show, name="doubts"),
    path("bring", bring_page.bring, name="bring"),
    path("bring/<str:key>", bring_page.sheet, name="bring-sheet"),
    path("take/<str:form>", take_page.take, name="take"),
    path("labels", labels_page.show, name="labels"),
    path("labels.pdf", labels_page.pdf, name="labels-pdf"),
    # The house
    path("settings", settings_page.show, name="settings"),
    path("people", people_page.show, name="people"),
    path("people/book", door_book_page.show, name="door-book"),
    path("me", people_page.me, name="me"),
    path("first-password", own_password.first, name="first-password"),
    path("sign-in", people_page.sign_in, name="sign-in"),
    path("sign-out", people_page.sign_out, name="sign-out"),
    path("look-around", first_page.look_around, name="look-around"),
    path("leave", first_page.leave, name="leave"),
    path("all", all_page.show, name="all"),
    path("work/again", waiting.again, name="again"),
    # For machines
    path("calendar/<str:secret>.ics", calendar_page.ics, name="calendar"),
    path("api/", api.urls),
    path("sw.js", worker.script, name="worker"),
    path("house.crt", worker.certificate, name="certificate"),
]

handler500 = "eggtooth.web.store_faults.unusable"
