"""The scheduler inside the server: at the shop's midnight the day rolls, in exactly one process."""

from __future__ import annotations

import os
import socket
import uuid

from apscheduler.schedulers.background import BackgroundScheduler
from flask import Flask

from webapp.database import db
from webapp.feeds.polling import poll_all
from webapp.reminders.roll import hold_lease, roll_day
from webapp.setup.definitions import shop_zone

LEASE_EVERY_SECONDS = 30
POLL_EVERY_SECONDS = 30


def start(app: Flask) -> BackgroundScheduler:
    """Start the jobs in the background. Stop with `.shutdown()`.

    Every process may call this: the jobs run only where the lease is held. A day missed while no server ran is rolled
    at the next start, once.
    """
    holder = f"{socket.gethostname()}/{os.getpid()}/{uuid.uuid4().hex[:8]}"
    with app.app_context():
        zone = shop_zone(db.session())
    scheduler = BackgroundScheduler(timezone=zone)

    def tick() -> None:
        with app.app_context():
            if hold_lease(holder):
                roll_day()

    def poll() -> None:
        with app.app_context():
            # A machine that hangs must hold up neither the day nor the lease: this job has its own thread.
            if hold_lease(holder):
                poll_all()

    # Looking every half minute, and rolling when the shop's date is new, survives sleep, DST and a changed zone.
    scheduler.add_job(tick, "interval", seconds=LEASE_EVERY_SECONDS, id="tick", coalesce=True, max_instances=1)
    scheduler.add_job(tick, "cron", hour=0, minute=0, second=1, id="midnight", coalesce=True, misfire_grace_time=3600)
    scheduler.add_job(poll, "interval", seconds=POLL_EVERY_SECONDS, id="feeds", coalesce=True, max_instances=1)
    scheduler.start()
    scheduler.add_job(tick, id="first")
    return scheduler
