"""Message encryption for web push (RFC 8291) over encrypted content (RFC 8188), and its sender's proof (RFC 8292).

Held to the examples of RFC 8291, section 5, and RFC 8188, section 3.1, and to an independent implementation.
"""

from __future__ import annotations

import base64
import json
import os
from pathlib import Path

from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

RECORD = 4096
KEY_FILE = "vapid.key"
_TAG, _DELIMITER = 16, 1


def b64(data: bytes) -> str:
    """base64url without padding, as these standards write it."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def unb64(text: str) -> bytes:
    """The bytes of base64url, padded or not. Raises ValueError."""
    return base64.b64decode(text.rstrip("=") + "=" * (-len(text.rstrip("=")) % 4), altchars=b"-_", validate=True)


def public_bytes(key: ec.EllipticCurvePublicKey) -> bytes:
    """A public key as its 65 bytes, uncompressed."""
    return key.public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)


def _hkdf(ikm: bytes, salt: bytes, info: bytes, length: int) -> bytes:
    return HKDF(algorithm=hashes.SHA256(), length=length, salt=salt, info=info).derive(ikm)


def encrypt_content(plain: bytes, ikm: bytes, salt: bytes, key_id: bytes) -> bytes:
    """One record of `aes128gcm` (RFC 8188, 2). Raises ValueError for what does not fit into it."""
    if len(plain) > RECORD - _TAG - _DELIMITER:
        raise ValueError(f"{len(plain)} bytes do not fit into a record")
    key = _hkdf(ikm, salt, b"Content-Encoding: aes128gcm\0", 16)
    nonce = _hkdf(ikm, salt, b"Content-Encoding: nonce\0", 12)
    head = salt + RECORD.to_bytes(4) + len(key_id).to_bytes(1) + key_id
    return head + AESGCM(key).encrypt(nonce, plain + b"\x02", None)


def encrypt(
    plain: bytes, p256dh: bytes, auth: bytes, *, own: ec.EllipticCurvePrivateKey | None = None,
    salt: bytes | None = None,
) -> bytes:  # fmt: skip
    """A message for one subscription (RFC 8291, 3 and 4). `own` and `salt` are new ones but for the RFC's example."""
    own = own or ec.generate_private_key(ec.SECP256R1())
    theirs = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), p256dh)
    mine = public_bytes(own.public_key())
    secret = own.exchange(ec.ECDH(), theirs)
    ikm = _hkdf(secret, auth, b"WebPush: info\0" + p256dh + mine, 32)
    return encrypt_content(plain, ikm, salt or os.urandom(16), mine)


def check_keys(p256dh: str, auth: str) -> None:
    """Whether a subscription's keys are keys. Raises ValueError that names the one at fault."""
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unb64(p256dh))
    except ValueError:
        raise ValueError("p256dh") from None
    try:
        good = len(unb64(auth)) == 16
    except ValueError:
        good = False
    if not good:
        raise ValueError("auth")


def server_key(folder: Path) -> ec.EllipticCurvePrivateKey:
    """This server's own key for web push, made when it is first asked for; readable by this user alone."""
    file = folder / KEY_FILE
    if not file.exists():
        made = ec.generate_private_key(ec.SECP256R1()).private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        part = folder / f".{KEY_FILE}.{os.getpid()}"
        part.unlink(missing_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            out.write(made)
        try:
            os.link(part, file)  # of two that make it at once, the first one's stays
        except FileExistsError:
            pass
        except OSError:
            part.replace(file)  # a file system without links
        part.unlink(missing_ok=True)
    key = serialization.load_pem_private_key(file.read_bytes(), None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise ValueError(f"{file} is no key for web push: delete it, and a new one is made")
    return key


def proof(key: ec.EllipticCurvePrivateKey, origin: str, contact: str, until: int) -> str:
    """The `Authorization` header (RFC 8292, 3): a token for one push service, until a Unix time in seconds."""
    claims = {"aud": origin, "exp": until, "sub": contact}
    parts = ({"typ": "JWT", "alg": "ES256"}, claims)
    signed = ".".join(b64(json.dumps(part, separators=(",", ":")).encode()) for part in parts)
    r, s = decode_dss_signature(key.sign(signed.encode(), ec.ECDSA(hashes.SHA256())))
    token = f"{signed}.{b64(r.to_bytes(32) + s.to_bytes(32))}"
    return f"vapid t={token}, k={b64(public_bytes(key.public_key()))}"
