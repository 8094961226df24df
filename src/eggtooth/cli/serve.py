"""`eggtooth serve`: the pages, on this machine only unless told otherwise."""

from __future__ import annotations

import argparse
import os
import socket
import sys
from datetime import date
from pathlib import Path

PORT = 8642


def arguments(parser: argparse.ArgumentParser) -> None:
    """Options of this command."""
    parser.add_argument("--port", type=int, default=PORT, help=f"port (default {PORT}; 0 takes a free one)")
    parser.add_argument("--on", type=date.fromisoformat, help="live on this day instead of today")


def run(asked: argparse.Namespace) -> int:
    """Serve the pages until Ctrl-C."""
    return serve(None, asked.port, asked.on)


def serve(store: Path | None, port: int, on: date | None) -> int:
    """Serve a store's pages on 127.0.0.1 until Ctrl-C. Exit 1 when the port is taken."""
    os.environ["EGGTOOTH_SIGN_IN"] = "0"  # nobody but this machine can reach it
    if store:
        os.environ["EGGTOOTH_STORE"] = str(store)
    if on:
        os.environ["EGGTOOTH_TODAY"] = on.isoformat()
    from cheroot.wsgi import Server

    try:
        bound = listening(port)
    except OSError as taken:
        print(f"port {port} cannot be used ({taken.strerror}); try --port 0", file=sys.stderr)
        return 1
    from eggtooth.records.store import open_store

    open_store()
    server = Server(("127.0.0.1", bound), application(), numthreads=8)
    print(f"The pages are at http://127.0.0.1:{bound}/ (Ctrl-C stops)", flush=True)
    try:
        server.start()
    except KeyboardInterrupt:
        server.stop()
        print("Stopped.")
    return 0


def listening(port: int) -> int:
    """The port to use: the one asked for if it is free, or a free one for 0."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind(("127.0.0.1", port))
        return int(probe.getsockname()[1])


def application() -> object:
    """The web application over the open store."""
    from django.core.wsgi import get_wsgi_application

    return get_wsgi_application()
