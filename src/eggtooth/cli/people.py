"""`eggtooth people`: who may come in to the pages when they are served to the house."""

from __future__ import annotations

import argparse
import getpass
import sys
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from eggtooth.records.first_passwords import First


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    ways = parser.add_subparsers(dest="way", metavar="list | add | password | out | in | role", required=True)
    ways.add_parser("list", help="everyone with a key")
    for way, purpose in (("add", "let one more in"), ("role", "give another role")):
        sub = ways.add_parser(way, help=purpose)
        sub.add_argument("name")
        sub.add_argument("--role", choices=("owner", "helper", "reader"), default="helper")
    for way, purpose in (
        ("password", "a new first password, told once"),
        ("out", "let in no longer"),
        ("in", "let in again"),
    ):
        ways.add_parser(way, help=purpose).add_argument("name")


def run(asked: argparse.Namespace) -> int:
    """Do it; exit 1 with the reason when it cannot be."""
    from eggtooth.records.store import open_store

    open_store()
    try:
        return _done(asked)
    except ValueError as wrong:
        print(wrong, file=sys.stderr)
        return 1


def _done(asked: argparse.Namespace) -> int:
    from eggtooth.records import first_passwords, people

    match asked.way:
        case "list":
            for name, role, active, until in people.everyone():
                begins = f", has yet to choose a password (first one ends {_written(until)})" if until else ""
                print(f"{name}  {role}{'' if active else ', not let in'}{begins}")
        case "add" if asked.role == people.Role.OWNER and not people.owners():
            people.add(asked.name, people.Role.OWNER, _password())  # whoever sets the house up
            print(f"{asked.name} may come in as {asked.role}.")
        case "add":
            first = first_passwords.let_in(asked.name, people.Role(asked.role))
            print(f"{first.name} may come in as {asked.role}.")
            _tell(first)
        case "role":
            people.change(asked.name, role=people.Role(asked.role))
            print(f"{asked.name} is {asked.role} now.")
        case "password":
            _tell(first_passwords.renew(asked.name))
        case way:
            people.change(asked.name, active=way == "in")
            print(f"{asked.name} is let in {'again' if way == 'in' else 'no longer'}.")
    return 0


def _tell(first: First) -> None:
    """Say a first password, which is the only time it is said."""
    print(f"First password of {first.name}: {first.password}")
    print(
        f"It is told once, works until {_written(first.until)}, and opens only the page where a password of "
        "their own is chosen. Until then their tokens and calendar address rest."
    )


def _written(until: datetime) -> str:
    return f"{until:%Y-%m-%d %H:%M} UTC"


def _password() -> str:
    """Typed twice at a terminal; read as one line where none is there."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    first, again = getpass.getpass("Password: "), getpass.getpass("Once more: ")
    if first != again:
        raise ValueError("the two passwords are not the same")
    return first
