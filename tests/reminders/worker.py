"""One server process of several over a database, for `test_processes.py`: the real scheduler in its own threads, with its
waits cut short.

    python -m tests.reminders.worker DATA DATABASE BOOK

`BOOK` gets a line each time the lease is taken or renewed (`lease MS PID`, by the time that was judged by), for every job
that is run (`run JOB PID`) and every message that the push service takes (`push DELIVERY PID`).
"""

from __future__ import annotations

import os
import sys
import threading
import time
from pathlib import Path
from typing import Any

from webapp import create_app, reminders
from webapp.config import Settings
from webapp.reminders import delivery, jobs, plan, roll, scheduler
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.scheduler import Keeper
from webapp.setup.ids import now_ms

LEASE_MS = 6000


def main() -> None:
    """Serve until killed."""
    data, database, book = sys.argv[1:]
    file = os.open(book, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def write(*words: object) -> None:
        os.write(file, f"{' '.join(map(str, words))} {os.getpid()}\n".encode())

    def take(_target: Any, id_: str, _message: dict[str, Any]) -> Outcome:
        write("push", id_)
        time.sleep(0.05)  # the network: a kill may fall here
        return Outcome("sent")

    judged = threading.local()

    def now() -> int:
        judged.at = now_ms()
        return int(judged.at)

    def hold(holder: str) -> bool:
        held = hold_lease(holder)
        if held:
            write("lease", judged.at)
        return held

    def run(self: Keeper, name: str) -> None:
        write("run", name.replace(" ", "-"))
        noted(self, name)

    hold_lease, roll.now_ms, scheduler.hold_lease = scheduler.hold_lease, now, hold
    noted, Keeper._noted = Keeper._noted, run  # type: ignore[method-assign]
    delivery.CHANNELS = {"push": take}
    roll.LEASE_MS, scheduler.LEASE_EVERY_SECONDS, plan.GAP_MS = LEASE_MS, 1, 0
    delivery.CLAIM_MS = 2000
    jobs.REMIND_EVERY_SECONDS = jobs.DELIVER_EVERY_SECONDS = jobs.POLL_EVERY_SECONDS = 0.5
    reminders.start(create_app(Settings(data=Path(data), database=database, plain=True)))
    while True:
        time.sleep(60)


if __name__ == "__main__":
    main()
