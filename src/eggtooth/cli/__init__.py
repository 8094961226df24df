"""The command line. Only the command that was asked for is imported, so that `--help` is quick."""

from __future__ import annotations

import argparse
import keyword
import sys
from collections.abc import Sequence
from importlib import import_module
from types import ModuleType

COMMANDS = {
    "round": "what to do in the room on this day",
    "rotation": "who sits where tonight and on the coming nights",
    "ready": "who is fit to breed, with what chance, and from when",
    "wear": "how the breeding males hold up, and by when each must rest",
    "feeders": "how many prey of each size the coming weeks need",
    "eggs": "clutches, when they pip, and whether the incubators have places",
    "review": "the season that was: forecasts against what happened",
    "forecast": "each female's season: where she is, whether she lays, and when",
    "learn": "this house's own rates, from its finished seasons",
    "check": "what cannot be, and what is odd, in the records",
    "serve": "the pages, for a browser or a phone",
    "work": "works out what takes long for the pages, where the store is on PostgreSQL",
    "people": "who may come in when the pages are served to the house",
    "import": "bring csv files into the store",
    "export": "write the whole store as csv files",
    "backup": "a checked copy of the store",
    "restore": "put a copy back in the place of the store",
    "move-store": "the whole store into another database",
    "demo": "an invented colony in mid-season, to look around",
    "cross": "what a pair can produce",
    "generations": "ways to a wish over several seasons",
    "carriers": "who carries what, given everything known",
    "prove": "what would settle what an animal carries: which mate, how many eggs, or a laboratory",
    "sires": "who fathered each clutch",
    "kinship": "how related the animals are",
    "pairings": "who goes to whom this season, for what you wish to see hatch",
}

DAMAGED = (
    "Its file is damaged: `eggtooth backup --list` shows the copies, `eggtooth restore FILE` puts one back, "
    "`eggtooth export FOLDER --damaged` writes out what can still be read."
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code (0 fine, 1 the data is at fault, 2 wrong use)."""
    words = list(sys.argv[1:] if argv is None else argv)
    name = next((w for w in words if not w.startswith("-")), None)
    parser = argparse.ArgumentParser("eggtooth", description="Runs a ball python breeding season.")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command, purpose in COMMANDS.items():
        sub = commands.add_parser(command, help=purpose, description=purpose[0].upper() + purpose[1:] + ".")
        if command == name:
            module(command).arguments(sub)
    asked = parser.parse_args(words)
    try:
        return int(module(asked.command).run(asked))
    except BrokenPipeError:  # whoever read the output has seen enough
        sys.stdout = None
        return 0
    except Exception as fault:
        if not _of_the_store(fault):
            raise
        print(f"the store cannot be used: {fault}; nothing half-done was kept", file=sys.stderr)
        if "malformed" in str(fault):
            print(DAMAGED, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped; nothing half-done was kept.", file=sys.stderr)
        return 130


def module(command: str) -> ModuleType:
    """The module of a command; a name that Python keeps for itself ends in an underscore there."""
    name = command.replace("-", "_")
    return import_module(f"eggtooth.cli.{name}_" if keyword.iskeyword(name) else f"eggtooth.cli.{name}")


def _of_the_store(fault: Exception) -> bool:
    """Whether a fault is the store's own (disk full, locked, read-only), told without loading Django."""
    return any(t.__module__ == "django.db.utils" or t.__name__ == "StoreFault" for t in type(fault).__mro__)
