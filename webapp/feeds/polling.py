"""Polling the machines that count themselves, and writing what they counted into the record.

A network call never happens inside a transaction. What was read is then saved in one, together with the entries
that come of it, and only if nobody else saved since: so nothing is counted twice, whoever dies in between.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.core.units import SECONDS_IN
from webapp.database import db, writing
from webapp.feeds import mtconnect, reconcile
from webapp.feeds.entries import Count, tell
from webapp.feeds.faults import FeedFault, OutOfRange
from webapp.feeds.fetching import fetch
from webapp.feeds.models import FeedState
from webapp.feeds.reconcile import Tally
from webapp.setup.definitions import list_all
from webapp.setup.ids import now_ms

logger = logging.getLogger(__name__)

MOST_ROUNDS = 20
"""Samples taken in one poll: what is left is taken in the next."""
_WAIT_MS, _LONGEST_WAIT_MS = 30_000, 600_000


@dataclass(frozen=True)
class Feed:
    """A meter of a machine that an agent counts, as it is set up."""

    machine: str
    meter: str
    unit: str
    url: str
    data_item: str


@dataclass(frozen=True)
class Standing:
    """Where a feed stands; kept as JSON.

    `face` is the value last told for the meter, None before the first; `polled_ms` our clock when the agent last
    answered, `try_ms` before when it is not asked again.
    """

    url: str = ""
    data_item: str = ""
    item: str = ""
    kind: str = ""
    instance: str = ""
    next: int = 0
    count: int = mtconnect.MOST_AT_ONCE
    tally: Tally = field(default_factory=Tally)
    face: float | None = None
    told_ms: int = 0
    broken: bool = False
    polled_ms: int = 0
    failed: int = 0
    try_ms: int = 0
    problem: str | None = None

    @classmethod
    def of(cls, body: dict[str, Any]) -> Standing:
        """From the JSON that was kept."""
        return cls(**{**body, "tally": Tally(**body["tally"])})


def feeds(session: Session) -> list[Feed]:
    """Every feed that is set up, of machines in use."""
    found = []
    for machine in list_all(session, "machine"):
        spec = machine.get("feed")
        meter = next((m for m in machine["meters"] if spec and m["id"] == spec["meter"]), None)
        if spec and meter and not machine["retired"]:
            found.append(Feed(machine["id"], meter["id"], meter["unit"], spec["url"].rstrip("/"), spec["data_item"]))
    return found


def standings(session: Session) -> list[dict[str, Any]]:
    """How each feed that is set up does, for people: when the agent last answered, what it counted, what is wrong."""
    kept = {row.meter: Standing.of(json.loads(row.body)) for row in session.execute(select(FeedState)).scalars()}
    rows = []
    for feed in feeds(session):
        now = kept.get(feed.meter, Standing())
        seen = instant_text(now.polled_ms) if now.polled_ms else None
        problem = now.problem if seen or now.problem else "It has not been asked yet."
        rows.append({"machine": feed.machine, "meter": feed.meter, "data_item": feed.data_item, "seen_at": seen}
                    | {"problem": problem, "counted_seconds": now.tally.counted, "notes": now.tally.notes})  # fmt: skip
    return rows


def poll_all(get: Callable[[str], bytes] = fetch, at_ms: int | None = None) -> None:
    """Poll every feed whose turn it is. A machine that is off waits longer from time to time, up to ten minutes."""
    for feed in _listed():
        now = now_ms() if at_ms is None else at_ms
        try:
            poll(feed, get, now)
        except Exception:
            # One feed's fault, whatever it is, must not rest the others.
            logger.exception("The feed of meter %s failed", feed.meter)


def _listed() -> list[Feed]:
    session = db.session()
    try:
        return feeds(session)
    finally:
        db.session.remove()


def poll(feed: Feed, get: Callable[[str], bytes], now: int) -> None:
    """Ask the agent what happened since the last poll, and save it with the entries that come of it."""
    revision, before = _kept(feed)
    if now < before.try_ms:
        return
    after = _asked(feed, before, get, now)
    with writing() as session:
        if _revision(session, feed) != revision:
            return
        face = tell(session, _count(feed, after), now)
        if face is not None:
            after = replace(after, face=face, told_ms=now, broken=False, tally=replace(after.tally, pending=0.0))
        _save(session, feed, revision, after)


def _count(feed: Feed, standing: Standing) -> Count:
    """What is to be told, in the meter's unit."""
    pending = standing.tally.pending / SECONDS_IN[feed.unit.lower()]
    return Count(feed.machine, feed.meter, pending, standing.face, standing.told_ms, standing.broken)


def _asked(feed: Feed, before: Standing, get: Callable[[str], bytes], now: int) -> Standing:
    """Where the feed stands after asking; after a fault as before, with the fault and a later turn."""
    try:
        if (before.url, before.data_item) != (feed.url, feed.data_item) or not before.item:
            asked = _begin(feed, _fresh(feed, before), get, now)
        else:
            asked = _go_on(feed, before, get, now)
        return replace(asked, polled_ms=now, failed=0, try_ms=0, problem=None)
    except FeedFault as fault:
        wait = min(_WAIT_MS * 2 ** min(before.failed, 10), _LONGEST_WAIT_MS)
        if before.failed == 0:
            logger.warning("The feed of meter %s: %s", feed.meter, fault)
        return replace(before, failed=before.failed + 1, try_ms=now + wait, problem=str(fault))


def _fresh(feed: Feed, before: Standing) -> Standing:
    """A feed set up anew: what was pending stays, the rest is forgotten."""
    kept = Tally(counted=before.tally.counted, pending=before.tally.pending, notes=before.tally.notes)
    return Standing(url=feed.url, data_item=feed.data_item, tally=kept, face=before.face, told_ms=before.told_ms)


def _begin(feed: Feed, standing: Standing, get: Callable[[str], bytes], now: int) -> Standing:
    """Look up the item and where it stands: at first, and after every restart of the agent."""
    item = mtconnect.probe(get, feed.url, feed.data_item)
    stream = mtconnect.current(get, feed.url, item.id)
    newest = stream.observations[-1] if stream.observations else None
    timed = item.kind == "timer"
    tally = reconcile.begun(standing.tally, newest, stream.created_ms, now, timed=timed)
    return replace(
        standing, item=item.id, kind=item.kind, instance=stream.instance, next=stream.next,
        count=min(stream.size, mtconnect.MOST_AT_ONCE), tally=tally,
    )  # fmt: skip


def _go_on(feed: Feed, standing: Standing, get: Callable[[str], bytes], now: int) -> Standing:
    """Take what came since, sample by sample. A restart or a gap begins anew from where the item stands now."""
    for _ in range(MOST_ROUNDS):
        try:
            stream = mtconnect.sample(get, feed.url, standing.item, standing.next, standing.count)
        except OutOfRange:
            return _broken(feed, standing, get, now)
        if stream.instance != standing.instance or not stream.first <= standing.next <= stream.next:
            return _broken(feed, standing, get, now)
        count = reconcile.timer if standing.kind == "timer" else reconcile.running
        tally = standing.tally
        for seen in stream.observations:
            if seen.sequence >= standing.next:
                tally = count(tally, seen, now, standing.polled_ms)
        standing = replace(standing, tally=tally, next=stream.next)
        if stream.next > stream.last:
            break
    return standing


def _broken(feed: Feed, standing: Standing, get: Callable[[str], bytes], now: int) -> Standing:
    """A timer goes on where it stands; what is watched only while it runs was not watched all the time."""
    ran = standing.tally.running_ms
    begun = _begin(feed, standing, get, now)
    what = "gaps" if begun.instance == standing.instance else "restarts"
    begun = replace(begun, tally=begun.tally.noted(what))
    goes_on = begun.kind == "timer" or (ran is not None and begun.tally.running_ms == ran)
    return begun if goes_on else replace(begun, broken=True)


def _kept(feed: Feed) -> tuple[int, Standing]:
    """The revision and standing saved; (0, a blank one) for a new feed."""
    session = db.session()
    try:
        row = session.execute(select(FeedState.revision, FeedState.body).where(FeedState.meter == feed.meter)).first()
        return (row.revision, Standing.of(json.loads(row.body))) if row else (0, Standing())
    finally:
        db.session.remove()


def _revision(session: Session, feed: Feed) -> int:
    found = session.scalar(select(FeedState.revision).where(FeedState.meter == feed.meter).with_for_update())
    return found or 0


def _save(session: Session, feed: Feed, revision: int, standing: Standing) -> None:
    body = json.dumps(asdict(standing), sort_keys=True)
    row = {"machine": feed.machine, "revision": revision + 1, "polled_ms": standing.polled_ms, "body": body}
    if revision == 0:
        session.execute(insert(FeedState), [row | {"meter": feed.meter}])
    else:
        session.execute(update(FeedState).where(FeedState.meter == feed.meter).values(**row))
