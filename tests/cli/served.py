"""`wayround serve` or `demo` as a process of its own."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import requests

from webapp.paths import TREE

START_SECONDS = 30.0


class Served:
    """A running server and what it has printed."""

    def __init__(
        self, folder: Path | None, *options: str, command: str = "serve", out: Path | None = None, **environ: str
    ) -> None:
        self.folder = folder or Path()
        self.out = out or self.folder.parent / f"{self.folder.name}-{time.monotonic_ns()}.out"
        named = ["--data", str(folder)] if folder else []
        args = [sys.executable, "-m", "webapp.cli", command, *named, *options]
        variables = {k: v for k, v in os.environ.items() if not k.startswith("WAYROUND_")} | environ
        with self.out.open("wb") as told:
            self.process = subprocess.Popen(args, cwd=TREE, env=variables, stdout=told, stderr=subprocess.STDOUT)

    def wait(self, seconds: float = START_SECONDS) -> Served:
        """Until it takes connections."""
        end = time.monotonic() + seconds
        while "Ctrl-C stops it." not in self.told():
            assert self.process.poll() is None and time.monotonic() < end, self.told()
            time.sleep(0.05)
        return self

    def told(self) -> str:
        return self.out.read_text()

    @property
    def base(self) -> str:
        """The address printed for this machine."""
        found = re.search(r"on this machine: (\S+)/", self.told())
        assert found, self.told()
        return found.group(1)

    @property
    def authority(self) -> str:
        return str(self.folder / "certificates" / "ca.crt")

    def get(self, path: str) -> requests.Response:
        """GET, trusting the shop's authority alone."""
        return requests.get(self.base + path, verify=self.authority, timeout=10)

    def stop(self, number: int = signal.SIGTERM) -> int:
        self.process.send_signal(number)
        return self.process.wait(60)
