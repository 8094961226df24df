"""`eggtooth serve`: the pages, on this machine only, or with `--house` for the phones in the house."""

from __future__ import annotations

import argparse
import os
import signal
import socket
import sys
from datetime import date
from pathlib import Path
from threading import current_thread, main_thread

PORT = 8642
NOBODY = (
    "Nobody could sign in: eggtooth people add NAME --role owner; "
    "or, for an owner whose first password ended, eggtooth people password NAME"
)
RARELY = 100_000, 20, 100
"""When Python looks for cycles. A page holds a colony of some 100,000 tuples, none of them in cycles; at the
usual thresholds looking through them again and again took more time than the rest of the page.
"""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("--port", type=int, default=PORT, help=f"port (default {PORT}; 0 takes a free one)")
    parser.add_argument("--on", type=date.fromisoformat, help="live on this day instead of today")
    parser.add_argument(
        "--house", action="store_true", help="for all machines in the house, with https; people sign in"
    )
    parser.add_argument("--plain", action="store_true", help="with --house: http instead of https")
    parser.add_argument(
        "--name", action="append", default=[], help="with --house: one more name of this machine"
    )


def run(asked: argparse.Namespace) -> int:
    """Serve the pages until Ctrl-C."""
    if asked.house:
        return serve_house(asked.port, asked.on, asked.plain, asked.name)
    return serve(None, asked.port, asked.on)


def serve(store: Path | None, port: int, on: date | None, keep_copies: bool = True) -> int:
    """Serve a store's pages on 127.0.0.1 until Ctrl-C. Exit 1 when the port is taken.

    With `keep_copies` the store is copied once a day.
    """
    os.environ["EGGTOOTH_SIGN_IN"] = "0"  # nobody but this machine can reach it
    if store:
        os.environ["EGGTOOTH_STORE"] = str(store)
    _live_on(on)
    try:
        bound = listening(port)
    except OSError as taken:
        return _taken(port, taken)
    from eggtooth.cli.sources import open_or_leave

    open_or_leave()
    words = f"The pages are at http://127.0.0.1:{bound}/ (Ctrl-C stops)"
    return _run(_server("127.0.0.1", bound), words, keep_copies)


def serve_house(port: int, on: date | None, plain: bool, more: list[str]) -> int:
    """Serve the store to the house. Exit 1 when the port is taken or nobody could sign in."""
    names = [*more, *names_of_this_machine()]
    os.environ["EGGTOOTH_SIGN_IN"] = "1"
    os.environ["EGGTOOTH_HOSTS"] = " ".join(names)
    os.environ["EGGTOOTH_HTTPS"] = "0" if plain else "1"
    _live_on(on)
    try:
        bound = listening(port, "0.0.0.0")
    except OSError as taken:
        return _taken(port, taken)
    from eggtooth.cli.sources import open_or_leave
    from eggtooth.records.place import store_path

    open_or_leave()
    from eggtooth.records import people

    if not people.owners():
        print(NOBODY, file=sys.stderr)
        return 1
    server = _server("0.0.0.0", bound)
    if not plain:
        from cheroot.ssl.builtin import BuiltinSSLAdapter

        from eggtooth.records.authority import certificate_for, now_utc

        certificate, key = certificate_for(store_path().absolute().with_suffix(".tls"), names, now_utc())
        server.ssl_adapter = BuiltinSSLAdapter(str(certificate), str(key))  # type: ignore[attr-defined]
    address = f"{'http' if plain else 'https'}://{names[0]}:{bound}/"
    _show_code(address)
    return _run(server, f"The pages are at {address} for every machine in the house (Ctrl-C stops)", True)


def _live_on(on: date | None) -> None:
    if on:
        os.environ["EGGTOOTH_TODAY"] = on.isoformat()


def _taken(port: int, fault: OSError) -> int:
    print(f"port {port} cannot be used ({fault.strerror}); try --port 0", file=sys.stderr)
    return 1


def _server(host: str, port: int) -> object:
    from cheroot.wsgi import Server

    from eggtooth.records.sheets.opening import LARGEST_REQUEST_BYTES

    server = Server((host, port), application(), numthreads=8, request_queue_size=64)
    server.max_request_body_size = LARGEST_REQUEST_BYTES
    server.keep_alive_conn_limit = 64  # phones in a room keep their lines; to be cut off costs a second
    return server


def _run(server: object, words: str, keep_copies: bool) -> int:
    from eggtooth.jobs.backing_up import Daily
    from eggtooth.jobs.gather import warn

    stop_when_told()
    warn(lambda line: print(line, file=sys.stderr, flush=True))
    copies = Daily(lambda line: print(line, file=sys.stderr, flush=True)) if keep_copies else None
    try:
        server.prepare()  # type: ignore[attr-defined]  # so that the address answers once it is told
        print(words, flush=True)
        if copies:
            copies.start()
        server.serve()  # type: ignore[attr-defined]
    except KeyboardInterrupt:
        server.stop()  # type: ignore[attr-defined]
        if copies:
            copies.stop()
        print("Stopped.")
    return 0


def stop_when_told() -> None:
    """Let Ctrl-C and a plain `kill` end this process in order, also when a shell's `&` made Ctrl-C deaf."""
    if current_thread() is main_thread():
        for told in (signal.SIGINT, signal.SIGTERM):
            signal.signal(told, signal.default_int_handler)


def _show_code(address: str) -> None:
    """The address as a code for a phone's camera, where somebody can see it."""
    if sys.stdout.isatty():
        import segno

        segno.make(address, micro=False).terminal(compact=True)


def names_of_this_machine() -> list[str]:
    """The names and addresses by which the house may know this machine; the likeliest first."""
    name = socket.gethostname().split(".")[0] or "localhost"
    return list(dict.fromkeys([*_addresses(), name, f"{name}.local", "localhost", "127.0.0.1"]))


def _addresses() -> list[str]:
    """This machine's address on the way out; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address that is nobody's (RFC 5737)
        except OSError:
            return []
        return [str(probe.getsockname()[0])]


def listening(port: int, host: str = "127.0.0.1") -> int:
    """The port to use: the one asked for if it is free, or a free one for 0."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((host, port))
        return int(probe.getsockname()[1])


def application() -> object:
    """The web application over the open store."""
    import gc

    from django.core.wsgi import get_wsgi_application

    gc.set_threshold(*RARELY)
    return get_wsgi_application()
