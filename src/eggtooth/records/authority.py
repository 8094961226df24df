"""A certificate authority of this house alone, so that phones can speak https to the room's machine.

The authority's certificate may sign for nothing but servers; a phone takes it once. Server certificates last
397 days (the longest browsers take from an authority of their own list; kept to here as well) and are made
anew when they near their end or the machine's names changed. X.509 as in RFC 5280.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from eggtooth.records.whole import put_whole

AUTHORITY_DAYS, SERVER_DAYS, RENEW_DAYS = 3650, 397, 30


def certificate_for(folder: Path, names: Sequence[str], now: datetime) -> tuple[Path, Path]:
    """Certificate and key files of a server with these names and addresses, made where needed."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    issuer, issuer_key = _authority(folder, now)
    certificate, key = folder / "server.crt", folder / "server.key"
    if not _good(certificate, names, now, issuer):
        private = ec.generate_private_key(ec.SECP256R1())
        made = _server(names, private.public_key(), issuer, issuer_key, now)
        put_whole(key, _pem(private), 0o600)
        put_whole(certificate, made.public_bytes(serialization.Encoding.PEM), 0o644)
    return certificate, key


def authority_certificate(folder: Path) -> bytes | None:
    """The certificate a phone takes once, as DER, or `None` while there is none."""
    path = folder / "authority.crt"
    if not path.is_file():
        return None
    return x509.load_pem_x509_certificate(path.read_bytes()).public_bytes(serialization.Encoding.DER)


def _authority(folder: Path, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    certificate, key = folder / "authority.crt", folder / "authority.key"
    if certificate.is_file() and key.is_file():
        issuer = x509.load_pem_x509_certificate(certificate.read_bytes())
        private = serialization.load_pem_private_key(key.read_bytes(), None)
        assert isinstance(private, ec.EllipticCurvePrivateKey)
        return issuer, private
    private = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Eggtooth of this house")])
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    made = (
        _started(name, name, private.public_key(), now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .sign(private, hashes.SHA256())
    )
    put_whole(key, _pem(private), 0o600)
    put_whole(certificate, made.public_bytes(serialization.Encoding.PEM), 0o644)
    return made, private


def _started(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=days))
    )


def _server(
    names: Sequence[str],
    key: ec.EllipticCurvePublicKey,
    issuer: x509.Certificate,
    issuer_key: ec.EllipticCurvePrivateKey,
    now: datetime,
) -> x509.Certificate:
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:64])])
    usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    return (
        _started(subject, issuer.subject, key, now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_name(n) for n in names]), critical=False)
        .add_extension(usage, critical=False)
        .sign(issuer_key, hashes.SHA256())
    )


def _name(text: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(text))
    except ValueError:
        return x509.DNSName(text)


def _good(path: Path, names: Sequence[str], now: datetime, issuer: x509.Certificate) -> bool:
    """Whether a certificate is of this authority, for just these names, and far from its end."""
    if not path.is_file():
        return False
    found = x509.load_pem_x509_certificate(path.read_bytes())
    said = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    ends = found.not_valid_after_utc - now
    return (
        list(said) == [_name(n) for n in names]
        and ends > timedelta(days=RENEW_DAYS)
        and found.issuer == issuer.subject
    )


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def now_utc() -> datetime:
    """This moment, for whoever makes certificates."""
    return datetime.now(UTC)
