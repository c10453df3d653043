"""A new version of the app comes while people work. Numbers in the names are rows of the known sync failures."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.builds import marked_build
from tests.browser.conftest import Works
from tests.browser.shop_in_server import ANN, BEN, enrol, go, note, open_as, record, unsent, wait_sent
from webapp.paths import front_end_folder

pytestmark = pytest.mark.browser

LOOK_FOR_UPDATE = "() => document.dispatchEvent(new Event('visibilitychange'))"


def build_of(page: Any) -> str | None:
    """Which build the page is of; None: the one that is installed."""
    mark: str | None = page.evaluate("() => document.documentElement.dataset.build ?? null")
    return mark


def loads_of(page: Any) -> list[str]:
    """How often the page is loaded from now on: a list that grows."""
    loads: list[str] = []
    page.on("load", lambda loaded: loads.append(loaded.url))
    return loads


def wait_build(page: Any, mark: int) -> None:
    page.wait_for_function("mark => document.documentElement.dataset.build === mark", arg=str(mark))
    page.locator(".banner").wait_for(state="detached")


def test_20_two_new_versions_in_turn_reload_each_tab_once_and_lose_nothing(
    works: Works, device: Callable[..., Any], tmp_path: Path
) -> None:
    server = works.server
    context = device()
    enrol(server, context)
    walking, writing = open_as(server, context, ANN), open_as(server, context, BEN)
    before = len(record(server))
    server.stop()
    note(writing, "made before the update")
    walking.get_by_role("link", name="Start the round: Band saw").click()
    for n in range(1, 4):
        walking.get_by_text(f"{n} of 8").wait_for()
        walking.locator(".forward").click(position={"x": 20 if n % 2 else 120, "y": 24})
    walking.get_by_text("4 of 8").wait_for()
    go(writing, "log/part")
    writing.get_by_label("Machine").select_option(label="Band saw")
    writing.get_by_label("Part", exact=True).select_option(label="Blade")
    writing.get_by_label("Note").fill("teeth stripped on")
    context.route("**/api/v1/sync/**", lambda route: route.abort())
    try:
        for mark in (2, 3):
            server.start(marked_build(front_end_folder(), tmp_path / str(mark), mark))
            loads = [loads_of(page) for page in (walking, writing)]
            walking.evaluate(LOOK_FOR_UPDATE)
            walking.get_by_text("A new version is ready").wait_for()
            assert loads == [[], []], "nothing is swapped under somebody's hands"
            third = open_as(server, context, ANN, "shop")
            third.get_by_role(
                "heading", name="Fairlead Works"
            ).wait_for()  # a part of the app that the server no longer has
            third.close()
            walking.get_by_role("button", name="Use it now").click()
            wait_build(walking, mark)
            wait_build(writing, mark)
            walking.get_by_text("4 of 8").wait_for()
            assert writing.get_by_label("Note").input_value() == "teeth stripped on"
            assert writing.get_by_label("Part", exact=True).locator("option:checked").inner_text() == "Blade"
            assert [row["body"]["text"] for row in unsent(writing)] == ["made before the update"]
            walking.wait_for_load_state("networkidle")
            writing.wait_for_load_state("networkidle")
            assert [len(one) for one in loads] == [1, 1]
            server.stop()
    finally:
        context.unroute("**/api/v1/sync/**")
    server.start()
    writing.get_by_label("Worn out").check()
    writing.get_by_role("button", name="Keep the change").click()
    writing.get_by_text("In the record").wait_for()
    wait_sent(writing)
    made = record(server)[before:]
    assert [entry["kind"] for entry in made] == ["note.made", "part.changed"]
    assert made[1]["body"]["note"] == "teeth stripped on"
    go(writing, "log/part")
    assert writing.get_by_label("Note").input_value() == "", "what was kept is not typed in again"


def test_19_an_app_too_old_stops_keeps_its_outbox_and_sends_it_once_it_is_new(
    works: Works, device: Callable[..., Any], tmp_path: Path
) -> None:
    server = works.server
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    before = len(record(server))
    server.stop()
    note(page, "of the old app")
    pushes: list[Any] = []
    page.on("request", lambda request: pushes.append(request) if request.url.endswith("/sync/push") else None)
    server.start(marked_build(front_end_folder(), tmp_path / "new", 4, app_number=2), oldest_app=2)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    page.get_by_text("This app is too old for the server").first.wait_for()
    assert [row["body"]["text"] for row in unsent(page)] == ["of the old app"]
    assert len(record(server)) == before
    asked = len(pushes)
    page.get_by_text("A new version is ready").wait_for()  # the app looked for it by itself
    page.wait_for_timeout(3_000)  # longer than the first wait after a failure: no timer asks again
    assert len(pushes) == asked
    page.get_by_role("button", name="Use it now").click()
    wait_build(page, 4)
    wait_sent(page)
    assert [entry["body"].get("text") for entry in record(server)[before:]] == ["of the old app"]
    server.stop()


def test_20_the_worker_and_the_page_are_asked_for_anew_and_hashed_files_are_not(
    works: Works, device: Callable[..., Any]
) -> None:
    ask = device().request.get
    for path in ("/", "/index.html", "/sw.js", "/manifest.webmanifest"):
        assert ask(works.server.base + path).headers["cache-control"] == "no-cache"
    asset = next((front_end_folder() / "assets").glob("app-*.js")).name
    assert "immutable" in ask(f"{works.server.base}/assets/{asset}").headers["cache-control"]
