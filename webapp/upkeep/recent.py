"""The newest entries, kept decoded between requests, so that a new entry costs its own reading and not a year's.

Only a cache: what it gives is what the record holds, mended as the fold mends it. It is kept per database, kinds
and machine, and caught up by position: new entries are put in their place in time, and what an amendment or a
voiding speaks of is read again. Another epoch (a restored record) starts it anew.
"""

from __future__ import annotations

import json
import threading
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field
from weakref import WeakKeyDictionary

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from webapp.records.append import head
from webapp.records.folding import effective, mend, mendings
from webapp.records.kinds import KINDS
from webapp.records.models import Entry
from webapp.records.state import Effective

_CHUNK = 500
_SLACK_MS = 30 * 86_400_000
"""How much older than asked for the kept entries may grow before the oldest are let go."""
_MENDING = tuple(name for name, kind in KINDS.items() if kind.mends)

Place = tuple[int, str]
Key = tuple[tuple[str, ...], str | None]


@dataclass
class _Kept:
    """Entries from `after_ms` on, as of a position: `order` sorted, `found` by id (None: voided)."""

    after_ms: int
    epoch: str
    position: int
    order: list[Place] = field(default_factory=list)
    found: dict[str, tuple[int, Effective | None]] = field(default_factory=dict)

    def put(self, read: list[tuple[int, str, Effective | None]]) -> None:
        """Take entries in, or in the place of what they were."""
        fresh = [(ms, id_) for ms, id_, _ in read if id_ not in self.found]
        self.found |= {id_: (ms, entry) for ms, id_, entry in read}
        if fresh:
            self.order = sorted(self.order + fresh)

    def forget(self, before_ms: int) -> None:
        """Let go of what is older."""
        cut = bisect_left(self.order, (before_ms, ""))
        for _, id_ in self.order[:cut]:
            del self.found[id_]
        del self.order[:cut]
        self.after_ms = before_ms


_lock = threading.Lock()
_kept: WeakKeyDictionary[Engine, dict[Key, _Kept]] = WeakKeyDictionary()


def entries(
    session: Session, kinds: Iterable[str], after_ms: int, machine: str | None = None
) -> list[tuple[int, Effective]]:
    """(effective ms, entry) of these kinds from an instant on (at one machine, when named), in the order they
    count; mended, and without the voided ones. The entries are shared between callers: they are not to be changed.
    """
    key = (tuple(kinds), machine)
    top = head(session)
    with _lock:
        shop = _kept.setdefault(session.get_bind().engine, {})
        kept = shop.get(key)
        if kept is None or kept.epoch != top.epoch or kept.after_ms > after_ms or kept.position > top.position:
            kept = _Kept(after_ms, top.epoch, top.position)
            kept.put(_read(session, key, Entry.ms >= after_ms, Entry.position <= top.position))
            shop[key] = kept
        elif kept.position < top.position:
            kept.put(_news(session, key, kept, top.position))
            kept.position = top.position
        if kept.after_ms < after_ms - _SLACK_MS:
            kept.forget(after_ms)
        places = kept.order[bisect_left(kept.order, (after_ms, "")) :]
        rows = [kept.found[id_] for _, id_ in places]
    return [(ms, entry) for ms, entry in rows if entry is not None]


def _news(session: Session, key: Key, kept: _Kept, upto: int) -> list[tuple[int, str, Effective | None]]:
    """What came since: new entries, and those held that a new one amends or voids."""
    kinds, machine = key
    # By position alone: with the kinds named too, SQLite would rather walk through all of their entries.
    columns = (Entry.id, Entry.kind, Entry.machine, Entry.ms, Entry.document)
    since = session.execute(select(*columns).where(Entry.position > kept.position, Entry.position <= upto)).all()
    changed = {json.loads(row.document)["body"]["entry"] for row in since if row.kind in _MENDING} & kept.found.keys()
    changed |= {
        row.id for row in since
        if row.kind in kinds and row.ms >= kept.after_ms and machine in (None, row.machine)
    }  # fmt: skip
    ids = sorted(changed)
    read: list[tuple[int, str, Effective | None]] = []
    for at in range(0, len(ids), _CHUNK):
        read += _read(session, key, Entry.id.in_(ids[at : at + _CHUNK]))
    return read


def _read(session: Session, key: Key, *where: object) -> list[tuple[int, str, Effective | None]]:
    """(ms, id, entry as mended, or None where voided) of the key's kinds and machine."""
    kinds, machine = key
    query = select(Entry.id, Entry.ms, Entry.document).where(Entry.kind.in_(kinds), *where)  # type: ignore[arg-type]
    if machine is not None:
        query = query.where(Entry.machine == machine)
    rows = session.execute(query).all()
    found: list[tuple[int, str, Effective | None]] = []
    for at in range(0, len(rows), _CHUNK):
        chunk = rows[at : at + _CHUNK]
        mended = mendings(session, [row.id for row in chunk])
        found += [
            (row.ms, row.id, mend(effective(json.loads(row.document), row.ms), mended.get(row.id, []))) for row in chunk
        ]
    return found
