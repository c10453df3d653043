"""Who may come in, and how they are known: sign-in, devices, codes, headers, certificates."""

from __future__ import annotations

from flask import Flask, Response, abort, send_file

from webapp.config import current
from webapp.security import access, headers
from webapp.security.certificates import files_in


def init_app(app: Flask) -> None:
    """Close the app by default, put the headers on every answer, and hand out the authority's certificate."""
    headers.init_app(app)
    access.init_app(app)
    app.add_url_rule("/ca.crt", view_func=authority)


@access.open_to_all
def authority() -> Response:
    """The certificate of the shop's own authority, to be installed on a phone. It holds no secret."""
    path = files_in(current().data).authority
    if current().plain or not path.exists():
        abort(404, "This server has no certificate authority of its own.")
    return send_file(path, mimetype="application/x-x509-ca-cert", download_name="wayround-ca.crt", max_age=0)
