"""Forecasts that moved: each task's range is kept as people last heard it, and a date that has gone further than that
range was wide is news, once."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from webapp.core.dates import say_date, say_days
from webapp.reminders.models import Foretold
from webapp.upkeep.shop import Shop

NEWS_MS = 7 * 86_400_000
"""For how long a move is news."""
LEAST_DAYS = 3
"""A range may be narrower than anybody plans by (our judgement)."""


def moved(session: Session) -> dict[str, dict[str, Any]]:
    """Task -> `cycle, since_ms, until_ms, say`, of the moves that were found last."""
    rows = session.execute(select(Foretold.task, Foretold.cycle, Foretold.moved).where(Foretold.moved != "null"))
    return {row.task: json.loads(row.moved) | {"cycle": row.cycle} for row in rows}


def compare(session: Session, shop: Shop, ahead: dict[str, Any], cycles: dict[str, str]) -> None:
    """Hold today's dates against those kept; call inside a write transaction. `cycles`: task -> its turn now."""
    kept = {row["task"]: row for row in session.execute(select(Foretold.__table__)).mappings()}
    sections = [*(one["tasks"] for one in ahead["machines"].values()), ahead["shop"]["tasks"]]
    for task, row in ((task, row) for section in sections for task, row in section.items()):
        if task not in cycles or row["by"] != "meter" or row["resting"]:
            continue
        if not (row["earliest"] and row["likely"] and row["latest"]):
            continue
        values = {name: row[name] for name in ("earliest", "likely", "latest")} | {"cycle": cycles[task]}
        before = kept.get(task)
        if before is None:
            session.execute(insert(Foretold), [values | {"task": task, "moved": "null"}])
        elif before["cycle"] != cycles[task]:
            session.execute(update(Foretold).where(Foretold.task == task).values(**values, moved="null"))
        elif row["state"] == "resting" and _by(before, row["likely"]) > _width(before):
            news = {"since_ms": shop.now_ms, "until_ms": shop.now_ms + NEWS_MS, "say": _say(before, row)}
            session.execute(update(Foretold).where(Foretold.task == task).values(**values, moved=json.dumps(news)))
        elif _width(row) < _width(before):
            # Known better by now: what is news is judged against the narrower range.
            session.execute(update(Foretold).where(Foretold.task == task).values(**values))
    gone = set(kept) - set(cycles)
    if gone:
        session.execute(delete(Foretold).where(Foretold.task.in_(gone)))


def _by(before: Mapping[str, Any], likely: str) -> int:
    return abs((date.fromisoformat(likely) - date.fromisoformat(before["likely"])).days)


def _width(one: Mapping[str, Any]) -> int:
    return max((date.fromisoformat(one["latest"]) - date.fromisoformat(one["earliest"])).days, LEAST_DAYS)


def _say(before: Mapping[str, Any], row: dict[str, Any]) -> str:
    old, new = date.fromisoformat(before["likely"]), date.fromisoformat(row["likely"])
    way = "later" if new > old else "earlier"
    return (
        f"Now likely on {say_date(new)}, {say_days(abs((new - old).days))} {way} than foretold "
        f"({say_date(old)}). {row['why']}"
    )
