"""The door of `server/compose.yaml` speaks TLS 1.2 and 1.3 alone: its own command, with the system's Caddy.

Only what must differ on a machine without the name does: the name and port, where the pages are, and who
signs the certificate. The image named there has a newer Caddy than a system may have.
"""

from __future__ import annotations

import os
import shlex
import shutil
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from threading import Thread

import pytest
import yaml

from eggtooth.cli.serve import listening
from eggtooth.records.authority import certificate_for, now_utc

COMPOSE = Path(__file__).resolve().parent.parent / "server" / "compose.yaml"
NAME = "room.localhost"
OLD = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
NEW = ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3
pytestmark = pytest.mark.filterwarnings("ignore:ssl.TLSVersion:DeprecationWarning")


def command(port: int) -> list[str]:
    """The door's command in `compose.yaml`, for a name of this machine alone."""
    words = shlex.split(
        yaml.safe_load(COMPOSE.read_text())["services"]["door"]["command"].replace("${HOST:?", "${")
    )
    at = words.index("--from") + 1
    end = words.index(
        "--to"
    )  # the words between are the name asked for, and what is said where it is missing
    assert words[0] == "caddy" and words[at].startswith("${") and words[end + 1] == "pages:8000"
    return [
        *words[:at],
        f"https://{NAME}:{port}",
        "--to",
        "127.0.0.1:9",
        *words[end + 2 :],
        "--internal-certs",
    ]


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The port of a running door."""
    if not shutil.which("caddy"):
        if os.environ.get("CI"):
            pytest.fail("no Caddy; CI installs one")
        pytest.skip("no Caddy on this machine")
    folder, port = tmp_path_factory.mktemp("door"), listening(0)
    environment = os.environ | {
        "HOME": str(folder),
        "XDG_DATA_HOME": str(folder),
        "XDG_CONFIG_HOME": str(folder),
    }
    with (folder / "log").open("wb") as log:
        caddy = subprocess.Popen(command(port), env=environment, stdout=log, stderr=log)
    try:
        for _ in range(200):
            if any(spoken(port, NEW)):
                break
            assert caddy.poll() is None, (folder / "log").read_text()
            time.sleep(0.1)
        yield port
    finally:
        caddy.terminate()
        caddy.wait(20)


def spoken(port: int, versions: tuple[ssl.TLSVersion, ...]) -> list[str]:
    """Which of these versions are spoken there, each asked for alone, this machine's own rules set aside."""
    found = []
    for version in versions:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE  # whose it is, is not asked here
        context.set_ciphers("ALL:@SECLEVEL=0")
        context.minimum_version = context.maximum_version = version
        try:
            with (
                socket.create_connection(("127.0.0.1", port), 20) as plain,
                context.wrap_socket(plain, server_hostname=NAME) as line,
            ):
                found.append(str(line.version()))
        except OSError as refused:
            found += [] if "alert" in str(refused).casefold() or "refused" in str(refused) else [str(refused)]
    return found


def test_the_door_speaks_new_versions_of_tls_alone(door: int) -> None:
    assert spoken(door, OLD) == []
    assert spoken(door, NEW) == ["TLSv1.2", "TLSv1.3"]


def test_old_versions_are_heard_where_they_are_spoken(tmp_path: Path) -> None:
    """Else silence of the door would prove nothing: this machine might refuse them itself."""
    certificate, key = certificate_for(tmp_path / "tls", [NAME], now_utc())
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version, context.maximum_version = OLD
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer() -> None:
            for _ in OLD:
                with server.accept()[0] as plain, context.wrap_socket(plain, server_side=True) as line:
                    line.recv(1)

        answering = Thread(target=answer)
        answering.start()
        assert spoken(server.getsockname()[1], OLD) == ["TLSv1", "TLSv1.1"]
        answering.join()
