"""Who may call what. Everything is closed unless its view says otherwise.

A view is marked with `@open_to_all`, `@device_required` or `@owner_required`, under its route's decorator.
The gate runs before every request; a view without a mark is closed to everybody, so that a forgotten mark
shows in the first test and never as a hole.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, TypeVar
from urllib.parse import urlsplit

from flask import Flask, current_app, g, request

from webapp.config import current
from webapp.security.devices import authenticate
from webapp.security.refusals import CrossSite, NotSignedIn, NotTheOwner, Undeclared

Access = Literal["open", "device", "owner"]
View = TypeVar("View", bound=Callable[..., Any])

_MARK = "_wayround_access"
_READS = ("GET", "HEAD", "OPTIONS")
# Made by a library, so it cannot carry a mark: it describes the API and holds nothing of the shop.
_OPEN_BY_NAME = frozenset({"api-docs.openapi_json"})


def _mark(view: View, access: Access) -> View:
    setattr(view, _MARK, access)
    return view


def open_to_all(view: View) -> View:
    """Anybody who reaches the server may call this view."""
    return _mark(view, "open")


def device_required(view: View) -> View:
    """Only a device of the shop may call this view."""
    return _mark(view, "device")


def owner_required(view: View) -> View:
    """Only a device on which the owner has signed in may call this view."""
    return _mark(view, "owner")


def access_of(app: Flask, endpoint: str, method: str) -> Access | None:
    """What the view behind an endpoint declares for a method; None when it declares nothing."""
    if endpoint in _OPEN_BY_NAME:
        return "open"
    view = app.view_functions[endpoint]
    of_class = getattr(view, "view_class", None)
    if of_class is not None:
        handler = getattr(of_class, method.lower(), None)
        handler = getattr(of_class, "get", None) if handler is None and method == "HEAD" else handler
        return getattr(handler, _MARK, None) or getattr(of_class, _MARK, None)
    return getattr(view, _MARK, None)


def gate() -> None:
    """Before every request: who is it, may they, and does it come from our own pages?"""
    g.device = None
    if request.endpoint is None:
        return  # no such path or method: the router answers, and there is nothing to guard
    access = access_of(current_app, request.endpoint, request.method)
    if access != "open" or request.path.startswith("/api/"):
        g.device = authenticate(request)
    _refuse_other_sites()
    if access == "open":
        return
    if g.device is None:
        raise NotSignedIn
    if access is None:
        raise Undeclared
    if access == "owner" and not g.device.owner:
        raise NotTheOwner


def _refuse_other_sites() -> None:
    """A page of another site must not write through a visitor's cookie, nor sign a visitor in.

    Browsers say where a request comes from by Sec-Fetch-Site, older ones by Origin; what sends neither is no
    browser. A bearer token is never sent by a browser on its own, so scripts that bring one are let through.
    """
    if request.method in _READS or (g.device is not None and not g.device.by_cookie):
        return
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        if site not in ("same-origin", "none"):
            raise CrossSite
        return
    origin = request.headers.get("Origin")
    own = {request.host, urlsplit(current().address).netloc}  # a proxy may pass on another Host than it was asked
    if origin is not None and urlsplit(origin).netloc not in own - {""}:
        raise CrossSite


def init_app(app: Flask) -> None:
    """Close the app."""
    app.before_request(gate)
