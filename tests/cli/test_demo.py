"""`wayround demo`: a filled shop, the way in printed, and nothing left behind."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
import requests

from tests.cli.conftest import Run
from tests.cli.served import Served
from tests.conftest import Shop
from webapp.cli.demo import MARK

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


@pytest.fixture
def temporary(tmp_path: Path) -> Path:
    """Where the process puts its throw-away folder."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    return folder


def printed(pattern: str, served: Served) -> str:
    found = re.search(pattern, served.told())
    assert found, served.told()
    return found.group(1)


def test_a_throw_away_demo_is_filled_and_gone_afterwards(tmp_path: Path, temporary: Path) -> None:
    served = Served(None, "--port", "0", "--plain", command="demo", out=tmp_path / "out", TMPDIR=str(temporary))
    try:
        served.wait(120)
        base = printed(r"The invented shop is at (\S+)/", served)
        assert [path.name.startswith("wayround-demo-") for path in temporary.iterdir()] == [True]
        stranger = requests.get(base + "/api/v1/session", timeout=10).json()
        assert stranger["demo"] is True and stranger["first_run"] is False
        browser = requests.Session()
        password = printed(r"owner's password:\s+(\S+)", served)
        owner = browser.post(base + "/api/v1/session/owner", json={"password": password}, timeout=30).json()
        assert owner["owner"] is True and owner["demo"] is True
        snapshot = browser.get(base + "/api/v1/sync/snapshot", timeout=30).json()
        assert len(snapshot["definitions"]["machines"]) >= 5 and len(snapshot["definitions"]["people"]) >= 2
        code = printed(r"/#/join\?code=(\S+)", served)
        body = {"code": code, "device_name": "a phone"}
        assert requests.post(base + "/api/v1/session/join", json=body, timeout=10).status_code == 200
    finally:
        assert served.stop() == 0, served.told()
    assert list(temporary.iterdir()) == []


def test_a_real_shop_is_never_taken_for_a_demo(run: Run, shop: Shop) -> None:
    """Its owner's password would be replaced."""
    folder = shop.app.config["WAYROUND"].data
    refused = run("demo", "--plain", "--port", "0", data=folder)
    assert refused.exit_code == 1 and "no demo" in refused.stderr
    assert not (folder / MARK).exists()


def test_a_demo_that_was_never_finished_is_said(run: Run, shop: Shop) -> None:
    folder = shop.app.config["WAYROUND"].data
    (folder / MARK).write_text("An invented shop is being made here.\n", encoding="utf-8")
    refused = run("demo", "--plain", "--port", "0", data=folder)
    assert refused.exit_code == 1 and "never finished" in refused.stderr
