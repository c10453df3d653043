"""The scheduler's jobs in the app's own database.

A row holds a job's name, its next time and its trigger in words. What runs and how often stands in the program: a
job that came out of a restored backup could otherwise be anything, for APScheduler's own store unpickles it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from apscheduler.job import Job
from apscheduler.jobstores.base import BaseJobStore, ConflictingIdError, JobLookupError
from flask import Flask
from sqlalchemy import delete, insert, select, update

from webapp.database import db, writing
from webapp.reminders.models import ScheduledJob

Declared = Callable[[str], Job | None]
"""From a job's name to the job as this program has it; None for one that it no longer has."""


def _ms(moment: datetime | None) -> int | None:
    return None if moment is None else round(moment.timestamp() * 1000)


class DatabaseJobs(BaseJobStore):  # type: ignore[misc]
    """APScheduler's job store over `scheduled_job`."""

    def __init__(self, app: Flask, declared: Declared) -> None:
        super().__init__()
        self.app, self.declared = app, declared
        self._ended = False

    def shutdown(self) -> None:
        """No job is due from here on: a look that was under way would hand it to executors that are gone, and move its
        time on as if it had run."""
        self._ended = True

    def lookup_job(self, job_id: str) -> Job | None:
        """The job with its next time, or None."""
        return next((job for job in self._read() if job.id == job_id), None)

    def get_due_jobs(self, now: datetime) -> list[Job]:
        """Jobs whose time has come, the longest due first."""
        return [] if self._ended else [job for job in self._read() if job.next_run_time <= now]

    def get_next_run_time(self) -> datetime | None:
        """When the next job runs."""
        return min((job.next_run_time for job in self._read()), default=None)

    def get_all_jobs(self) -> list[Job]:
        """Every job there is, by its next time."""
        return self._read()

    def add_job(self, job: Job) -> None:
        """Keep a job that is not there yet."""
        with self.app.app_context(), writing() as session:
            if session.get(ScheduledJob, job.id) is not None:
                raise ConflictingIdError(job.id)
            row = {"name": job.id, "next_ms": _ms(job.next_run_time), "trigger": str(job.trigger)[:120], "said": ""}
            session.execute(insert(ScheduledJob), [row])

    def update_job(self, job: Job) -> None:
        """Keep a job's next time."""
        values = {"next_ms": _ms(job.next_run_time), "trigger": str(job.trigger)[:120]}
        with self.app.app_context(), writing() as session:
            done = session.execute(update(ScheduledJob).where(ScheduledJob.name == job.id).values(**values))
            if done.rowcount != 1:  # type: ignore[attr-defined]
                raise JobLookupError(job.id)

    def remove_job(self, job_id: str) -> None:
        """Forget a job."""
        with self.app.app_context(), writing() as session:
            done = session.execute(delete(ScheduledJob).where(ScheduledJob.name == job_id))
            if done.rowcount != 1:  # type: ignore[attr-defined]
                raise JobLookupError(job_id)

    def remove_all_jobs(self) -> None:
        """Forget every job."""
        with self.app.app_context(), writing() as session:
            session.execute(delete(ScheduledJob))

    def _read(self) -> list[Job]:
        """Every job with a next time that this program has too."""
        query = select(ScheduledJob.name, ScheduledJob.next_ms).where(ScheduledJob.next_ms.is_not(None))
        with self.app.app_context():
            try:
                rows = db.session.execute(query.order_by(ScheduledJob.next_ms, ScheduledJob.name)).all()
            finally:
                db.session.remove()
        found = []
        for row in rows:
            job = self.declared(row.name)
            if job is not None:
                zone = self._scheduler.timezone
                job.next_run_time = datetime.fromtimestamp(row.next_ms / 1000, UTC).astimezone(zone)
                found.append(job)
        return found
