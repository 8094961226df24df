"""The command line. Only the command that was asked for is imported, so that `--help` is quick."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

COMMANDS = {
    "round": "what to do in the room on this day",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code (0 fine, 1 the data is at fault, 2 wrong use)."""
    words = list(sys.argv[1:] if argv is None else argv)
    name = next((w for w in words if not w.startswith("-")), None)
    parser = argparse.ArgumentParser("eggtooth", description="Runs a ball python breeding season.")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command, purpose in COMMANDS.items():
        sub = commands.add_parser(command, help=purpose, description=purpose[0].upper() + purpose[1:] + ".")
        if command == name:
            import_module(f"eggtooth.cli.{command}").arguments(sub)
    asked = parser.parse_args(words)
    return int(import_module(f"eggtooth.cli.{asked.command}").run(asked))
