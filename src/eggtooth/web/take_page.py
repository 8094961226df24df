"""Everything out, at `/take/csv`, `/take/xlsx` and `/take/json`."""

from __future__ import annotations

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from eggtooth.jobs.packing import as_json, as_workbook, as_zip
from eggtooth.web.clock import today
from eggtooth.web.speech import spoken

FORMS: dict[str, tuple[Callable[[], bytes], str, str]] = {
    "csv": (as_zip, "application/zip", "zip"),
    "xlsx": (as_workbook, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "xlsx"),
    "json": (as_json, "application/json", "json"),
}


@require_safe
def take(request: HttpRequest, form: str) -> HttpResponse:
    """The whole store as one file."""
    if form not in FORMS:
        raise Http404(spoken("there is no {form} to take; csv, xlsx and json are", form=form))
    make, kind, ending = FORMS[form]
    name = f"eggtooth-{today().isoformat()}.{ending}"
    return HttpResponse(
        make(), content_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
