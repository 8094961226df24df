"""The pages served to the house: its own authority, https by a strict client, people by command."""

from __future__ import annotations

import io
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from eggtooth.cli import main
from eggtooth.records import people
from eggtooth.records.authority import authority_certificate, certificate_for

NOW = datetime(2026, 1, 1, tzinfo=UTC)
NAMES = ["192.0.2.7", "room", "room.local", "localhost", "127.0.0.1"]


def served(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_a_server_certificate_stays_until_its_names_or_its_time_change(tmp_path: Path) -> None:
    certificate, key = certificate_for(tmp_path, NAMES, NOW)
    first = served(certificate)
    certificate_for(tmp_path, NAMES, NOW + timedelta(days=300))
    assert served(certificate) == first
    certificate_for(tmp_path, NAMES, NOW + timedelta(days=380))
    second = served(certificate)
    assert second != first and second.not_valid_after_utc > first.not_valid_after_utc
    certificate_for(tmp_path, [*NAMES, "snakes.local"], NOW + timedelta(days=381))
    assert served(certificate) != second
    assert key.stat().st_mode & 0o77 == 0 and (tmp_path / "authority.key").stat().st_mode & 0o77 == 0


def test_the_authority_signs_servers_and_nothing_below_it(tmp_path: Path) -> None:
    assert authority_certificate(tmp_path) is None
    certificate, _ = certificate_for(tmp_path, NAMES, NOW)
    taken = authority_certificate(tmp_path)
    assert taken is not None
    authority = x509.load_der_x509_certificate(taken)
    served(certificate).verify_directly_issued_by(authority)
    limits = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert limits.critical and limits.value.ca and limits.value.path_length == 0
    assert not served(certificate).extensions.get_extension_for_class(x509.BasicConstraints).value.ca


@pytest.fixture
def house(fresh_store: Path) -> Iterator[int]:
    """`eggtooth serve --house` with one owner; its port."""
    people.add("Owner", people.Role.OWNER, "a long enough pass phrase")
    command = [sys.executable, "-m", "eggtooth", "serve", "--house", "--port", "0"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    line = process.stdout.readline()
    yield int(line.split("https://")[1].split("/")[0].rsplit(":", 1)[1])
    process.terminate()
    process.wait()
    process.stdout.close()


def test_a_strict_client_speaks_https_and_meets_the_sign_in_page(house: int, fresh_store: Path) -> None:
    trust = ssl.create_default_context(cafile=str(fresh_store.with_suffix(".tls") / "authority.crt"))
    trust.minimum_version = ssl.TLSVersion.TLSv1_2
    with urllib.request.urlopen(f"https://127.0.0.1:{house}/records", context=trust) as answer:
        assert answer.url.endswith("/sign-in") and b"Password" in answer.read()
        assert "max-age" in answer.headers["Strict-Transport-Security"]
    with pytest.raises(OSError, match="certificate verify failed"):
        urllib.request.urlopen(f"https://127.0.0.1:{house}/", context=ssl.create_default_context())


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion:DeprecationWarning")
def test_old_versions_of_tls_are_refused(house: int, fresh_store: Path) -> None:
    trust = ssl.create_default_context(cafile=str(fresh_store.with_suffix(".tls") / "authority.crt"))
    trust.set_ciphers("ALL:@SECLEVEL=0")  # else this machine's own rules would refuse, not the server
    trust.minimum_version, trust.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    with pytest.raises(OSError, match="alert protocol version"):
        urllib.request.urlopen(f"https://127.0.0.1:{house}/", context=trust)


def test_the_house_is_not_served_while_nobody_could_sign_in(
    fresh_store: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("EGGTOOTH_SIGN_IN", "EGGTOOTH_HOSTS", "EGGTOOTH_HTTPS"):
        monkeypatch.setenv(name, "")
    assert main(["serve", "--house", "--port", "0"]) == 1
    assert "eggtooth people add NAME --role owner" in capsys.readouterr().err


def test_people_by_command(
    fresh_store: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("short\n"))
    assert main(["people", "add", "Ada", "--role", "owner"]) == 1
    monkeypatch.setattr(sys, "stdin", io.StringIO("a long enough pass phrase\n"))
    assert main(["people", "add", "Ada", "--role", "owner"]) == 0
    assert main(["people", "add", "Ada"]) == 1
    assert main(["people", "out", "Ada"]) == 1
    assert main(["people", "list"]) == 0
    out = capsys.readouterr()
    assert "Ada  owner" in out.out and "too short" in out.err and "last owner" in out.err
    assert "Ada has a key already" in out.err
