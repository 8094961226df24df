"""`eggtooth people`: who may come in to the pages when they are served to the house."""

from __future__ import annotations

import argparse
import getpass
import sys


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    ways = parser.add_subparsers(dest="way", metavar="list | add | password | out | in | role", required=True)
    ways.add_parser("list", help="everyone with a key")
    for way, purpose in (("add", "let one more in"), ("role", "give another role")):
        sub = ways.add_parser(way, help=purpose)
        sub.add_argument("name")
        sub.add_argument("--role", choices=("owner", "helper", "reader"), default="helper")
    for way, purpose in (("password", "a new password"), ("out", "let in no longer"), ("in", "let in again")):
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
    from eggtooth.records import people

    match asked.way:
        case "list":
            for name, role, active in people.everyone():
                print(f"{name}  {role}{'' if active else ', not let in'}")
        case "add":
            people.add(asked.name, people.Role(asked.role), _password())
            print(f"{asked.name} may come in as {asked.role}.")
        case "role":
            people.change(asked.name, role=people.Role(asked.role))
            print(f"{asked.name} is {asked.role} now.")
        case "password":
            people.set_password(asked.name, _password())
            print("The new password is kept.")
        case way:
            people.change(asked.name, active=way == "in")
            print(f"{asked.name} is let in {'again' if way == 'in' else 'no longer'}.")
    return 0


def _password() -> str:
    """Typed twice at a terminal; read as one line where none is there."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    first, again = getpass.getpass("Password: "), getpass.getpass("Once more: ")
    if first != again:
        raise ValueError("the two passwords are not the same")
    return first
