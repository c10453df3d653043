"""A second build of the front end, made from the first: every hashed file has another name and other bytes."""

from __future__ import annotations

import hashlib
import re
import shutil
from pathlib import Path

HASHED = re.compile(r"-([A-Z0-9]{8})(?=\.(?:js|css)\b)")
UNHASHED = re.compile(r'\{url:"(/[^"]*)",revision:"[0-9a-f]{16}"\}')
APP_NUMBER = re.compile(r'("Wayround-App":String\()\d+\)')
TEXTS = {".js", ".css", ".html", ".webmanifest"}


def marked_build(first: Path, target: Path, mark: int, app_number: int = 1) -> Path:
    """Copy a build to `target` as the one after it would be; its page carries `mark` as `data-build`."""
    numbers = 0

    def renamed(found: re.Match[str]) -> str:
        return "-" + hashlib.sha256(f"{found[1]}{mark}".encode()).hexdigest()[:8].upper()

    shutil.copytree(first, target, ignore=shutil.ignore_patterns("*.br", "*.gz"))
    for path in [path for path in target.rglob("*") if path.suffix in TEXTS]:
        text = HASHED.sub(renamed, path.read_text(encoding="utf-8"))
        if path.name == "index.html":
            text = text.replace("<html ", f'<html data-build="{mark}" ', 1)
        text, count = APP_NUMBER.subn(rf"\g<1>{app_number})", text)
        numbers += count
        path.rename(path.with_name(HASHED.sub(renamed, path.name))).write_text(text, encoding="utf-8")
    assert numbers == 2, "the app or its service worker says its number in another way than is known here"
    _new_revisions(target)
    return target


def _new_revisions(target: Path) -> None:
    """Put the new bytes' hashes in the service worker's list, as the build does."""

    def revised(found: re.Match[str]) -> str:
        digest = hashlib.sha256((target / found[1].lstrip("/")).read_bytes()).hexdigest()[:16]
        return f'{{url:"{found[1]}",revision:"{digest}"}}'

    worker = target / "sw.js"
    text, count = UNHASHED.subn(revised, worker.read_text(encoding="utf-8"))
    assert count >= 2, "the service worker's list has another shape than is known here"
    worker.write_text(text, encoding="utf-8")
