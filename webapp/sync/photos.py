"""Photos: kept once by the hash of what was sent, re-encoded so that no place or owner stays in the file."""

from __future__ import annotations

import hashlib
import io
from typing import Any
from uuid import uuid4

import fsspec
from PIL import Image

from webapp.records.faults import Fault, Refused

LARGEST_BYTES = 12 * 2**20
LONGEST_SIDE = 2048
QUALITY = 82
_TOO_MANY_PIXELS = 80_000_000
_FORMATS = ("JPEG", "PNG", "WEBP")
"""Pillow knows dozens of formats, some of which have it start other programs; a camera makes these."""
_ORIENTATION = 274
# TIFF 6.0, tag 274: where row 0 and column 0 of the data lie, and the turn that sets it right.
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


class PhotoStore:
    """A folder, or any store fsspec knows, of JPEG files named by the SHA-256 of the bytes first sent."""

    def __init__(self, url: str) -> None:
        self._fs, self._root = fsspec.core.url_to_fs(url)

    def _path(self, sha256: str) -> str:
        return f"{self._root}/{sha256[:2]}/{sha256}.jpg"

    def has(self, sha256: str) -> bool:
        """Whether the photo is kept."""
        return bool(self._fs.exists(self._path(sha256)))

    def get(self, sha256: str) -> bytes | None:
        """The photo's JPEG bytes, or None."""
        return self._fs.cat_file(self._path(sha256)) if self.has(sha256) else None

    def put(self, sha256: str, sent: bytes) -> None:
        """Keep a photo. Raises Refused when the bytes are none, are too many, or are not those named."""
        if len(sent) > LARGEST_BYTES:
            raise Refused(Fault("photo", f"is {len(sent)} bytes long", f"send at most {LARGEST_BYTES} bytes"))
        if hashlib.sha256(sent).hexdigest() != sha256:
            raise Refused(Fault("sha256", "is not the hash of what came", "send the whole file again"))
        if self.has(sha256):
            return
        self._write(self._path(sha256), _clean(sent))

    def _write(self, path: str, data: bytes) -> None:
        # Written aside and moved, so that a cut connection leaves no half photo under the right name.
        self._fs.makedirs(path.rsplit("/", 1)[0], exist_ok=True)
        aside = f"{path}.{uuid4().hex}.part"  # two phones may bring the same photo at once
        self._fs.pipe_file(aside, data)
        self._fs.mv(aside, path)


def _clean(sent: bytes) -> bytes:
    """Re-encode as JPEG, upright, without metadata."""
    try:
        image: Any = Image.open(io.BytesIO(sent), formats=_FORMATS)
        if image.width * image.height > _TOO_MANY_PIXELS:
            raise Refused(Fault("photo", "has too many pixels", "send at most 80 megapixels"))
        upright = _turned(image).convert("RGB")
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        out = io.BytesIO()
        upright.save(out, "JPEG", quality=QUALITY)
        return out.getvalue()
    except Refused:
        raise
    except Exception:  # over damaged bytes a decoder raises what it will: struct.error, TypeError, …
        raise Refused(Fault("photo", "is no picture that can be read", "send a JPEG, PNG or WebP file")) from None


def _turned(image: Any) -> Any:
    """The picture upright. Not by Pillow's own way: that writes the metadata anew, and gives up over what some
    phones put into it."""
    turn = _TURNS.get(image.getexif().get(_ORIENTATION))
    return image if turn is None else image.transpose(turn)
