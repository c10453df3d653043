"""Binders made in the background for a browser that asks after them: one at a time, kept for a day."""

from __future__ import annotations

import json
import logging
import threading
import time
from collections.abc import Collection
from contextlib import suppress
from pathlib import Path
from typing import Any

from flask import Flask

from webapp.database import db
from webapp.records.faults import Fault
from webapp.reports.binder import write_binder
from webapp.reports.entries import Span
from webapp.setup.ids import new_id, now_ms

FOLDER = "papers"
KEPT_SECONDS = 24 * 3600
_TELL_EVERY = 0.5

logger = logging.getLogger(__name__)


class Busy(Exception):
    """Another binder is being made; carries its job."""

    def __init__(self, job: dict[str, Any]) -> None:
        super().__init__("a binder is being made")
        self.job = job
        self.fault = Fault("request", "waits: another binder is being made", "ask after that one, then send this again")


class Jobs:
    """The binders of one data folder. One process serves a folder, so one lock holds."""

    def __init__(self, data: Path) -> None:
        self.folder = data / FOLDER
        self.lock = threading.Lock()
        self.running: dict[str, Any] | None = None
        self.thread: threading.Thread | None = None

    def start(self, app: Flask, span: Span, machines: Collection[str]) -> dict[str, Any]:
        """Begin a binder. Returns its job; raises Busy while another is being made."""
        with self.lock:
            if self.running is not None:
                raise Busy(self.running)
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._purge()
            job = {"id": new_id(), "state": "running", "percent": 0, "told": "Begun", "from": span.first.isoformat(),
                   "to": span.last.isoformat(), "pages": None, "entries": None, "chain": None}  # fmt: skip
            self.running = job
            self._keep(job)
        self.thread = threading.Thread(target=self._run, args=(app, dict(job), span, machines), daemon=True)
        self.thread.start()
        return job

    def get(self, id_: str) -> dict[str, Any] | None:
        """How a job stands; None when there is none, or it is older than a day."""
        self._purge()
        try:
            job: dict[str, Any] = json.loads((self.folder / f"{id_}.json").read_text("utf-8"))
        except (OSError, ValueError):
            return None
        running = self.running
        if job["state"] == "running" and (running is None or running["id"] != id_):
            job |= {"state": "failed", "told": "The server was started anew meanwhile. Ask for the binder again."}
        return job

    def file(self, id_: str) -> Path | None:
        """The finished PDF, or None."""
        job = self.get(id_)
        path = self.folder / f"{id_}.pdf"
        return path if job and job["state"] == "done" and path.exists() else None

    def _run(self, app: Flask, job: dict[str, Any], span: Span, machines: Collection[str]) -> None:
        path, last = self.folder / f"{job['id']}.pdf", 0.0

        def progress(percent: int, told: str) -> None:
            nonlocal last
            if time.monotonic() - last > _TELL_EVERY:
                last = time.monotonic()
                self._keep(job | {"percent": percent, "told": told})

        try:
            with app.app_context():
                part = path.with_suffix(".part")
                with part.open("wb") as out:
                    made = write_binder(
                        db.session(), out, span, now_ms(), photo=app.extensions["wayround_photos"].get,
                        machines=machines, progress=progress,
                    )  # fmt: skip
                part.replace(path)
            job |= {"state": "done", "percent": 100, "told": "Done", "pages": made.pages, "entries": made.entries}
            job["chain"] = made.chain
        except Exception:
            # Whatever it was: the job must not seem to run for ever, and the log says what to mend.
            logger.exception("the binder %s was not made", job["id"])
            job |= {"state": "failed", "told": "The binder could not be made; the server's log says why."}
        finally:
            with self.lock:
                self.running = None
            with suppress(OSError):
                self._keep(job)

    def _keep(self, job: dict[str, Any]) -> None:
        path = self.folder / f"{job['id']}.json"
        part = path.with_suffix(".new")
        part.write_text(json.dumps(job), "utf-8")
        part.replace(path)

    def _purge(self) -> None:
        """Throw away what is older than a day."""
        running = self.running
        for path in self.folder.glob("*") if self.folder.exists() else ():
            if running is not None and path.stem == running["id"]:
                continue
            with suppress(OSError):
                if time.time() - path.stat().st_mtime > KEPT_SECONDS:
                    path.unlink()
