"""Binders over HTTP: begun, asked after, fetched; one at a time; gone after a day; the owner's alone."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Shop
from tests.problem import assert_problem
from tests.reports.conftest import read, words
from webapp.database import writing
from webapp.reports import jobs
from webapp.reports.jobs import KEPT_SECONDS
from webapp.security.devices import let_owner_in
from webapp.setup.ids import new_id


@pytest.fixture
def owned(shop: Shop) -> Iterator[Shop]:
    """The shop with the owner signed in, and a note in its record."""
    with shop.app.app_context(), writing() as session:
        let_owner_in(session, shop.device, shop.owner)
    shop.push(shop.note("What the binder says"))
    yield shop
    finish(shop)


def finish(shop: Shop) -> None:
    thread = shop.app.extensions["wayround_papers"].thread
    if thread is not None:
        thread.join(30)
        assert not thread.is_alive()


def begin(shop: Shop, **body: Any) -> Any:
    return shop.app.test_client().post("/api/v1/reports/binder", json=body, headers=shop.headers())


def folder(shop: Shop) -> Path:
    return Path(shop.app.config["WAYROUND"].data) / "papers"


def test_a_binder_is_begun_asked_after_and_fetched(owned: Shop) -> None:
    begun = begin(owned)
    assert begun.status_code == 201
    job = begun.get_json()
    assert job["state"] == "running" and job["from"] <= job["to"]
    finish(owned)
    done = owned.get(f"/reports/binder/{job['id']}").get_json()
    assert (done["state"], done["percent"]) == ("done", 100)
    answer = owned.get(f"/reports/binder/{job['id']}/file")
    assert answer.content_type == "application/pdf" and "attachment" in answer.headers["Content-Disposition"]
    reader = read(answer.data)
    assert "What the binder says" in words(reader) and done["chain"] in words(reader)
    assert len([label for label in reader.page_labels if label.isdecimal()]) == done["pages"]


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[threading.Event, threading.Event]]:
    """Binders that begin, say that they are half done, and wait until they may go on."""
    inside, go_on, real = threading.Event(), threading.Event(), jobs.write_binder

    def slow(*args: Any, progress: Any, **more: Any) -> Any:
        progress(50, "Entries of 2026-03-02")
        inside.set()
        assert go_on.wait(30)
        return real(*args, progress=progress, **more)

    monkeypatch.setattr(jobs, "write_binder", slow)
    yield inside, go_on
    go_on.set()


def test_one_is_made_at_a_time_and_says_how_far_it_is(owned: Shop, held: Any) -> None:
    inside, go_on = held
    first = begin(owned).get_json()
    assert inside.wait(30)
    assert_problem(begin(owned), 409, "request")
    half = owned.get(f"/reports/binder/{first['id']}").get_json()
    assert (half["state"], half["percent"], half["told"]) == ("running", 50, "Entries of 2026-03-02")
    assert_problem(owned.get(f"/reports/binder/{first['id']}/file"), 404, "id")
    go_on.set()
    finish(owned)
    assert owned.get(f"/reports/binder/{first['id']}/file").status_code == 200
    assert begin(owned).status_code == 201


def test_a_binder_that_breaks_says_so_and_frees_the_next(owned: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: Any, **more: Any) -> None:
        raise OSError("the disk is full")

    with monkeypatch.context() as patched:
        patched.setattr(jobs, "write_binder", broken)
        job = begin(owned).get_json()
        finish(owned)
    failed = owned.get(f"/reports/binder/{job['id']}").get_json()
    assert failed["state"] == "failed" and "log" in failed["told"] and "disk" not in failed["told"]
    assert begin(owned).status_code == 201


def test_what_a_stopped_server_left_is_failed_not_running(owned: Shop) -> None:
    job = begin(owned).get_json()
    finish(owned)
    path = folder(owned) / f"{job['id']}.json"
    path.write_text(path.read_text("utf-8").replace('"done"', '"running"'), "utf-8")
    assert owned.get(f"/reports/binder/{job['id']}").get_json()["state"] == "failed"


def test_a_binder_is_kept_for_a_day(owned: Shop) -> None:
    job = begin(owned).get_json()
    finish(owned)
    old = time.time() - KEPT_SECONDS - 60
    for path in folder(owned).iterdir():
        os.utime(path, (old, old))
    assert_problem(owned.get(f"/reports/binder/{job['id']}"), 404, "id")
    assert not list(folder(owned).iterdir())


@pytest.mark.parametrize(
    ("body", "field"),
    [({"from": "2026-03-02", "to": "2026-03-01"}, "to"), ({"from": "soon"}, "from"), ({"to": 7}, "to"),
     ({"machines": ["x"]}, "machines.0"), ({"machines": ["019a8e40-0000-7000-8000-000000000000"]}, "machines"),
     ({"form": "x"}, "form")],
)  # fmt: skip
def test_bad_input_names_field_and_mend_before_anything_begins(body: dict[str, Any], field: str, owned: Shop) -> None:
    assert_problem(begin(owned, **body), 422, field)
    assert not folder(owned).exists()


def test_there_is_no_binder_of_another_name(owned: Shop) -> None:
    for id_ in (new_id(), "x", "..%2f..%2fwayround"):
        assert_problem(owned.get(f"/reports/binder/{id_}"), 404)


def test_papers_of_the_whole_record_are_the_owners(shop: Shop) -> None:
    for path in ("/reports/entries", "/reports/record", "/reports/setup/machines", f"/reports/binder/{new_id()}"):
        assert_problem(shop.get(path), 403)
    assert_problem(begin(shop), 403)


def test_the_record_over_http_is_what_the_command_writes(owned: Shop) -> None:
    answer = owned.get("/reports/record")
    assert answer.content_type == "application/jsonl"
    assert b"What the binder says" in answer.data and answer.data.count(b"\n") == len(answer.data.splitlines())
