"""The bounds of every value, as `docs/bounds.md`: made from the code that holds to them.

`.venv/bin/python -m tests.bounds` writes the page anew; a test fails while it says otherwise than the code.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from eggtooth.engine.colony import Sex, State
from eggtooth.engine.entries import Kind, Sign
from eggtooth.records.files import details, fields, wishes
from eggtooth.records.files.fields import Measure
from eggtooth.records.files.table import COLUMNS, LARGEST_BYTES

PAGE = Path(__file__).resolve().parent.parent / "docs" / "bounds.md"
HEAD = """# The bounds of every value

Made from the code by `.venv/bin/python -m tests.bounds`; `tests/test_bounds.py` fails while they differ,
and tries the bounds of texts and numbers from both sides. What lies outside is refused, with what was found
and what would be right. These are bounds of what can be, not of what is likely: `/doubts` looks at that.

Texts are counted in characters, have no control characters, and no line breaks but in notes and reasons;
blanks around them are taken off. Numbers are written with a point; a comma is understood on the pages.
"""
MB = 1_000_000
Rows = list[tuple[str, ...]]


def _table(title: str, header: tuple[str, ...], rows: Rows) -> Iterator[str]:
    yield f"\n## {title}\n\n| {' | '.join(header)} |\n|{' --- |' * len(header)}\n"
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', '&#124;') for cell in row)} |\n"


def _measure(name: str, m: Measure) -> tuple[str, ...]:
    return name, f"{m.low:,g}", f"{m.high:,.10g}", m.unit, "whole numbers" if m.whole else "any number"


def _entries() -> Rows:
    rows = [_measure(kind.value, m) for kind, m in details.MEASURES.items()]
    none = ", ".join(k.value for k in Kind if k not in details.MEASURES)
    rows += [_measure("grams of one prey item", details.PREY_G), _measure("follicles, slugs", details.COUNT)]
    return [*rows, _measure("error of a test", details.TEST_ERROR), (none, "", "", "", "have no value")]


def _texts() -> Rows:
    longest = {
        "tag, sire, dam, rack of a tub": fields.LONGEST_TAG,
        "name": fields.LONGEST_NAME,
        "genes": fields.LONGEST_GENES,
        "clutch": fields.LONGEST_CLUTCH,
        "detail of an entry": fields.LONGEST_DETAIL,
        "wish": fields.LONGEST_WISH,
        "noted by, voided by": fields.LONGEST_BY,
        "note, why": fields.LONGEST_NOTE,
    }
    return [(name, str(most)) for name, most in longest.items()]


def _words() -> Rows:
    return [
        ("sex", ", ".join(s.value or "(empty)" for s in Sex)),
        ("state", ", ".join(s.value for s in State)),
        ("kind", ", ".join(k.value for k in Kind)),
        ("detail of sign", ", ".join(s.value for s in Sign)),
        *((f"detail of {k.value}", words) for k, words in details.NEEDED.items() if k is not Kind.SIGN),
        ("tag", "no |, printable"),
        ("tub", "rack-row-place; row and place of up to 4 digits"),
    ]


def _wishes() -> Rows:
    named = {
        "weight of a wish": wishes.WEIGHT,
        "count of a wish": wishes.WANTED,
        "places of an incubator": wishes.PLACES,
        "target_c of an incubator": wishes.TARGET_C,
    }
    return [_measure(name, m) for name, m in named.items()]


def _settings() -> Rows:
    from eggtooth.engine.house import Settings
    from eggtooth.web.settings_numbers import NOT_ABOVE, NUMBERS
    from eggtooth.web.settings_page import DATES

    usual = Settings()
    rows: Rows = [
        (f, f"{getattr(usual, f):g}", f"{n.low / n.times:g} to {n.high / n.times:g}")
        for f, n in NUMBERS.items()
    ]
    rows += [(f"{low}, {high}", "", "the first not above the second") for low, high in NOT_ABOVE]
    rows += [(f, "{}-{}".format(*getattr(usual, f)), "a day of a year without 29 February") for f in DATES]
    nights = ", ".join(map(str, usual.pairing_nights))
    return [*rows, ("pairing_nights", nights, "weekdays 0 (Monday) to 6 (Sunday)")]


def _files() -> Rows:
    from eggtooth.jobs import photo
    from eggtooth.records import photos
    from eggtooth.records.sheets import opening

    pixels = ", ".join(f"{kind} {most // MB} million" for kind, most in photo.MOST_PIXELS.items())
    endings = ", ".join(dict.fromkeys(e for kind in photo.ENDINGS.values() for e in kind))
    return [
        ("a request to the pages", f"{opening.LARGEST_REQUEST_BYTES // MB} MB"),
        (
            "a sheet",
            f"{opening.LARGEST_BYTES // MB} MB, {opening.MOST_ROWS:,} rows, {opening.MOST_COLUMNS} columns",
        ),
        ("a sheet's ending", f"none, or {', '.join(opening.TEXTS + opening.BOOKS)}, as its content is"),
        (
            "a workbook, unpacked",
            f"{opening.LARGEST_UNPACKED // MB} MB; above {opening.USUAL_UNPACKED // MB} MB no more than "
            f"{opening.MOST_TIMES} times its size",
        ),
        ("a csv file of `eggtooth import`", f"{LARGEST_BYTES >> 20} MiB"),
        ("a photo", f"{photo.LARGEST_BYTES // MB} MB; pixels: {pixels}"),
        ("a photo's ending", f"none, or {endings}, as its content is"),
        (
            "a photo as it is kept",
            f"JPEG, {photo.LONGEST_SIDE_PX} px on its longer side, {photo.KEPT_BYTES // 1000} kB; "
            f"{photos.MOST_OF_ONE} of one animal",
        ),
    ]


def _pages() -> Rows:
    from eggtooth.jobs import generations
    from eggtooth.web import answers, cross_page, hatch_page, interface, labels_page, routes_page

    taps = {(a.kind.value, a.ask, f"{a.least:g} to {a.most:g}") for a in answers.ALL.values() if a.ask}
    return [
        *((f"{kind} at a line of the round ({unit})", bounds) for kind, unit, bounds in sorted(taps)),
        ("a day asked for (`on`)", "1970 to 2100"),
        ("a day something is noted for", _noted_days()),
        ("eggs of a cross", f"1 to {cross_page.MOST_EGGS}"),
        ("genes of a cross", f"{cross_page.LONGEST} characters, the rest is cut off"),
        ("seasons of a route", f"1 to {generations.MOST_SEASONS}"),
        ("wish of a route", f"{routes_page.LONGEST} characters, the rest is cut off"),
        ("hatchlings entered at once", str(hatch_page.MOST)),
        ("labels left out on a sheet", f"0 to {labels_page.MOST_SKIPPED}"),
        (
            "entries sent to `/api/entries` at once",
            f"{interface.MOST:,}; a detail of {interface.LONGEST} characters",
        ),
    ]


def _noted_days() -> str:
    return f"{fields.EARLIEST} to {_days(fields.LEEWAY)} day after today"


def _people() -> Rows:
    from django.conf import settings

    from eggtooth.records import door_book, first_passwords, knocks, people
    from eggtooth.web import knocking

    shortest = next(r["OPTIONS"] for r in settings.AUTH_PASSWORD_VALIDATORS if "Minimum" in r["NAME"])
    return [
        ("name", f"1 to {people.LONGEST_NAME} characters, borne by nobody else"),
        ("role", ", ".join(people.Role)),
        ("password", f"{shortest['min_length']} characters or more, not common, not like the name"),
        ("first password", f"{_days(first_passwords.GOOD_FOR)} days"),
        ("what a token is for", f"{people.LONGEST_LABEL} characters"),
        ("wrong tries of a name, of an address", f"{knocks.KNOCKS}, {4 * knocks.KNOCKS} in {knocks.WITHIN}"),
        ("a session", f"{_days(timedelta(seconds=settings.SESSION_COOKIE_AGE))} days"),
        ("the mark of a known device", f"{_days(timedelta(seconds=knocking.DEVICE_SECONDS))} days"),
        ("lines a day in the door book about those turned away", str(door_book.MOST_TURNED_AWAY)),
    ]


def _days(span: timedelta) -> int:
    return span.days


def page() -> str:
    """The page as the code has it."""
    measured = ("value", "least", "most", "unit", "")
    parts: list[Iterator[str]] = [
        _table("Numbers of an entry", measured, _entries()),
        _table("Wishes and incubators", measured, _wishes()),
        _table("Texts", ("text", "most characters"), _texts()),
        _table("Words", ("column", "one of"), _words()),
        _table("Settings", ("setting", "usual", "bounds"), _settings()),
        _table("Files", ("what", "most"), _files()),
        _table("Pages and the http interface", ("what", "bounds"), _pages()),
        _table("People", ("what", "bounds"), _people()),
    ]
    days = f"\nDays in files run from {fields.EARLIEST} to tomorrow.\n"
    columns = "".join(f"- `{name}.csv`: {', '.join(names)}\n" for name, names in COLUMNS.items())
    return (
        HEAD
        + days
        + "The columns of the files:\n\n"
        + columns
        + "".join(line for part in parts for line in part)
    )


def main() -> int:
    """Write the page."""
    import django

    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {
            "EGGTOOTH_STORE": f"{folder}/none.sqlite3",
            "DJANGO_SETTINGS_MODULE": "eggtooth.records.settings",
        }
        django.setup()
        PAGE.write_text(page(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
