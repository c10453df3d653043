"""The shop's own certificate authority, so that phones reach the server by https without anybody else.

The authority (ten years) is made once and installed on each phone; the server's certificate (397 days) is
made from it at start whenever it would soon be over or the machine's names and addresses have changed. Name
constraints keep the authority to local names and private addresses: whoever stole its key could not pose as a
site on the internet.
"""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import ifaddr
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LASTS = timedelta(days=3652)
SERVER_LASTS = timedelta(days=397)
RENEWED_BEFORE = timedelta(days=30)
_LOCAL_NAMES = ("localhost", "local", "lan", "home.arpa", "internal")
_LOCAL_NETWORKS = (
    "127.0.0.0/8",
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "100.64.0.0/10",
    "fc00::/7",
    "fe80::/10",
    "::1/128",
)


@dataclass(frozen=True)
class Files:
    """Where the certificates of a data folder lie."""

    folder: Path

    @property
    def authority(self) -> Path:
        return self.folder / "ca.crt"

    @property
    def authority_key(self) -> Path:
        return self.folder / "ca.key"

    @property
    def server(self) -> Path:
        """The server's certificate, followed by the authority's."""
        return self.folder / "server.crt"

    @property
    def server_key(self) -> Path:
        return self.folder / "server.key"


@dataclass(frozen=True)
class Ensured:
    """What `ensure` found or did. `uncovered`: names the authority was not made for, so left out."""

    files: Files
    renewed: bool
    uncovered: tuple[str, ...]


def files_in(data: Path) -> Files:
    """The certificate files of a data folder."""
    return Files(data / "certificates")


def own_names() -> list[str]:
    """What this machine is reached by: localhost, its host name, its .local name, its IPv4 addresses."""
    host = socket.gethostname().split(".")[0].lower()
    addresses = {str(ip.ip) for adapter in ifaddr.get_adapters() for ip in adapter.ips if ip.is_IPv4}
    names = ["localhost", host, f"{host}.local", "127.0.0.1", *sorted(addresses)]
    return list(dict.fromkeys(name for name in names if name))


def ensure(data: Path, names: Iterable[str], now: datetime | None = None) -> Ensured:
    """Make the authority and the server's certificate where they are missing, over, or for other names."""
    now = now or datetime.now(UTC)
    files = files_in(data)
    wanted = tuple(dict.fromkeys(name.lower() for name in names))
    files.folder.mkdir(parents=True, exist_ok=True)
    if not _authority_is_good(files, now):
        _make_authority(files, wanted, now)
    authority = load(files.authority)
    covered = tuple(name for name in wanted if _covers(authority, name))
    renewed = not _server_is_good(files, authority, covered, now)
    if renewed:
        _make_server(files, authority, covered, now)
    return Ensured(files, renewed, tuple(name for name in wanted if name not in covered))


def load(path: Path) -> x509.Certificate:
    """The first certificate of a PEM file. Raises ValueError when it holds none."""
    return x509.load_pem_x509_certificate(path.read_bytes())


def names_of(certificate: x509.Certificate) -> tuple[str, ...]:
    """The names and addresses that a server's certificate is for."""
    names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return tuple(str(name.value) for name in names)


def _make_authority(files: Files, names: Iterable[str], now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    host = socket.gethostname().split(".")[0]
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Wayround on {host}, {now:%Y-%m-%d}"[:64])])
    constraints = x509.NameConstraints(permitted_subtrees=_permitted(names), excluded_subtrees=None)
    certificate = (
        _builder(subject, subject, key.public_key(), now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(constraints, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(files.authority_key, _pem_of(key), secret=True)
    _write(files.authority, certificate.public_bytes(serialization.Encoding.PEM))


def _make_server(files: Files, authority: x509.Certificate, names: Iterable[str], now: datetime) -> None:
    signer = serialization.load_pem_private_key(files.authority_key.read_bytes(), password=None)
    if not isinstance(signer, ec.EllipticCurvePrivateKey):
        raise ValueError(f"{files.authority_key} holds no elliptic curve key")
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Wayround")])
    lasts = min(SERVER_LASTS, authority.not_valid_after_utc - now)
    certificate = (
        _builder(subject, authority.subject, key.public_key(), now, lasts)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False)
        .sign(signer, hashes.SHA256())
    )
    chain = certificate.public_bytes(serialization.Encoding.PEM) + files.authority.read_bytes()
    _write(files.server_key, _pem_of(key), secret=True)
    _write(files.server, chain)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, lasts: timedelta
) -> x509.CertificateBuilder:
    """A day of grace backwards: a phone's clock may be a little slow."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + lasts - timedelta(days=1))
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _permitted(names: Iterable[str]) -> list[x509.GeneralName]:
    """Local names and networks, and of this machine's own names those that lie outside them."""
    local: list[x509.GeneralName] = [x509.DNSName(name) for name in _LOCAL_NAMES]
    local += [x509.IPAddress(ipaddress.ip_network(network)) for network in _LOCAL_NETWORKS]
    for name in names:
        general = _general(name)
        if _inside(general, local):
            continue
        if isinstance(general, x509.IPAddress):
            general = x509.IPAddress(ipaddress.ip_network(name))
        local.append(general)
    return local


def _covers(authority: x509.Certificate, name: str) -> bool:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    return _inside(_general(name), constraints.permitted_subtrees or [])


def _inside(general: x509.GeneralName, permitted: Iterable[x509.GeneralName]) -> bool:
    for subtree in permitted:
        if isinstance(general, x509.DNSName) and isinstance(subtree, x509.DNSName):
            if general.value == subtree.value or general.value.endswith("." + subtree.value):
                return True
        elif (
            isinstance(general, x509.IPAddress)
            and isinstance(subtree, x509.IPAddress)
            and general.value in subtree.value
        ):
            return True
    return False


def _authority_is_good(files: Files, now: datetime) -> bool:
    """A damaged authority is left alone (it may be on every phone): loading it then says what is wrong."""
    if not (files.authority.exists() and files.authority_key.exists()):
        return False
    return load(files.authority).not_valid_after_utc > now


def _server_is_good(files: Files, authority: x509.Certificate, names: tuple[str, ...], now: datetime) -> bool:
    if not (files.server.exists() and files.server_key.exists()):
        return False
    try:
        certificate = load(files.server)
        certificate.verify_directly_issued_by(authority)
        key = serialization.load_pem_private_key(files.server_key.read_bytes(), password=None)
    except Exception:  # a damaged file, of whatever kind, is simply made anew
        return False
    over = certificate.not_valid_after_utc - RENEWED_BEFORE <= now or certificate.not_valid_before_utc > now
    same_key = key.public_key() == certificate.public_key()
    return same_key and not over and set(names_of(certificate)) == set(names)


def _pem_of(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, content: bytes, *, secret: bool = False) -> None:
    """Whole or not at all; a key is never readable by others, not even for a moment."""
    beside = path.with_name(path.name + ".new")
    beside.unlink(missing_ok=True)
    mode = 0o600 if secret else 0o644
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
