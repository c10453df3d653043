"""The morning the product exists for: the round of the mill on a phone, with the server really stopped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import Server
from tests.browser.shop_in_server import ANN, BEN, furnish, join_by_hand, name_oneself, record

pytestmark = pytest.mark.browser


def wait_text(page: Any, text: str) -> None:
    page.get_by_text(text).first.wait_for()


def answer_until_stop_check(page: Any) -> int:
    """Press on through the checks until one that stops the machine; how many were answered before it."""
    for answered in range(12):
        if page.get_by_text("Stop check:").count():
            return answered
        reading = page.get_by_label("Reading")
        if reading.count():
            reading.fill("8")
        page.locator(".forward").click()
    raise AssertionError("the start-up round has no stop check")


def test_a_morning_without_the_server(server: Server, device: Callable[..., Any]) -> None:
    ids = furnish(server)
    server.start()
    phone = device()
    page = join_by_hand(server, phone, "Mill phone", ANN)
    other = join_by_hand(server, device(), "Office phone", BEN)
    before = len(record(server))

    server.stop()
    page.reload()
    wait_text(page, "No signal")
    page.get_by_role("link", name="Start the round: Mill 1").click()
    answer_until_stop_check(page)
    page.get_by_role("button", name="Not ok", exact=True).click()
    page.get_by_label("What is wrong").fill("Guide of the way-oil line is cracked")
    tag = page.get_by_label("Tag Mill 1 at once")
    if not tag.is_checked():
        tag.check()
    page.get_by_role("button", name="Keep, and end the round here").click()
    page.get_by_role("button", name="Finish").click()
    wait_text(page, "It is in the record.")  # the summary says "must not start" before anything is kept
    page.get_by_role("status").filter(has_text="Mill 1 must not start").wait_for()

    page.close()
    page = phone.new_page()  # a new tab while the server is down
    page.goto(f"{server.base}/")
    name_oneself(page, ANN)
    wait_text(page, "tagged out")
    wait_text(page, "kept on this phone")
    assert len(record(server)) == before, "nothing can have reached a server that is not there"

    server.start()
    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")  # the phone is taken out again
    page.get_by_text("kept on this phone").first.wait_for(state="detached", timeout=60_000)
    made = record(server)[before:]
    assert [entry["kind"] for entry in made][:3] == ["round.done", "finding.opened", "tag.on"]
    assert {entry["by"] for entry in made} == {ids["ann"]}
    assert made[0]["body"]["outcome"] == "not fit"

    other.reload()
    name_oneself(other, BEN)
    wait_text(other, "tagged out")
    wait_text(other, "Guide of the way-oil line is cracked")
    assert "every link of the chain holds" in server.run("verify")
    assert server.run("refold", "--check")
