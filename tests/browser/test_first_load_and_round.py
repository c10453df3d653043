"""What the front end promises in figures: the weight of the first load, and the touches of a plain round."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import Works
from tests.browser.shop_in_server import ANN, enrol, name_oneself, open_as, record, wait_sent

pytestmark = pytest.mark.browser

MOST_SCRIPT = 60_000  # bytes as they come over the wire
MOST_TOUCHES = 10

COUNT_TOUCHES = """addEventListener("pointerdown", (event) => {
  if (event.isTrusted) sessionStorage.touches = Number(sessionStorage.touches ?? 0) + 1;
}, true)"""


def test_scripts_until_today_is_shown_weigh_at_most_60_kb(works: Works, device: Callable[..., Any]) -> None:
    phone = device()
    enrol(works.server, phone)
    page = phone.new_page()
    scripts: list[Any] = []
    page.on("requestfinished", lambda request: scripts.append(request) if request.url.endswith(".js") else None)
    page.goto(f"{works.server.base}/#/today")
    name_oneself(page, ANN)
    page.get_by_role("link", name="Start the round: ").wait_for()
    of_the_page = [one for one in scripts if "/sw.js" not in one.url and one.service_worker is None]
    sizes = {one.url.rsplit("/", 1)[1]: one.sizes()["responseBodySize"] for one in of_the_page}
    assert any(name.startswith("app-") for name in sizes) and any(name.startswith("today-") for name in sizes)
    assert all(one.response().header_value("content-encoding") in ("br", "gzip") for one in of_the_page if
               one.sizes()["responseBodySize"] > 1024)  # fmt: skip
    assert 10_000 < sum(sizes.values()) <= MOST_SCRIPT, sizes


def test_a_plain_round_of_eight_checks_takes_at_most_ten_touches(works: Works, device: Callable[..., Any]) -> None:
    phone = device()
    enrol(works.server, phone)
    page = open_as(works.server, phone, ANN)
    before = len(record(works.server))
    page.add_init_script(COUNT_TOUCHES)
    page.evaluate(COUNT_TOUCHES)
    page.get_by_role("link", name="Start the round: Band saw").tap()
    for n in range(1, 9):
        page.get_by_text(f"{n} of 8").wait_for()
        # Not twice on one spot: the second half of a double tap answers nothing.
        page.get_by_role("button", name="OK", exact=True).tap(position={"x": 20 if n % 2 else 120, "y": 24})
    page.get_by_role("button", name="Finish: fit to start").tap()
    page.get_by_text("It is in the record.").wait_for()
    touches = int(page.evaluate("() => Number(sessionStorage.touches)"))
    assert 1 < touches <= MOST_TOUCHES
    wait_sent(page)
    made = record(works.server)[before:]
    assert [entry["kind"] for entry in made] == ["round.done"]
    assert made[0]["machine"] == works.ids["saw"] and made[0]["body"]["outcome"] == "fit"
    assert [check["answer"] for check in made[0]["body"]["checks"]] == ["ok"] * 8
