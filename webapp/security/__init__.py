"""Who may come in, and how they are known: sign-in, devices, codes, headers, certificates."""

from __future__ import annotations

from flask import Flask

from webapp.security import access, headers


def init_app(app: Flask) -> None:
    """Close the app by default and put the headers on every answer."""
    headers.init_app(app)
    access.init_app(app)
