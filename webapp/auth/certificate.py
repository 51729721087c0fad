"""A certificate that the server makes for itself, for the workshop's own network."""

from __future__ import annotations

import ipaddress
import os
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

DAYS = 820
"""Browsers refuse certificates for more than 825 days (from memory)."""


def own_addresses() -> list[str]:
    """Addresses under which this machine is reached in its own network. No packet is sent."""
    found = {"127.0.0.1"}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1 of RFC 5737: only tells which address would be used
            found.add(probe.getsockname()[0])
        except OSError:
            pass
    return sorted(found)


def made_certificate(folder: Path) -> tuple[Path, Path]:
    """Paths of certificate and key in ``folder``, made where there are none or they end within a month."""
    certificate, key = folder / "castweek-certificate.pem", folder / "castweek-key.pem"
    if not (certificate.is_file() and key.is_file() and ends(certificate) > datetime.now(UTC) + timedelta(days=30)):
        folder.mkdir(parents=True, exist_ok=True)
        _make(certificate, key)
    return certificate, key


def fingerprint(certificate: Path) -> str:
    """SHA-256 of the certificate as browsers show it."""
    digest = _read(certificate).fingerprint(hashes.SHA256()).hex().upper()
    return ":".join(digest[i : i + 2] for i in range(0, len(digest), 2))


def _read(certificate: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(certificate.read_bytes())


def ends(certificate: Path) -> datetime:
    """In UTC. Raises ``ValueError`` for what is no certificate."""
    return _read(certificate).not_valid_after_utc


def _make(certificate: Path, key_file: Path) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Castweek in this workshop")])
    host = socket.gethostname().split(".")[0].lower()
    names: list[x509.GeneralName] = [x509.DNSName(n) for n in ("localhost", host, f"{host}.local")]
    names += [x509.IPAddress(ipaddress.ip_address(address)) for address in own_addresses()]
    now = datetime.now(UTC)
    signed = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=DAYS))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    with open(os.open(key_file, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600), "wb") as file:
        file.write(key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
