"""`eggtooth kinship`: how related the animals are."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from eggtooth.cli.carriers import share
from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.engine.pedigree.years import HatchYear
from eggtooth.jobs.kin import Kin, how_related

if TYPE_CHECKING:
    from rich.table import Table

MOST_PAIRS = 40
TOLERANCE = 1e-9
RELATIONS = (
    (0.25, "full brother and sister, or parent and young"),
    (0.125, "half brother and sister"),
    (0.0625, "cousins"),
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    add_source_options(parser)
    parser.add_argument(
        "--pairs",
        choices=("breeding", "all", "none"),
        default="breeding",
        help="males × females in the room (usual), all animals, or inbreeding only",
    )
    parser.add_argument(
        "--base", type=share, default=0.0, metavar="K", help="kinship assumed of unknown parents (0)"
    )


def run(asked: argparse.Namespace) -> int:
    """Print inbreeding and kinship."""
    found = how_related(source_of(asked).colony, day_of(asked), asked.pairs, asked.base)
    if asked.json:
        pairs = [{"a": a, "b": b, "kinship": k} for a, b, k in found.pairs()]
        told = {
            "inbreeding": found.inbreeding,
            "pairs": pairs,
            "by_year": [year_json(y) for y in found.years],
        }
        print(json.dumps(told, ensure_ascii=False))
    else:
        show(found, asked.base)
    return 0


def year_json(row: HatchYear) -> dict[str, float | int | None]:
    """One year of hatch; `sd` is null for a single animal."""
    return {"year": row.year, "n": row.animals, "mean": row.mean, "sd": row.spread, "most": row.most}


def show(found: Kin, base: float) -> None:
    """The closest pairs, the most inbred animals, and inbreeding by year of hatch."""
    from heapq import nlargest

    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("pair", "with", "young would be inbred", "as close as"):
        table.add_column(name, overflow="fold")
    for a, b, k in nlargest(MOST_PAIRS, found.pairs(), key=lambda pair: pair[2]):
        table.add_row(a, b, f"{k:.1%}", _as_close((k - base) / (1 - base)))
    if found.rows:
        console.print(table if table.row_count else "No related pairs.")
    inbred = [(tag, f) for tag, f in found.inbreeding.items() if f > base]
    for tag, f in nlargest(10, inbred, key=lambda x: x[1]):
        console.print(f"{tag} is inbred {f:.1%}", highlight=False)
    if found.years:
        console.print(_years(found.years))


def _as_close(kinship: float) -> str:
    return next((words for least, words in RELATIONS if kinship >= least - TOLERANCE), "")


def _years(years: tuple[HatchYear, ...]) -> Table:
    from rich.table import Table

    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("hatched in", "animals", "inbred on average", "spread (sd)", "most"):
        table.add_column(name, justify="right")
    for row in years:
        spread = "" if row.spread is None else f"{row.spread:.1%}"
        year = "not noted" if row.year is None else str(row.year)
        table.add_row(year, str(row.animals), f"{row.mean:.1%}", spread, f"{row.most:.1%}")
    return table
