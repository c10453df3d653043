"""Web push's encryption against the standards' own examples and an independent implementation."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import http_ece
import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from hypothesis import given
from hypothesis import strategies as st

from tests.reminders.push_service import decrypt, private
from webapp.reminders.channels.encryption import (
    RECORD,
    b64,
    check_keys,
    encrypt,
    encrypt_content,
    proof,
    public_bytes,
    server_key,
    unb64,
)  # fmt: skip

# RFC 8291, section 5 and appendix A: published test keys.
AS_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
AS_PUBLIC = "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"
UA_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
UA_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
SALT, AUTH = "DGv6ra1nlYgDCS1FRnbzlw", "BTBZMqHH6r4Tts7J_aSIgg"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95b"
    "Qpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)
PLAIN = b"When I grow up, I want to be a watermelon"


def test_the_example_of_rfc_8291_comes_out_to_the_byte() -> None:
    own = private(AS_PRIVATE)
    assert b64(public_bytes(own.public_key())) == AS_PUBLIC
    assert b64(public_bytes(private(UA_PRIVATE).public_key())) == UA_PUBLIC
    made = encrypt(PLAIN, unb64(UA_PUBLIC), unb64(AUTH), own=own, salt=unb64(SALT))
    assert b64(made) == BODY and len(made) == 144


def test_our_endpoint_reads_the_example_of_rfc_8291() -> None:
    assert decrypt(unb64(BODY), private(UA_PRIVATE), unb64(AUTH)) == PLAIN


def test_the_example_of_rfc_8188_comes_out_to_the_byte() -> None:
    """RFC 8188, section 3.1: a key of its own and no key id."""
    made = encrypt_content(b"I am the walrus", unb64("yqdlZ-tYemfogSmv7Ws5PQ"), unb64("I1BsxtFttlv3u_Oo94xnmw"), b"")
    assert b64(made) == "I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg"


@given(st.binary(max_size=RECORD - 17))
def test_an_independent_implementation_reads_what_we_write(plain: bytes) -> None:
    key, auth = ec.generate_private_key(ec.SECP256R1()), os.urandom(16)
    made = encrypt(plain, public_bytes(key.public_key()), auth)
    assert http_ece.decrypt(made, private_key=key, auth_secret=auth, version="aes128gcm") == plain
    assert decrypt(made, key, auth) == plain


def test_what_does_not_fit_into_a_record_is_refused() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        encrypt_content(b"x" * (RECORD - 16), os.urandom(16), os.urandom(16), b"")


@pytest.mark.parametrize(("p256dh", "auth", "field"), [
    ("", AUTH, "p256dh"), (UA_PUBLIC[:-4], AUTH, "p256dh"), ("B" + "A" * 86, AUTH, "p256dh"), ("!!", AUTH, "p256dh"),
    (UA_PUBLIC, "", "auth"), (UA_PUBLIC, "AAAA", "auth"), (UA_PUBLIC, "=?", "auth"),
])  # fmt: skip
def test_keys_that_are_none_are_refused_by_name(p256dh: str, auth: str, field: str) -> None:
    with pytest.raises(ValueError, match=field):
        check_keys(p256dh, auth)
    check_keys(UA_PUBLIC, AUTH)


def test_the_proof_says_to_whom_and_until_when_and_is_signed(tmp_path: Path) -> None:
    """RFC 8292, sections 2 and 3: an ES256 token with aud, exp and sub, and the key beside it."""
    key = server_key(tmp_path)
    scheme, _, rest = proof(key, "https://push.example", "mailto:shop@example.com", 1_800_000_000).partition(" ")
    fields = dict(part.split("=", 1) for part in rest.split(", "))
    head, claims, signature = fields["t"].split(".")
    assert scheme == "vapid" and json.loads(unb64(head)) == {"typ": "JWT", "alg": "ES256"}
    told = {"aud": "https://push.example", "exp": 1_800_000_000, "sub": "mailto:shop@example.com"}
    assert json.loads(unb64(claims)) == told
    raw = unb64(signature)
    assert len(raw) == 64
    signed = encode_dss_signature(int.from_bytes(raw[:32]), int.from_bytes(raw[32:]))
    public = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unb64(fields["k"]))
    public.verify(signed, f"{head}.{claims}".encode(), ec.ECDSA(hashes.SHA256()))
    with pytest.raises(InvalidSignature):
        public.verify(signed, f"{head}.{claims}x".encode(), ec.ECDSA(hashes.SHA256()))


def test_the_servers_key_is_made_once_and_read_by_its_user_alone(tmp_path: Path) -> None:
    first, second = server_key(tmp_path), server_key(tmp_path)
    assert public_bytes(first.public_key()) == public_bytes(second.public_key())
    assert [path.name for path in tmp_path.iterdir()] == ["vapid.key"]
    if os.name != "nt":
        assert stat.S_IMODE((tmp_path / "vapid.key").stat().st_mode) == 0o600
