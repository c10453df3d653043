"""Which Wayround this is."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def own_version() -> str:
    """The installed version; a checkout that was never installed has none."""
    try:
        return version("wayround")
    except PackageNotFoundError:
        return "not installed"
