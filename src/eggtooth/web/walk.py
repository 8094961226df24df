"""A long round as stretches of the walk: rack by rack, a large rack in parts; a short round stays whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from urllib.parse import parse_qsl, urlencode

from django.http import HttpRequest

from eggtooth.engine.rounds import Task
from eggtooth.web.asked import Page

WHOLE, PART = 100, 80
"""Lines up to which a round stands on one page; lines of a part of a rack. A line weighs about 0.8 kB."""
ROOM, NO_TUB = "the room", "no tub noted"


@dataclass(frozen=True, slots=True)
class Rack:
    """One stop of the walk, and how many lines wait there."""

    name: str
    lines: int
    chosen: bool = False

    @property
    def query(self) -> str:
        """What an address says to come here."""
        return urlencode({"rack": self.name})


@dataclass(frozen=True, slots=True)
class Stretch:
    """What one page shows: its lines, the stops of the walk (none when all is shown) and where it goes on.

    `asked`: the day and sort in every address; `query`: what leads back to just this stretch.
    """

    tasks: Sequence[Task]
    racks: tuple[Rack, ...] = ()
    rack: str = ""
    here: int = 0
    page: Page | None = None
    after: Rack | None = None
    asked: str = ""
    query: str = ""

    @property
    def all(self) -> int:
        """Lines of the whole walk."""
        return sum(r.lines for r in self.racks) or len(self.tasks)

    @property
    def page_more(self) -> str:
        """What the addresses of the other parts of this rack say beside the day."""
        return "&" + urlencode([*parse_qsl(self.asked)[1:], ("rack", self.rack)])


def rack_of(task: Task) -> str:
    """The stop of the walk at which a line is done."""
    return task.tub.rack if task.tub else NO_TUB if task.tag else ROOM


def stretch(request: HttpRequest, tasks: Sequence[Task], asked: str) -> Stretch:
    """The lines of the rack asked for by `rack` and `page`, else of the first one; `tasks` in walking order.

    A rack with nothing left is shown empty rather than another in its place. `asked` as in `Stretch`.
    """
    rack = request.GET.get("rack", "")
    if len(tasks) <= WHOLE and not rack:
        return Stretch(tasks)
    stops = {name: list(lines) for name, lines in groupby(tasks, key=rack_of)}
    rack = rack or next(iter(stops), "")
    here = stops.get(rack, [])
    page = Page.asked(request, PART).of(len(here))
    page = replace(page, number=min(page.number, page.last))
    racks = tuple(Rack(name, len(lines), name == rack) for name, lines in stops.items())
    shown = here[page.first : page.first + PART]
    query = urlencode({"rack": rack} | ({"page": page.number} if page.number > 1 else {}))
    return Stretch(shown, racks, rack, len(here), page, _after(racks, rack), asked, query)


def _after(racks: tuple[Rack, ...], name: str) -> Rack | None:
    """The next stop with something to do; of a rack that is done with too."""
    names = [r.name for r in racks]
    if name in names:
        return next(iter(racks[names.index(name) + 1 :]), None)
    return next((r for r in racks if r.name not in (ROOM, NO_TUB) and r.name > name), None)
