"""Fetching a document from a machine's agent: http or https alone, no redirect, bounded in time and size."""

from __future__ import annotations

import time
from http.client import HTTPException, HTTPResponse
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, ProxyHandler, Request, build_opener

from webapp.feeds.faults import FeedFault

SECONDS = 5.0
"""The longest wait for an answer to begin, and between two pieces of it."""
WHOLE_SECONDS = 15.0
LARGEST = 4 * 1024 * 1024
_PIECE = 64 * 1024


class _NoRedirect(HTTPRedirectHandler):
    """An agent answers itself; a redirect could lead anywhere."""

    def redirect_request(self, *_: Any) -> None:
        return None


# Agents stand in the shop's own network: no proxy.
_OPENER = build_opener(ProxyHandler({}), _NoRedirect())


def check_url(url: str) -> str:
    """The address without a slash at its end. Raises ValueError for anything but plain http or https."""
    try:
        parts = urlsplit(url)
        named = parts.hostname and parts.port != 0
    except ValueError:
        named = None
    if not named or parts.scheme not in ("http", "https"):
        raise ValueError("is no http or https address")
    if parts.username is not None or parts.query or parts.fragment or any(c.isspace() or c < " " for c in url):
        raise ValueError("has a name, password, query or blank in it")
    return url.rstrip("/")


def fetch(url: str) -> bytes:
    """The body of the answer, an error document's too. Raises FeedFault when there is none within the limits."""
    host = urlsplit(url).netloc
    request = Request(url, headers={"Accept": "text/xml, application/xml", "User-Agent": "Wayround"})  # noqa: S310
    ends = time.monotonic() + WHOLE_SECONDS
    try:
        with _OPENER.open(request, timeout=SECONDS) as answer:
            return _read(answer, ends)
    except HTTPError as error:
        with error:
            # Newer agents send their error documents with 4xx: what is wrong stands in them.
            if 400 <= error.code < 500 and "xml" in error.headers.get("Content-Type", ""):
                return _read(error, ends)
            raise FeedFault(f"{host} answered {error.code}.", "Check the address of the agent.") from None
    except (URLError, OSError, HTTPException) as error:
        why = getattr(error, "reason", error) or type(error).__name__
        raise FeedFault(f"{host} does not answer ({why}).", "See that the machine is on and in the network.") from None


def _read(answer: HTTPResponse | HTTPError, ends: float) -> bytes:
    pieces, size = [], 0
    while piece := answer.read1(_PIECE):
        size += len(piece)
        pieces.append(piece)
        if size > LARGEST:
            raise FeedFault("The answer is larger than 4 MiB.", "Give the address of one device of the agent.")
        if time.monotonic() > ends:
            raise FeedFault("The answer takes longer than 15 seconds.", "See to the network of the machine.")
    return b"".join(pieces)
