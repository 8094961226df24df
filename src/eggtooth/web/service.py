"""The pages as a service behind a door that speaks https: `python -m eggtooth.web.service ADDRESS PORT`.

Everybody signs in; the first one is let in by `python -m eggtooth.web.service --owner NAME`. The store is the
one `EGGTOOTH_DATABASE` or `EGGTOOTH_STORE` names.
"""

from __future__ import annotations

import signal
import sys
from types import FrameType

from eggtooth.jobs.backing_up import Daily
from eggtooth.jobs.gather import StoreFault, open_store, warn
from eggtooth.records.sheets.opening import LARGEST_REQUEST_BYTES

THREADS = 16
WAITING = 64


def main(address: str, port: int) -> int:
    """Serve until the process is told to stop; the answers under way are finished first."""
    from cheroot.wsgi import Server
    from django.core.wsgi import get_wsgi_application

    try:
        open_store()
    except StoreFault as fault:
        print(fault, file=sys.stderr)
        return 1
    warn(lambda line: print(line, file=sys.stderr, flush=True))
    server = Server((address, port), get_wsgi_application(), numthreads=THREADS, request_queue_size=WAITING)
    server.max_request_body_size = LARGEST_REQUEST_BYTES
    server.keep_alive_conn_limit = WAITING
    signal.signal(signal.SIGTERM, _stop)
    copies = Daily(lambda line: print(line, file=sys.stderr, flush=True))
    try:
        server.prepare()
        copies.start()
        server.serve()
    except KeyboardInterrupt:
        server.stop()
        copies.stop()
    return 0


def _stop(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def first_owner(name: str) -> int:
    """Let the first person in; the password is asked for and not shown."""
    from getpass import getpass

    try:
        open_store()
        from eggtooth.records import people

        if owners := people.owners():
            print(f"{owners[0]} is owner already, and lets others in at /people", file=sys.stderr)
            return 1
        people.add(name, people.Role.OWNER, getpass(f"A password for {name}: "))
    except (StoreFault, ValueError) as fault:
        print(fault, file=sys.stderr)
        return 1
    print(f"{name} may come in.")
    return 0


if __name__ == "__main__":
    if sys.argv[1] == "--owner":
        sys.exit(first_owner(sys.argv[2]))
    sys.exit(main(sys.argv[1], int(sys.argv[2])))
