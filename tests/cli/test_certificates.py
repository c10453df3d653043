"""The shop's own certificate authority, checked with TLS itself and with openssl's rules (RFC 5280)."""

from __future__ import annotations

import socket
import ssl
import stat
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec

from webapp.security import certificates
from webapp.security.certificates import Files, ensure, load, names_of, own_names

NAMES = ["localhost", "shop-pc", "shop-pc.local", "127.0.0.1", "192.168.7.20"]
NOW = datetime(2027, 3, 2, 12, tzinfo=UTC)


def test_the_first_call_makes_everything_and_the_second_nothing(tmp_path: Path) -> None:
    made = ensure(tmp_path, NAMES, NOW)
    before = {path.name: path.read_bytes() for path in made.files.folder.iterdir()}
    assert made.renewed and set(before) == {"ca.crt", "ca.key", "server.crt", "server.key"}
    again = ensure(tmp_path, NAMES, NOW)
    assert not again.renewed
    assert {path.name: path.read_bytes() for path in again.files.folder.iterdir()} == before


def test_the_authority_is_an_elliptic_one_of_ten_years(tmp_path: Path) -> None:
    authority = load(ensure(tmp_path, NAMES, NOW).files.authority)
    key = authority.public_key()
    assert isinstance(key, ec.EllipticCurvePublicKey) and key.curve.name == "secp256r1"
    assert timedelta(days=3650) < authority.not_valid_after_utc - NOW < timedelta(days=3660)
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical and basic.value.ca and basic.value.path_length == 0
    assert authority.extensions.get_extension_for_class(x509.NameConstraints).critical


def test_the_server_certificate_is_for_the_names_and_short_enough_for_phones(tmp_path: Path) -> None:
    # CA/Browser Forum and Apple's trust policy: at most 398 days.
    server = load(ensure(tmp_path, NAMES, NOW).files.server)
    assert set(names_of(server)) == set(NAMES)
    assert server.not_valid_after_utc - server.not_valid_before_utc == timedelta(days=397)


@pytest.mark.parametrize(("days", "renewed"), [(365, False), (367, True), (500, True)])
def test_it_is_renewed_within_thirty_days_of_its_end(tmp_path: Path, days: int, renewed: bool) -> None:
    first = ensure(tmp_path, NAMES, NOW)
    authority = first.files.authority.read_bytes()
    assert ensure(tmp_path, NAMES, NOW + timedelta(days=days)).renewed is renewed
    assert first.files.authority.read_bytes() == authority


def test_it_is_renewed_when_the_addresses_change(tmp_path: Path) -> None:
    ensure(tmp_path, NAMES, NOW)
    moved = [*NAMES[:-1], "192.168.7.99"]
    made = ensure(tmp_path, moved, NOW)
    assert made.renewed and set(names_of(load(made.files.server))) == set(moved)


@pytest.mark.parametrize("name", ["server.crt", "server.key"])
def test_a_damaged_or_missing_server_file_is_made_anew(tmp_path: Path, name: str) -> None:
    files = ensure(tmp_path, NAMES, NOW).files
    (files.folder / name).write_bytes(b"-----BEGIN NONSENSE-----")
    assert ensure(tmp_path, NAMES, NOW).renewed
    (files.folder / name).unlink()
    assert ensure(tmp_path, NAMES, NOW).renewed


def test_a_damaged_authority_is_not_replaced_in_silence(tmp_path: Path) -> None:
    files = ensure(tmp_path, NAMES, NOW).files
    files.authority.write_bytes(b"nonsense")
    with pytest.raises(ValueError, match=r".+"):
        ensure(tmp_path, NAMES, NOW)


def test_an_authority_that_is_over_is_made_anew(tmp_path: Path) -> None:
    first = load(ensure(tmp_path, NAMES, NOW).files.authority).serial_number
    later = NOW + timedelta(days=3700)
    made = ensure(tmp_path, NAMES, later)
    assert load(made.files.authority).serial_number != first
    assert load(made.files.server).not_valid_after_utc > later


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="Windows has no file modes")
def test_keys_are_for_this_user_only(tmp_path: Path) -> None:
    files = ensure(tmp_path, NAMES, NOW).files
    for key in (files.authority_key, files.server_key):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600


def test_names_outside_the_authority_are_left_out_and_told(tmp_path: Path) -> None:
    ensure(tmp_path, NAMES, NOW)
    made = ensure(tmp_path, [*NAMES, "shop.example", "203.0.113.9"], NOW)
    assert made.uncovered == ("shop.example", "203.0.113.9")
    assert set(names_of(load(made.files.server))) == set(NAMES)


def test_an_authority_made_for_a_public_name_covers_it(tmp_path: Path) -> None:
    made = ensure(tmp_path, [*NAMES, "shop.example", "203.0.113.9"], NOW)
    assert made.uncovered == ()
    assert {"shop.example", "203.0.113.9"} <= set(names_of(load(made.files.server)))


@contextmanager
def answering(files: Files) -> Iterator[int]:
    """A TLS server with the certificate, for one handshake at a time; its port."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(files.server, files.server_key)
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def serve() -> None:
            while True:
                try:
                    raw, _ = listener.accept()
                except OSError:
                    return
                try:
                    context.wrap_socket(raw, server_side=True).close()
                except (OSError, ssl.SSLError):
                    raw.close()

        threading.Thread(target=serve, daemon=True).start()
        yield listener.getsockname()[1]


def shake_hands(authority: Path, port: int, name: str) -> None:
    """A handshake that trusts this authority alone, by the strict rules. Raises when it does not hold."""
    context = ssl.create_default_context(cafile=str(authority))
    context.verify_flags |= ssl.VERIFY_X509_STRICT
    with socket.create_connection(("127.0.0.1", port)) as raw, context.wrap_socket(raw, server_hostname=name):
        pass


def test_a_client_that_trusts_the_authority_trusts_every_name(tmp_path: Path) -> None:
    files = ensure(tmp_path, NAMES).files
    with answering(files) as port:
        for name in NAMES:
            shake_hands(files.authority, port, name)
        with pytest.raises(ssl.SSLCertVerificationError):
            shake_hands(files.authority, port, "other.local")
        with pytest.raises(ssl.SSLCertVerificationError):
            shake_hands(ensure(tmp_path / "other", NAMES).files.authority, port, "localhost")


def test_with_a_stolen_key_the_authority_cannot_pose_as_an_outside_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = ensure(tmp_path, NAMES).files
    monkeypatch.setattr(certificates, "_covers", lambda *_: True)
    ensure(tmp_path, [*NAMES, "bank.example"])
    assert "bank.example" in names_of(load(files.server))
    with answering(files) as port, pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        shake_hands(files.authority, port, "bank.example")


def test_this_machine_has_names_and_addresses() -> None:
    names = own_names()
    assert names[0] == "localhost" and "127.0.0.1" in names
    assert f"{socket.gethostname().split('.')[0].lower()}.local" in names
