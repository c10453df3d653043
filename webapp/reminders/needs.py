"""What needs somebody now: every reason for a reminder, from the record, the forecasts and the clock.

Each need has a key that stays the same while it stands and is another one the next time: a task's carries when it was
last done. Who stops needing to be told is whoever's need is no longer in the list.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy.orm import Session

from webapp.core.dates import say_date, say_days
from webapp.core.due import Due, judge
from webapp.core.instants import parse_instant, shop_date
from webapp.core.rules import Each, FirstOf, parse
from webapp.reminders.hours import Hours, instant
from webapp.reminders.people import Limits
from webapp.upkeep.document import document, version
from webapp.upkeep.shop import Definition, Shop
from webapp.upkeep.spares import open_drawer, spare

DAY_MS = 86_400_000
STANDING_DAYS = 14
"""A machine that has stood for longer is not asked for its round."""
_SAID = {"near": "is coming up", "due": "is due", "late": "is late"}


@dataclass(frozen=True)
class Need:
    """Something that somebody must hear of.

    `what`: a line; `where`: machine and bay, or the shop; `minutes`: how long it takes, None when that is not known;
    `why`: why now; `link`: the screen, from the app's `/` on. `weight`: "quiet" waits for the digest, "plain" is told.
    `task`: the task that a "done" would be for, when pressing it is enough. `until`: when it is no news any more (ms).
    """

    key: str
    kind: str
    what: str
    where: str
    why: str
    link: str
    audience: str = "work"
    weight: str = "plain"
    minutes: float | None = None
    machine: str | None = None
    task: str | None = None
    whom: str | None = None

    def body(self) -> dict[str, Any]:
        """What is kept of it and shown."""
        return {name: value for name, value in asdict(self).items() if name not in ("key", "audience")}


@dataclass(frozen=True)
class Look:
    """What needs are found by: the shop, its bays and hours, its limits, the moment."""

    session: Session
    shop: Shop
    bays: dict[str, str]
    hours: Hours
    limits: Limits
    ahead: dict[str, Any]
    """The upkeep document."""

    @property
    def now(self) -> int:
        return self.shop.now_ms

    def where(self, machine: str | None) -> str:
        """A machine with its bay, in words."""
        found = self.shop.machines.get(machine or "")
        if found is None:
            return "The shop"
        bay = self.bays.get(found.get("bay") or "")
        return f"{found['name']}, {bay}" if bay else str(found["name"])


_kept: WeakKeyDictionary[Any, tuple[str, dict[str, Any]]] = WeakKeyDictionary()


def upkeep_document(session: Session, now_ms: int) -> dict[str, Any]:
    """The upkeep document, made anew when the record or the shop's date has moved."""
    engine, tag = session.get_bind().engine, version(session, now_ms)
    held = _kept.get(engine)
    if held is None or held[0] != tag:
        held = _kept[engine] = (tag, document(session, now_ms))
    return held[1]


def find(look: Look) -> list[Need]:
    """Every need that stands now; one for each key."""
    from webapp.reminders.needs_people import PEOPLE_SOURCES

    found = [need for source in (*SOURCES, *PEOPLE_SOURCES) for need in source(look)]
    return list({need.key: need for need in found}.values())


def cycle(facts: dict[str, Any]) -> str:
    """Which turn of a task it is: when it was last done, and until when it was put off."""
    done = facts["done"]
    return f"{done['at'] if done else 'never'}/{facts['deferred_to'] or ''}"


def _tasks(look: Look) -> Iterator[Need]:
    """Tasks that are near, due or late."""
    for task in look.shop.tasks:
        facts, rule = look.shop.facts(task), parse(task["rule"])
        due = judge(rule, facts)
        parts = rule.parts if isinstance(rule, FirstOf) else (rule,)
        if any(isinstance(part, Each) for part in parts):
            yield from _round(look, task, facts, due)
        elif due.state != "resting":
            yield _task(look, task, due, cycle(facts))


def _task(look: Look, task: Definition, due: Due, turn: str) -> Need:
    return Need(
        f"task/{task['id']}/{turn}/{due.state}", due.state, f"{task['name']} {_SAID[due.state]}",
        look.where(task["machine"]), due.why, task_link(task), weight="quiet" if due.state == "near" else "plain",
        minutes=task["minutes"], machine=task["machine"], task=None if task["checklist"] else task["id"],
    )  # fmt: skip


def task_link(task: Definition) -> str:
    """The screen of a task: its round, or the task itself."""
    at = task["machine"] or "shop"
    return f"#/round/{at}/{task['checklist']}" if task["checklist"] else f"#/task/{at}/{task['id']}"


def _round(look: Look, task: Definition, facts: dict[str, Any], due: Due) -> Iterator[Need]:
    """A round of the day: not begun by its hour, or the machine used before it."""
    if due.state not in ("due", "late") or facts["done_today"]:
        return
    today = look.shop.today
    used = bool(facts["used_today"])
    by = instant(today, look.limits.round_by, look.shop.zone)
    if not used and (look.now < by or not look.hours.works_on(today) or not _runs(look, task["machine"])):
        return
    why = due.why if used else f"Not begun by {look.limits.round_by:%H:%M} on {say_date(today)}."
    what = f"{task['name']}: {'the machine was used before it' if used else 'not begun yet'}"
    yield Need(
        f"round/{task['id']}/{today.isoformat()}/{'used' if used else 'by'}", "round", what,
        look.where(task["machine"]), why, task_link(task), minutes=task["minutes"], machine=task["machine"],
    )  # fmt: skip


def _runs(look: Look, machine: str | None) -> bool:
    """Whether a machine was used lately; one of which nothing is known is taken to be."""
    used = look.shop.doc(machine)["used_at"]
    return used is None or look.now - parse_instant(used) <= STANDING_DAYS * DAY_MS


def _coolant(look: Look) -> Iterator[Need]:
    """Coolants that leave, or have left, their band."""
    for key, machine in look.ahead["machines"].items():
        if look.shop.in_service(key):
            for fluid_id, fluid in machine["fluids"].items():
                if fluid.get("desk") == "coolant":
                    yield from _leaves(look, key, fluid_id, fluid)


def _leaves(look: Look, machine: str, fluid_id: str, fluid: dict[str, Any]) -> Iterator[Need]:
    """One coolant. Right after a fill the readings before it foretell nothing, so nothing is said until there are new
    ones."""
    leaving, read = fluid["leaving"], fluid["strength"]
    turn = look.shop.doc(machine)["fluids"].get(fluid_id) or {}
    since = max(filter(None, (turn.get("added_at"), turn.get("changed_at"))), default="never")
    out = bool(read) and read["verdict"] not in (None, "within") and not read["doubtful"]
    sure = bool(leaving.get("side")) and (since == "never" or leaving["basis"] == "since the last fill")
    soon = look.hours.next_working_day(look.shop.today).isoformat()
    if not out and not (sure and leaving["early"] and leaving["early"] <= soon):
        return
    said = f"{read['percent']:g} % was read last. " if out else ""
    yield Need(
        f"coolant/{fluid_id}/{since}/{'out' if out else 'soon'}", "coolant",
        f"{fluid['name']} {'is out of its band: correct it' if out else 'is about to leave its band: top it up'}",
        look.where(machine), f"{said}{leaving['say']} {(fluid.get('mix') or {}).get('say') or ''}".strip(),
        f"#/coolant/{machine}/{fluid_id}", machine=machine,
    )  # fmt: skip


def _stock(look: Look) -> Iterator[Need]:
    """Items at or below their reorder point."""
    drawer = open_drawer(look.session, look.shop.doc(None), look.now, look.shop.zone)
    for item in drawer.items.values():
        told = None if item["retired"] else spare(drawer, item["id"])
        if told and told["order_now"]:
            where = look.where(item["machine"]) if item.get("machine") else "The drawer"
            yield Need(
                f"stock/{item['id']}", "stock", f"Order {item['name']}: {told['count']:g} left", where, told["say"],
                f"#/log/stock?item={item['id']}&what=ordered", audience="shop", machine=item.get("machine"),
            )  # fmt: skip


def _tags(look: Look) -> Iterator[Need]:
    """Tags that have hung for days."""
    for key, machine in look.shop.machines.items():
        for tag_id, tag in look.shop.doc(key)["tags"].items():
            days = (look.now - parse_instant(tag["at"])) // DAY_MS
            if days >= look.limits.tag_days:
                since = say_date(shop_date(parse_instant(tag["at"]), look.shop.zone))
                why = tag["why"].rstrip(".")
                yield Need(
                    f"tag/{tag_id}", "tag", f"{machine['name']} is still out of service", look.where(key),
                    f"The tag has hung since {since} ({say_days(days)}): {why}.", f"#/tag/{key}/{tag_id}",
                    audience="shop", machine=key,
                )  # fmt: skip


def _moved(look: Look) -> Iterator[Need]:
    """Forecasts that moved by more than their range was wide."""
    from webapp.reminders.foretold import moved

    tasks = {task["id"]: task for task in look.shop.tasks}
    for task_id, row in moved(look.session).items():
        task = tasks.get(task_id)
        if task is not None and look.now < row["until_ms"] and row["cycle"] == cycle(look.shop.facts(task)):
            yield Need(
                f"moved/{task_id}/{row['since_ms']}", "moved", f"{task['name']}: its date has moved",
                look.where(task["machine"]), row["say"], "#/ahead", weight="quiet", minutes=task["minutes"],
                machine=task["machine"],
            )  # fmt: skip


def days_until(day: str, today: date) -> int:
    """Days to an ISO date; below nought when it has passed."""
    return (date.fromisoformat(day) - today) // timedelta(days=1)


SOURCES: tuple[Callable[[Look], Iterator[Need]], ...] = (_tasks, _coolant, _stock, _tags, _moved)
