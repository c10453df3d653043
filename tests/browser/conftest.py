"""A real server process that can really be stopped, and phones: Chromium contexts of phone size."""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

import pytest

from webapp.paths import front_end_folder

NEEDS_CHROMIUM = "needs Chromium: apt-get install chromium (or set WAYROUND_TEST_CHROMIUM to its path)"
NEEDS_BUILD = "needs the built front end: pip install . builds it, or npm ci && npm run build in static/"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}


# Servers are born from a process that has the program in memory, where the system can: 0.2 s of work, not 1.7 s.
BIRTHS = multiprocessing.get_context("spawn" if os.name == "nt" else "forkserver")
APIS = ("cards", "definitions", "devices", "feeds", "records", "reminders", "reports", "session", "upkeep")
if os.name != "nt":
    BIRTHS.set_forkserver_preload(["tests.browser.serve_build", *[f"webapp.api.{name}" for name in APIS]])


def free_port() -> int:
    """A free port, below those that systems give to outgoing connections: no browser takes it before a server does."""
    while True:
        port = random.SystemRandom().randrange(11_000, 32_000)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port


def chromium_path() -> str | None:
    """Where Chromium is on this machine."""
    named = os.environ.get("WAYROUND_TEST_CHROMIUM")
    return named or shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


class Server:
    """`wayround serve --plain` as a process of its own, to be stopped and started again at the same address."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.port = free_port()
        self.base = f"http://localhost:{self.port}"
        self.process: BaseProcess | None = None
        self.settings: dict[str, str] = {}

    def run(self, *command: str) -> str:
        """Run a `wayround` command over this server's data; its output."""
        whole = [sys.executable, "-m", "webapp.cli", *command, "--data", str(self.data)]
        return subprocess.run(whole, check=True, capture_output=True, text=True).stdout

    def start(self, front_end: Path | None = None, oldest_app: int = 1) -> None:
        """Start, and wait until it answers; with another build, and the oldest app it takes, when one is given."""
        from tests.browser.serve_build import serve

        command = ["serve", "--plain", "--port", str(self.port), "--data", str(self.data)]
        log = self.data.with_name("server.log")
        self.process = BIRTHS.Process(
            target=serve, args=(log, command, self.settings, front_end, oldest_app), daemon=True
        )
        self.process.start()
        end = time.monotonic() + 90
        while time.monotonic() < end:
            if self.answers():
                return
            if not self.process.is_alive():
                break
            time.sleep(0.1)
        raise AssertionError(f"the server does not start: {log.read_text(errors='replace')[-2000:]}")

    def stop(self, *, hard: bool = True) -> None:
        """Stop it: killed outright, as a power cut would, unless asked to be gentle."""
        if self.process:
            (self.process.kill if hard else self.process.terminate)()
            self.process.join(20)
            assert self.process.exitcode is not None, "the server does not stop"
            self.process = None
        assert not self.answers()

    def answers(self) -> bool:
        """Whether the health check answers."""
        try:
            with urllib.request.urlopen(f"{self.base}/healthz", timeout=2) as answer:
                return bool(answer.status == 200)
        except (urllib.error.URLError, OSError):
            return False


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A headless Chromium."""
    path = chromium_path()
    if path is None:
        pytest.skip(NEEDS_CHROMIUM)
    if not (front_end_folder() / "index.html").exists():
        pytest.skip(NEEDS_BUILD)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-background-networking", "--disable-quic"]
        )
        yield browser
        browser.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A server over an empty data folder, not yet started."""
    one = Server(tmp_path / "shop")
    yield one
    if one.process:
        one.stop()


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """A data folder with a shop of three machines in it, to be copied, and the ids by name."""
    from tests.browser.shop_in_server import furnish

    data = tmp_path_factory.mktemp("furnished") / "shop"
    return data, furnish(Server(data), machines={"saw": "band_saw", "mill": "cnc_mill", "sander": "belt_sander"})


@dataclass
class Works:
    """A running server and the ids of what stands in its shop, by name."""

    server: Server
    ids: dict[str, str]


@pytest.fixture(scope="module")
def module_works(furnished: tuple[Path, dict[str, str]], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Works]:
    """One shop of three machines for all tests of a module."""
    data, ids = furnished
    copy = tmp_path_factory.mktemp("works") / "shop"
    shutil.copytree(data, copy)
    one = Works(Server(copy), ids)
    yield one
    if one.server.process:
        one.server.stop()


@pytest.fixture
def works(module_works: Works, chromium: Any) -> Works:
    """The module's shop, with its server running whatever the test before did to it."""
    if not module_works.server.process:
        module_works.server.start()
    return module_works


@pytest.fixture
def device(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Makes devices: each a browser context of its own, whose pages fail the test when they throw."""
    contexts: list[Any] = []
    thrown: list[str] = []

    def make(size: dict[str, int] = PHONE, scheme: str = "light") -> Any:
        context = chromium.new_context(viewport=size, color_scheme=scheme, has_touch=size is PHONE)
        context.set_default_timeout(15_000)
        context.on("weberror", lambda error: thrown.append(str(error.error)))
        contexts.append(context)
        return context

    yield make
    for context in contexts:
        context.close()
    assert thrown == []


@pytest.fixture(scope="module")
def cabinet_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Works]:
    """A shop with a sander and a blast cabinet."""
    from tests.browser.shop_in_server import furnish

    server = Server(tmp_path_factory.mktemp("air") / "shop")
    one = Works(server, furnish(server, machines={"sander": "belt_sander", "cabinet": "blast_cabinet"}))
    yield one
    if server.process:
        server.stop()


@pytest.fixture
def air(cabinet_shop: Works, chromium: Any) -> Works:
    """The same, started again where the test before stopped it."""
    if not cabinet_shop.server.process:
        cabinet_shop.server.start()
    return cabinet_shop
