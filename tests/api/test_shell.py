"""The front end's files and the health check."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from tests.conftest import Shop
from webapp.api import shell


@pytest.fixture
def built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A front end as the build leaves it."""
    folder = tmp_path / "dist"
    (folder / "assets").mkdir(parents=True)
    for name, text in (("index.html", "<!doctype html>"), ("sw.js", "// worker"), ("assets/app-1f.js", "// app")):
        (folder / name).write_text(text)
        (folder / f"{name}.gz").write_bytes(gzip.compress(text.encode()))
    (tmp_path / "secret").write_text("no")
    monkeypatch.setattr(shell, "front_end_folder", lambda: folder)
    return folder


def test_files_come_compressed_with_their_own_type(shop: Shop, built: Path) -> None:
    answer = shop.app.test_client().get("/assets/app-1f.js", headers={"Accept-Encoding": "gzip"})
    assert gzip.decompress(answer.data) == b"// app"
    assert answer.headers["Content-Encoding"] == "gzip" and "javascript" in answer.content_type
    assert "immutable" in answer.headers["Cache-Control"]
    plain = shop.app.test_client().get("/assets/app-1f.js")
    assert plain.data == b"// app" and "Content-Encoding" not in plain.headers


@pytest.mark.parametrize("path", ["/", "/sw.js"])
def test_the_page_and_the_worker_are_asked_for_anew(shop: Shop, built: Path, path: str) -> None:
    """Row 20 of the known sync failures: a worker kept by a cache strands the phone on an old app."""
    assert shop.app.test_client().get(path).headers["Cache-Control"] == "no-cache"


def test_nothing_outside_the_front_end_is_served(shop: Shop, built: Path) -> None:
    client = shop.app.test_client()
    for path in ("/../secret", "/%2e%2e/secret", "/assets/../../secret", "//etc/passwd"):
        assert client.get(path, headers={"Accept-Encoding": "gzip"}).status_code in (404, 308)


def test_health(shop: Shop) -> None:
    answer = shop.app.test_client().get("/healthz")
    assert (answer.status_code, answer.get_json()) == (200, {"status": "ok"})


def test_a_snapshot_travels_compressed(shop: Shop) -> None:
    answer = shop.app.test_client().get("/api/v1/sync/snapshot", headers=shop.headers() | {"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == "gzip"
    assert b'"definitions"' in gzip.decompress(answer.data)
