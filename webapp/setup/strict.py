"""The base of every definition's schema."""

from __future__ import annotations

from marshmallow import RAISE, Schema


class Strict(Schema):
    """Definitions refuse fields they do not know: a misspelt one would be lost in silence."""

    class Meta:
        unknown = RAISE
