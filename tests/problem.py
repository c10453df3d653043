"""One assertion for every failing path: an RFC 9457 problem document that names field and mend, and leaks nothing."""

from __future__ import annotations

from typing import Any

LEAKS = ("Traceback", "sqlalchemy", "sqlite3", "psycopg", "marshmallow", 'File "', "werkzeug")


def assert_problem(response: Any, status: int, field: str | None = None) -> dict[str, Any]:
    """The response is a problem document of this status (and about this field)."""
    assert response.status_code == status, (response.status_code, response.get_data(as_text=True))
    assert response.content_type.startswith("application/problem+json")
    body = response.get_json()
    assert body["status"] == status and body["title"] and body["type"] and body["detail"]
    assert body["errors"], body
    for error in body["errors"]:
        assert error["field"] and error["problem"] and error["mend"], error
    if field is not None:
        assert field in [error["field"] for error in body["errors"]], body["errors"]
    assert not [leak for leak in LEAKS if leak in response.get_data(as_text=True)]
    return dict(body)


def assert_refused(result: dict[str, Any], field: str) -> None:
    """A push result that refuses its entry and names the field and the mend."""
    assert result["outcome"] == "refused", result
    assert "position" not in result
    errors = result["problem"]["errors"]
    assert field in [error["field"] for error in errors], errors
    assert all(error["problem"] and error["mend"] for error in errors)
