"""What is half filled in survives a reload, such as a new version of the app makes in every tab: photos and the first run too."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest
from PIL import Image

from tests.browser.conftest import Server, Works
from tests.browser.shop_in_server import BEN, enrol, go, keep, one_time_code, open_as, wait_sent

pytestmark = pytest.mark.browser


def picture() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((320, 240), 60).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()


def test_a_photo_in_a_half_filled_form_is_there_after_a_reload(works: Works, device: Callable[..., Any]) -> None:
    context = device()
    enrol(works.server, context)
    page = open_as(works.server, context, BEN)
    go(page, f"finding/{works.ids['saw']}")
    page.get_by_label("What is wrong").fill("Guide bearing is worn")
    chosen = {"name": "bearing.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    page.locator("input[type=file]").set_input_files(chosen)
    page.get_by_text("Photo taken").wait_for()
    held = f"wayround.begun.finding/{works.ids['saw']}//photo"
    page.wait_for_function("key => sessionStorage.getItem(key)", arg=held)
    page.reload()
    page.get_by_text("Photo taken").wait_for()
    assert page.get_by_label("What is wrong").input_value() == "Guide bearing is worn"
    page.get_by_label("No, it can run").check()
    keep(page, "Keep the finding")
    assert page.evaluate("key => sessionStorage.getItem(key)", held) is None
    wait_sent(page)
    go(page, f"finding/{works.ids['saw']}")
    assert page.get_by_text("Photo taken").count() == 0, "the next finding begins without it"


def test_the_first_runs_form_is_there_after_a_reload_without_its_secrets(
    server: Server, device: Callable[..., Any]
) -> None:
    server.start()
    page = device().new_page()
    page.goto(f"{server.base}/#/first?code={one_time_code(server, 'first')}")
    page.get_by_label("Name of the shop").fill("Tenon Works")
    page.get_by_label("Your name").fill("Dora Tenon")
    page.get_by_label("Password", exact=True).fill("four plain words here")
    page.get_by_label("PIN").fill("4821")
    page.reload()
    page.get_by_role("heading", name="Set up your shop").wait_for()
    assert page.get_by_label("Name of the shop").input_value() == "Tenon Works"
    assert page.get_by_label("Your name").input_value() == "Dora Tenon"
    assert (
        page.get_by_label("Password", exact=True).input_value() == "" and page.get_by_label("PIN").input_value() == ""
    )
    assert "four plain words" not in page.evaluate("() => JSON.stringify({ ...sessionStorage, ...localStorage })")
