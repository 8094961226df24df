"""The http interface at `/api/`, described by OpenAPI at `/api/openapi.json`: entries in, answers out.

For scales, probes and scripts: `Authorization: Bearer TOKEN`, a token from the page `/me`. Bodies are json
and must say so, which keeps other sites' pages from sending any.
"""

from __future__ import annotations

import math
import re
from datetime import date, datetime
from typing import Annotated, Any
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from ninja import NinjaAPI, Query, Schema
from ninja.errors import HttpError
from pydantic import BeforeValidator, Field

from eggtooth.engine.entries import Kind
from eggtooth.jobs import noting
from eggtooth.jobs.cross import Asked, UnfitPair, answer
from eggtooth.jobs.cross import as_json as cross_json
from eggtooth.jobs.day import as_json as round_json
from eggtooth.jobs.day import day, entry_json
from eggtooth.jobs.family_odds import family_odds
from eggtooth.jobs.forecast import female_json, forecast_on
from eggtooth.jobs.gather import from_store
from eggtooth.jobs.typed import fields_of
from eggtooth.jobs.wear import as_json as wear_json
from eggtooth.jobs.wear import males_of
from eggtooth.records import store
from eggtooth.web.clock import today
from eggtooth.web.doors import keeper_of
from eggtooth.web.note_page import take_back
from eggtooth.web.tags import TAG

MOST = 1000
LONGEST = 500

api = NinjaAPI(
    title="Eggtooth",
    version="1",
    docs_url=None,
    description="Entries of a ball python colony, and answers from them.",
)


def _written(value: Any) -> Any:
    """A day or moment is written out; a bare number would be taken for seconds since 1970."""
    told = isinstance(value, str) and re.match(r"\d{4}-\d\d-\d\d(?!\d)", value, re.ASCII)
    if not (value is None or isinstance(value, date) or told):
        raise ValueError("write it as 2026-01-31 or 2026-01-31T20:30")
    return value


OnDay = Annotated[date, BeforeValidator(_written)]
AtMoment = Annotated[datetime, BeforeValidator(_written)]
Number = Annotated[float, Field(strict=True)]


class Told(Schema):
    """Why something was refused."""

    detail: str


class Entry(Schema):
    """One thing seen: as a line of the log, with an id that makes sending it twice the same as once."""

    id: UUID = Field(default_factory=uuid4)
    on: OnDay | None = None
    tag: str = Field(max_length=40)
    kind: str = Field(max_length=40)
    value: Number | None = None
    detail: str = Field("", max_length=LONGEST)


class Reading(Schema):
    """A temperature of a probe in a tub's rack or an incubator."""

    place: str = Field(max_length=40)
    celsius: Number
    id: UUID = Field(default_factory=uuid4)
    at: AtMoment | None = None


class Kept(Schema):
    """What is kept: ids in the order sent."""

    kept: list[str]


class Undone(Schema):
    """The entry to take back."""

    id: UUID


Day = Annotated[OnDay | None, Query(None, description="the day asked about; today when left out")]
REFUSALS: dict[int, Any] = {400: Told, 401: Told, 403: Told, 404: Told, 415: Told, 422: Any}


@api.exception_handler(ValueError)
def refused(request: HttpRequest, wrong: Exception) -> HttpResponse:
    """What cannot be: told, and nothing kept."""
    return api.create_response(request, {"detail": str(wrong)}, status=400)


def _on(on: date | None) -> date:
    on = on or today()
    if not 1970 <= on.year <= 2100:
        raise ValueError(f"{on} is too far away; answers are for 1970 to 2100")
    return on


def _noted(on: date | None) -> date:
    return noting.noted_on(on or today(), today())


def _json_only(request: HttpRequest) -> None:
    """A form of another site can send text, but not json without asking first."""
    if request.content_type != "application/json":
        raise HttpError(415, "send application/json")


@api.post("/entries", response={200: Kept, **REFUSALS}, url_name="api-entries")
def add_entries(request: HttpRequest, entries: list[Entry]) -> dict[str, list[str]]:
    """Keep entries, all or none."""
    _json_only(request)
    if len(entries) > MOST:
        raise ValueError(f"{len(entries)} entries at once; send up to {MOST}")
    by, colony = keeper_of(request).name, store.colony()
    with store.all_or_nothing():
        kept = [noting.note_as_written(colony, e.id, _noted(e.on), e.tag, _words(e), by).id for e in entries]
    return {"kept": kept}


def _words(entry: Entry) -> tuple[str, str, str]:
    if entry.value is not None and not math.isfinite(entry.value):
        raise ValueError(f"value: {entry.value} is not a number")
    return entry.kind, "" if entry.value is None else repr(entry.value), entry.detail


@api.post("/temperature", response={200: Kept, **REFUSALS}, url_name="api-temperature")
def add_temperature(request: HttpRequest, reading: Reading) -> dict[str, list[str]]:
    """Keep what a probe read; the place is an incubator or a rack."""
    _json_only(request)
    on = _noted(reading.at.date() if reading.at else None)
    kept = noting.note_temperature(
        store.colony(), reading.id, on, reading.at, reading.place, reading.celsius, keeper_of(request).name
    )
    return {"kept": [kept]}


@api.post("/undo", response={200: Kept, **REFUSALS}, url_name="api-undo")
def undo(request: HttpRequest, undone: Undone) -> dict[str, list[str]]:
    """Take an entry back; it stays in the records as taken back."""
    _json_only(request)
    take_back(request, undone.id)
    return {"kept": [undone.id.hex]}


@api.get("/round", response={200: Any, **REFUSALS}, url_name="api-round")
def get_round(request: HttpRequest, on: Day = None) -> Any:
    """The day's list."""
    return round_json(day(_on(on)).round)


@api.get("/animals", response={200: Any, **REFUSALS}, url_name="api-animals")
def get_animals(request: HttpRequest) -> Any:
    """All animals as recorded."""
    return {"animals": [fields_of(a) for a in store.colony().animals.values()]}


@api.get(f"/animals/{{{TAG}:tag}}/entries", response={200: Any, **REFUSALS}, url_name="api-animal-entries")
def get_entries(request: HttpRequest, tag: str, kind: str = "") -> Any:
    """What was noted of one animal, oldest first."""
    colony = store.colony()
    if tag not in colony.animals:
        raise HttpError(404, f"{tag} is not an animal here")
    wanted = Kind(kind) if kind else None
    return {"entries": [entry_json(e) for e in colony.of_animal(tag) if wanted in (None, e.kind)]}


@api.get("/forecast", response={200: Any, **REFUSALS}, url_name="api-forecast")
def get_forecast(request: HttpRequest, on: Day = None) -> Any:
    """Each female's season."""
    asked = _on(on)
    return {"on": asked.isoformat(), "females": [female_json(f) for f in forecast_on(from_store(), asked)]}


@api.get("/wear", response={200: Any, **REFUSALS}, url_name="api-wear")
def get_wear(request: HttpRequest, on: Day = None) -> Any:
    """Each male's condition."""
    return {"males": [wear_json(m) for m in males_of(from_store(), _on(on))]}


@api.get("/cross", response={200: Any, **REFUSALS}, url_name="api-cross")
def get_cross(request: HttpRequest, sire: str, dam: str, eggs: int = 6) -> Any:
    """What a pair can produce; genes or tags."""
    if not 1 <= eggs <= 20 or len(sire) > LONGEST or len(dam) > LONGEST:
        raise ValueError("eggs are from 1 to 20, and genes up to 500 letters")
    colony, asked = store.colony(), Asked(sire, dam, eggs)
    try:
        return cross_json(answer(asked, colony, family_odds(colony, today(), asked.catalogue)))
    except UnfitPair as unfit:
        raise ValueError(str(unfit)) from None
