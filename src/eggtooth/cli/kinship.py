"""`eggtooth kinship`: how related the animals are."""

from __future__ import annotations

import argparse
import json

from eggtooth.cli.carriers import share
from eggtooth.cli.sources import add_source_options, day_of, source_of
from eggtooth.jobs.kin import Kin, how_related

MOST_PAIRS = 40
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
        print(json.dumps({"inbreeding": found.inbreeding, "pairs": pairs}, ensure_ascii=False))
    else:
        show(found)
    return 0


def show(found: Kin) -> None:
    """The closest pairs and the most inbred animals."""
    from heapq import nlargest

    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(box=None, padding=(0, 1), header_style="dim")
    for name in ("pair", "with", "young would be inbred", "as close as"):
        table.add_column(name, overflow="fold")
    for a, b, k in nlargest(MOST_PAIRS, found.pairs(), key=lambda pair: pair[2]):
        table.add_row(a, b, f"{k:.1%}", next((words for least, words in RELATIONS if k >= least), ""))
    console.print(table if table.row_count else "No related pairs.")
    inbred = [(tag, f) for tag, f in found.inbreeding.items() if f > 0]
    for tag, f in nlargest(10, inbred, key=lambda x: x[1]):
        console.print(f"{tag} is inbred {f:.1%}", highlight=False)
