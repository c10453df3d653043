"""What phones of every released version hold unsent is opened by this one, and arrives."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Works
from tests.browser.outbox_dump import FOLDER, app_version, ids_in, plant
from tests.browser.shop_in_server import ANN, enrol, go, name_oneself, open_as, record, wait_sent

FILES = sorted(FOLDER.glob("*.json"))


def test_this_version_has_its_file() -> None:
    assert f"{app_version()}.json" in [path.name for path in FILES], "run python -m tests.browser.outbox_dump"


@pytest.mark.browser
@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_an_outbox_of_an_earlier_version_is_opened_and_sent(
    works: Works, device: Callable[..., Any], path: Path
) -> None:
    server = works.server
    looking = device()
    other = enrol(server, looking)
    names = ids_in(open_as(server, looking, ANN), works.ids, other)
    context = device()
    names["device"] = enrol(server, context, "Old phone")
    before = len(record(server))
    page = context.new_page()
    page.goto(f"{server.base}/healthz")  # the app's own address without the app
    text = path.read_text(encoding="utf-8")
    plant(page, text, names)
    for name, id_ in names.items():
        text = text.replace(f"@{name}@", id_)
    stores = json.loads(text)["stores"]
    held = [row["entry"] for _, row in stores["outbox"]["rows"]]
    assert len(held) >= 5 and stores["photos"]["rows"] and stores["tray"]["rows"] and stores["drafts"]["rows"]

    page.goto(f"{server.base}/#/today")
    name_oneself(page, ANN)
    wait_sent(page)
    made = record(server)[before:]
    assert [{key: entry[key] for key in held[0]} for entry in made] == held
    photo = stores["photos"]["rows"][0][0]
    assert context.request.get(f"{server.base}/api/v1/photos/{photo}").ok

    refused = stores["tray"]["rows"][0][1]["entry"]
    go(page, "phone")
    page.get_by_role("button", name="Send it again").click()
    page.get_by_text("None. Whatever the server refuses is kept here").wait_for()
    wait_sent(page)
    assert record(server)[-1]["id"] == refused["id"]
    assert page.get_by_text("Entries are missing.").count() == 0, "every number of the old phone has arrived"
    go(page, f"round/{names['mill']}/{names['checklist']}")
    page.get_by_text(" of 8").wait_for()
