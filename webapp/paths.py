"""Where the parts that are no Python lie: beside the code in a wheel, at the top of the tree in a checkout."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).parent
TREE = PACKAGE.parent


def _first(*candidates: Path) -> Path:
    return next((path for path in candidates if path.exists()), candidates[-1])


def migrations_folder() -> Path:
    """The Alembic folder."""
    return _first(PACKAGE / "_migrations", TREE / "migrations")


def front_end_folder() -> Path:
    """The built front end (`index.html`, `sw.js`, …)."""
    return _first(PACKAGE / "_static", TREE / "static" / "dist")
