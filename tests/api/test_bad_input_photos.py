"""Photos that are none, or are not what their name says: refused by name, and nothing is kept of them."""

from __future__ import annotations

import hashlib
import io
import struct
import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageOps, ImageStat

from tests.api.intact import unchanged
from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.sync.photos import LARGEST_BYTES


def picture_in(format_: str, mode: str = "RGB", **options: Any) -> bytes:
    out = io.BytesIO()
    Image.new(mode, (48, 32), 90).save(out, format_, **options)
    return out.getvalue()


def oriented() -> bytes:
    """A JPEG whose metadata turns it and says where it was taken."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    return picture_in("JPEG", exif=exif.tobytes())


def png_that_says(width: int, height: int) -> bytes:
    """A PNG (ISO/IEC 15948) with the right check sums and hardly any data, whatever its size claims."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")


def put(shop: Shop, data: bytes, name: str | None = None) -> Any:
    name = hashlib.sha256(data).hexdigest() if name is None else name
    client = shop.app.test_client()
    return client.put(f"/api/v1/photos/{name}", data=data, content_type="image/jpeg", headers=shop.headers())


def kept(shop: Shop) -> list[Path]:
    return [path for path in (shop.app.config["WAYROUND"].data / "photos").rglob("*") if path.is_file()]


NO_PHOTO: dict[str, bytes] = {
    "nothing": b"",
    "a text": b"this is no picture",
    "a page": b"<html><body>Sign in to the guest network</body></html>",
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
    "a program": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n",
    "a JPEG cut short": picture_in("JPEG")[:200],
    "a JPEG's first bytes": b"\xff\xd8\xff\xe0",
    "a PNG cut short": picture_in("PNG")[:60],
    "a PNG of a thousand megapixels": png_that_says(32_000, 32_000),
    "a PNG of ninety megapixels": png_that_says(10_000, 9_000),
    "a PNG of no width": png_that_says(0, 10),
    "a GIF": picture_in("GIF", "P"),
    "a TIFF": picture_in("TIFF"),
    "an icon": picture_in("ICO"),
    "a bitmap": picture_in("BMP"),
}


@pytest.mark.parametrize("name", NO_PHOTO)
def test_a_photo_that_is_no_image(shop: Shop, name: str) -> None:
    with unchanged(shop.app):
        answer = put(shop, NO_PHOTO[name])
    assert_problem(answer, 422, "photo")
    assert kept(shop) == []
    assert_problem(shop.get(f"/photos/{hashlib.sha256(NO_PHOTO[name]).hexdigest()}"), 404, "sha256")


def test_bytes_that_are_not_what_the_name_says_never_stand_under_it(shop: Shop) -> None:
    good, other = picture_in("JPEG"), oriented()
    name = hashlib.sha256(good).hexdigest()
    assert_problem(put(shop, other, name), 422, "sha256")
    assert kept(shop) == []
    assert put(shop, good).status_code == 204
    first = shop.get(f"/photos/{name}").data
    assert_problem(put(shop, other, name), 422, "sha256")
    assert_problem(put(shop, good[:-1], name), 422, "sha256")
    assert shop.get(f"/photos/{name}").data == first


@pytest.mark.parametrize(
    "name", ["x", "A" * 64, "a" * 63, "a" * 65, "g" * 64, "%2e%2e", "a" * 64 + "%0a", "\ud0b0" * 64]
)
def test_names_that_are_no_hash(shop: Shop, name: str) -> None:
    assert_problem(put(shop, picture_in("JPEG"), name), 422, "sha256")
    assert kept(shop) == []


def test_a_photo_beyond_the_limit_is_413(shop: Shop) -> None:
    assert_problem(put(shop, b"\xff\xd8" + b"\0" * LARGEST_BYTES), 413, "photo")
    assert_problem(put(shop, b"\0" * (17 * 2**20)), 413)
    assert kept(shop) == []


@pytest.mark.parametrize(
    "data",
    [oriented(), picture_in("PNG", "RGBA"), picture_in("PNG", "P"), picture_in("PNG", "L"), picture_in("PNG", "I;16"), picture_in("WEBP"), picture_in("JPEG", "CMYK")],
    ids=["turned", "see-through", "palette", "grey", "deep grey", "webp", "print colours"],
)  # fmt: skip
def test_what_cameras_make_is_kept_without_its_place(shop: Shop, data: bytes) -> None:
    """Else the refusals above would prove nothing."""
    assert put(shop, data).status_code == put(shop, data).status_code == 204
    image = Image.open(io.BytesIO(shop.get(f"/photos/{hashlib.sha256(data).hexdigest()}").data))
    assert image.format == "JPEG" and not image.getexif()
    assert len(kept(shop)) == 1


def test_a_good_picture_with_odd_metadata_is_kept(shop: Shop) -> None:
    """Every value of the bytes that say what the place is noted as; a phone's picture is more than its metadata."""
    whole = oriented()
    start = whole.index(b"Exif\0\0")
    for offset in (47, 49):
        for value in range(0, 256, 1 if offset == 49 else 5):
            data = bytearray(whole)
            data[start + offset] = value
            assert put(shop, bytes(data)).status_code == 204, (offset, value)


@pytest.mark.parametrize("value", range(1, 9))
def test_pictures_are_kept_upright(shop: Shop, value: int) -> None:
    """Pillow's own way of turning, which reads the same TIFF 6.0 tag, is the reference."""
    exif = Image.Exif()
    exif[274] = value
    plain = Image.linear_gradient("L").resize((64, 40)).rotate(90, expand=True).convert("RGB")
    plain.paste((255, 0, 0), (0, 0, 16, 8))
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=95, exif=exif.tobytes())
    assert put(shop, out.getvalue()).status_code == 204
    name = hashlib.sha256(out.getvalue()).hexdigest()
    made = Image.open(io.BytesIO(shop.get(f"/photos/{name}").data))
    wanted = ImageOps.exif_transpose(Image.open(out))
    assert made.size == wanted.size
    assert max(ImageStat.Stat(ImageChops.difference(made, wanted)).rms) < 12


WHOLES = [
    oriented(),
    picture_in("PNG", "RGBA"),
    picture_in("PNG", "P"),
    picture_in("WEBP"),
    picture_in("JPEG", "CMYK", progressive=True),
]


@given(
    whole=st.sampled_from(WHOLES),
    flips=st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 255)), max_size=12),
    cut=st.none() | st.integers(0, 4000),
    more=st.binary(max_size=20),
)
@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
def test_damaged_pictures_are_kept_or_refused(
    shop: Shop, whole: bytes, flips: list[tuple[int, int]], cut: int | None, more: bytes
) -> None:
    data = bytearray(whole)
    for place, value in flips:
        data[place % len(data)] = value
    sent = bytes(data[:cut]) + more
    answer = put(shop, sent)
    if answer.status_code == 204:
        Image.open(io.BytesIO(shop.get(f"/photos/{hashlib.sha256(sent).hexdigest()}").data)).load()
    else:
        assert_problem(answer, 422, "photo")
