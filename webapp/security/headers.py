"""Headers on every answer. The front end is served from here alone and loads nothing from elsewhere.

No Strict-Transport-Security: with an own certificate authority a browser that has not installed it yet
could then never get past the warning to fetch it.
"""

from __future__ import annotations

from flask import Flask, Response, request

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}


def add_headers(response: Response) -> Response:
    """Set what the view has not set itself; answers of the API are never kept by a cache."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.path.startswith("/api/"):
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def init_app(app: Flask) -> None:
    """Put the headers on every answer, errors included."""
    app.after_request(add_headers)
