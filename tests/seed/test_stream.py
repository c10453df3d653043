"""The stream of entries, before it is written: is it a year of a real-looking shop, and the same each time?"""

from __future__ import annotations

import hashlib
import math
import re
from collections import Counter, defaultdict
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID

from seed_demo import SEED
from seed_demo.calendar import WorkDay, beginning, holidays, working_days
from seed_demo.goods import GOODS
from seed_demo.log import Made
from seed_demo.people import PEOPLE
from seed_demo.results import CHANGES
from seed_demo.story import PUMP_DAYS, Script
from seed_demo.troubles import TROUBLES
from seed_demo.wear import DAYS, LIVES
from webapp.core.instants import parse_instant

from .conftest import TODAY, Year, day_of, play

STARTS = ("round.done", "batch.run")


def test_another_seed_gives_another_year(year: Year) -> None:
    other = play(TODAY, seed=7)
    assert [m.entry for m in other.made] != [m.entry for m in year.made]


def test_size_of_the_year(year: Year) -> None:
    assert 6000 <= len(year.made) <= 9500
    kinds = Counter(made.entry["kind"] for made in year.made)
    assert set(kinds) >= {
        "round.done", "reading.taken", "meter.read", "meter.added", "batch.run", "part.changed", "fluid.added",
        "fluid.changed", "task.done", "task.deferred", "task.raised", "finding.opened", "finding.closed", "tag.on",
        "tag.off", "stock.counted", "stock.ordered", "note.made", "entry.amended", "entry.voided", "hazard.noted", "hazard.closed",
        "exposure.measured", "air.checked", "purge.run", "chips.collected", "ppe.checked", "fit.tested", "training.signed",
    }  # fmt: skip


def test_every_device_numbers_its_entries_without_gaps(year: Year) -> None:
    by_device: dict[str, list[int]] = defaultdict(list)
    for made in year.made:
        by_device[made.device].append(made.entry["seq"])
    assert len(by_device) == 3
    for seqs in by_device.values():
        assert seqs == list(range(1, len(seqs) + 1))


def test_ids_are_uuid7_of_the_devices_own_clock(year: Year) -> None:
    assert len({made.entry["id"] for made in year.made}) == len(year.made)
    for made in year.made:
        key = UUID(made.entry["id"])
        assert key.version == 7  # RFC 9562, 5.7: the first 48 bits are Unix time in ms
        assert key.int >> 80 == made.true_ms + made.skew_ms == parse_instant(made.entry["at"])


def test_days_of_the_week(year: Year, work_days: list[WorkDay]) -> None:
    days = Counter(day_of(made).weekday() for made in year.of("batch.run"))
    assert 0 < days[5] < days[4] < min(days[n] for n in range(4))
    worked = {day.date: day for day in work_days}
    assert {day_of(made) for made in year.made} <= set(worked)
    saturdays = sum(day.weekday() == 5 for day in worked)
    assert 3 <= saturdays <= 16
    latest_friday = max(_minute(made) for made in year.made if day_of(made).weekday() == 4)
    latest_tuesday = max(_minute(made) for made in year.made if day_of(made).weekday() == 1)
    assert latest_friday < 14 * 60 < 15 * 60 < latest_tuesday < 17 * 60


def _minute(made: Made) -> int:
    """Minutes after midnight on the shop's wall, by the true clock."""
    offset = datetime.fromisoformat(made.entry["at"]).utcoffset() or timedelta()
    return (made.true_ms // 60_000 + int(offset.total_seconds()) // 60) % 1440


def test_public_holidays_fall_where_the_law_puts_them() -> None:
    # US Office of Personnel Management, federal holidays 2026: Memorial Day 25 May, Labor Day 7 Sep, Thanksgiving 26 Nov.
    closed = holidays(date(2027, 3, 2))
    assert {date(2026, 5, 25), date(2026, 9, 7), date(2026, 11, 26), date(2026, 12, 25)} <= set(closed)


def test_the_summer_stop_is_two_weeks_and_never_around_today() -> None:
    for shift in range(0, 366, 5):
        today = date(2027, 1, 3) + timedelta(days=shift)
        worked = [day.date for day in working_days(today, 1)]
        longest = max((b - a).days for a, b in pairwise(worked))
        assert 15 <= longest <= 18
        assert (today - worked[-1]).days <= 5
        assert worked[0] >= beginning(today)


def test_rounds_only_on_working_days_and_none_in_the_missed_week(year: Year, script: Script) -> None:
    worked = {day.date for day in script.days}
    rounds = [made for made in year.of("round.done") if made.entry["body"]["form"] == "start-up"]
    assert len(rounds) > 1500
    days = {day_of(made) for made in rounds}
    assert days <= worked - script.no_rounds
    assert TODAY not in days
    assert len(script.no_rounds) == 5
    assert len(worked - days) == 5
    assert any(day_of(made) in script.no_rounds for made in year.of("batch.run", "mill"))


def test_a_start_up_round_comes_before_the_first_use(year: Year, script: Script) -> None:
    for role in ("mill", "saw", "sander", "cabinet"):
        first: dict[tuple[date, str], int] = {}
        for kind in STARTS:
            for made in year.of(kind, role):
                first.setdefault((day_of(made), kind), made.true_ms)
        for (day, kind), ms in first.items():
            if kind == "batch.run" and day not in script.no_rounds:
                assert first[day, "round.done"] < ms, (role, day)


def test_rounds_answer_every_check_of_their_list(year: Year) -> None:
    lists = {one["id"]: one for machine in year.shop.machines.values() for one in machine.checklists}
    walked = set()
    for made in year.of("round.done"):
        body = made.entry["body"]
        checklist = lists[body["checklist"]]
        assert [one["check"] for one in body["checks"]] == [one["id"] for one in checklist["checks"]]
        bad_stop = any(one["stop"] and one["answer"] == "not ok" for one in body["checks"])
        if body["form"] == "start-up":
            assert body["outcome"] == ("not fit" if bad_stop else "fit")
        walked.add((checklist["machine"], body["form"]))
    assert len(walked) > 20


def test_every_not_ok_is_followed_up(year: Year) -> None:
    """A look that was not ok opens a finding that names it; and every finding but the eve's is closed in time."""
    found = {(body.get("round"), body.get("check")): body for body in year.bodies("finding.opened")}
    bad = [
        (made.entry["id"], one["check"], one["stop"])
        for made in year.of("round.done")
        for one in made.entry["body"]["checks"]
        if one["answer"] == "not ok"
    ]
    assert 10 <= len(bad) <= 90
    for round_, check, stop in bad:
        assert found[round_, check]["stop"] is stop
    opened = {made.entry["id"]: made for made in year.of("finding.opened")}
    closed = {made.entry["body"]["finding"]: made for made in year.of("finding.closed")}
    assert set(closed) <= set(opened)
    left = set(opened) - set(closed)
    assert 1 <= len(left) <= 4
    assert all((TODAY - day_of(opened[key])).days <= 8 for key in left)
    assert all(opened[key].true_ms < made.true_ms for key, made in closed.items())


def test_each_trouble_has_its_one_check(year: Year) -> None:
    """A trouble whose check the library no longer has would never show; one with two would show at the wrong one."""
    for trouble in TROUBLES:
        machine = year.shop.machines[trouble.role]
        hits = [
            (one["form"], check["stop"])
            for one in machine.checklists
            for check in one["checks"]
            if trouble.at in check["text"]
        ]
        assert len(hits) == 1, (trouble.role, trouble.at, hits)
        # What stops a machine shows in the morning, or at a thing that no batch runs on.
        assert not hits[0][1] or hits[0][0] == "start-up" or not machine.body["meters"]
        assert trouble.part is None or machine.parts(trouble.part)


def test_photos_are_taken_where_a_check_asks_for_one(year: Year) -> None:
    asked = {
        c["id"] for m in year.shop.machines.values() for one in m.checklists for c in one["checks"] if c.get("photo")
    }
    answers = [one for body in year.bodies("round.done") for one in body["checks"] if one["check"] in asked]
    assert len(answers) >= 8
    assert {one["photo"] for one in answers} == set(year.photos)
    assert all(hashlib.sha256(data).hexdigest() == name for name, data in year.photos.items())


def test_counters_never_run_backwards(year: Year) -> None:
    """Neither between two readings, nor below what batches have added since the last one."""
    for role in ("mill", "collector", "compressor"):
        total: dict[str, float] = {}
        for made in _of_machine(year, role):
            body = made.entry["body"]
            if made.entry["kind"] == "meter.read":
                assert body["value"] >= total.get(body["meter"], 0) - 1e-6, (role, made.entry["at"])
                total[body["meter"]] = body["value"]
            elif made.entry["kind"] == "batch.run":
                for meter, amount in body["adds"].items():
                    assert amount > 0
                    total[meter] = total.get(meter, 0) + amount


def _of_machine(year: Year, role: str) -> list[Made]:
    machine = year.shop.machines[role].id
    return [made for made in year.made if made.entry["machine"] == machine]


def test_nothing_runs_under_a_tag(year: Year) -> None:
    for role in year.shop.machines:
        tags: set[str] = set()
        for made in _of_machine(year, role):
            kind, body = made.entry["kind"], made.entry["body"]
            assert not (tags and kind == "batch.run"), (role, made.entry["at"])
            if kind == "tag.on":
                tags.add(made.entry["id"])
            elif kind == "tag.off":
                tags.remove(body["tag"])
        assert bool(tags) == (role == "cabinet")


def lives(year: Year, role: str, part_kind: str, meter_kind: str) -> list[float]:
    """What each part of a kind lived, in the meter's unit, from the entries alone."""
    machine = year.shop.machines[role]
    meter = machine.meter(meter_kind)
    parts = {part["id"] for part in machine.parts(part_kind)}
    dead = {body["entry"] for kind in ("entry.voided", "entry.amended") for body in year.bodies(kind, role)}
    mended = {body["entry"]: body["body"] for body in year.bodies("entry.amended", role)}
    total, fitted, found = 0.0, dict[str, float](), []
    for made in _of_machine(year, role):
        kind, body = made.entry["kind"], made.entry["body"]
        if made.entry["id"] in dead:
            body = mended.get(made.entry["id"], {})
        total += body.get("adds", {}).get(meter, 0)
        if kind == "meter.added" and body["meter"] == meter:
            total += body["amount"]
        if kind == "part.changed" and body["part"] in parts:
            if body["part"] in fitted:
                found.append(total - fitted[body["part"]])
            fitted[body["part"]] = total
    return found


def spread(values: list[float]) -> float:
    """Coefficient of variation."""
    mean = sum(values) / len(values)
    return math.sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1)) / mean


def test_lives_scatter_as_wear_does(year: Year) -> None:
    """A Weibull life of shape k has a coefficient of variation of 0.52 at k = 2 and 0.36 at k = 3
    (from its moments, recomputed here); the tool's statistics need scatter of that order to chew on."""
    blades, belts = lives(year, "saw", "blade", "cut_area"), lives(year, "sander", "belt", "belt_minutes")
    cutters = lives(year, "cutters", "cutter", "run_hours")
    for found, few, many in ((blades, 6, 25), (belts, 25, 80), (cutters, 40, 250)):
        assert few <= len(found) <= many
        assert min(found) > 0
        assert 0.2 < spread(found) < 0.95
    for kind, scale in (("blade", blades), ("belt", belts)):
        life = LIVES["saw" if kind == "blade" else "sander", kind]
        mean = life.scale * math.gamma(1 + 1 / life.shape)
        assert 0.6 * mean < sum(scale) / len(scale) < 1.5 * mean


def test_tables_name_things_that_the_library_has(year: Year) -> None:
    """The starter library may change; what the generator calls by name must still be there."""
    machines = year.shop.machines
    for (role, name), (what, kind) in CHANGES.items():
        assert name in [task["name"] for task in machines[role].tasks], (role, name)
        assert machines[role].parts(kind) if what == "part" else machines[role].fluid(kind), (role, kind)
    for role, kind in [*LIVES, *DAYS]:
        assert machines[role].parts(kind), (role, kind)


def test_coolant_drifts_and_is_brought_back(year: Year) -> None:
    strengths = [
        check["value"]
        for body in year.bodies("round.done", "mill")
        for check in body["checks"]
        if check.get("quantity") == "coolant.strength"
    ]
    assert len(strengths) > 200
    assert 5 < min(strengths) < 7 < 9 < max(strengths) < 13
    steps = [b - a for a, b in pairwise(strengths)]
    assert sum(step > 0 for step in steps) > 40
    assert sum(step < 0 for step in steps) > 40
    added = [body for body in year.bodies("fluid.added", "mill") if body.get("water")]
    assert len(added) > 60
    assert all(abs(body["water"] + body["concentrate"] - body["amount"]) < 0.011 for body in added)


def test_way_oil_stands_still_while_the_pump_is_mis_set(year: Year, script: Script) -> None:
    oil = year.shop.machines["mill"].fluid("way_oil")
    assert oil
    fills = [made for made in year.of("fluid.added", "mill") if made.entry["body"]["fluid"] == oil["id"]]
    set_wrong, found = script.days[script.pump].date, script.days[script.pump + 17].date
    bad = [made for made in fills if set_wrong + timedelta(days=7) < day_of(made) < found]
    gaps = [(day_of(b) - day_of(a)).days for a, b in pairwise(fills)]
    assert not bad
    assert sorted(gaps)[len(gaps) // 2] <= 8
    text = next(
        made for made in year.of("finding.opened", "mill") if "Way oil has hardly" in made.entry["body"]["text"]
    )
    assert day_of(text) == found
    assert text.entry["body"]["stop"] is True


def test_a_stop_goes_the_whole_way_round(year: Year, script: Script) -> None:
    """Finding, tag, corrective task, done, finding closed, tag off, walked again, on the morning of the stop button."""
    day = script.days[script.stop_button].date
    kinds = [
        made.entry["kind"]
        for made in _of_machine(year, "saw")
        if day_of(made) == day and made.entry["kind"] not in ("batch.run", "part.changed", "fluid.added")
    ]
    assert kinds[:8] == [
        "round.done", "finding.opened", "tag.on", "task.raised", "task.done", "finding.closed", "tag.off", "round.done",
    ]  # fmt: skip


def test_the_crash_costs_two_days(year: Year, script: Script) -> None:
    worked = {day_of(made) for made in year.of("batch.run", "mill")}
    assert script.mill_down.isdisjoint(worked)
    texts = [body["text"] for body in year.bodies("finding.opened", "mill")]
    assert any(text.startswith("Crash") for text in texts)
    assert any(body["form"] == "after-change" for body in year.bodies("round.done", "mill"))


def test_one_phone_was_wrong_for_a_week(year: Year, script: Script) -> None:
    lying = [made for made in year.made if made.skew_ms]
    assert {made.device for made in lying} == {"ruben_phone"}
    days = sorted({day_of(made) for made in lying})
    assert len(days) == 5
    assert days[-1] - days[0] == timedelta(days=4)
    assert all(made.skew_ms == -26 * 3_600_000 for made in lying)
    honest = [m for m in year.made if m.device == "ruben_phone" and day_of(m) in days and not m.skew_ms]
    assert not honest


def test_an_entry_is_amended_and_one_voided(year: Year) -> None:
    by_id = {made.entry["id"]: made.entry for made in year.made}
    (amended,) = year.bodies("entry.amended")
    (voided,) = year.bodies("entry.voided")
    assert by_id[amended["entry"]]["body"]["cuts"] == 10 * amended["body"]["cuts"]
    wrong = by_id[voided["entry"]]
    twin = [m for m in year.of("batch.run", "sander") if m.entry["body"] == wrong["body"] and day_of(m) == _day(wrong)]
    assert len(twin) == 2


def _day(entry: dict[str, Any]) -> date:
    """The date on the clock of the device that made an entry."""
    return datetime.fromisoformat(entry["at"]).date()


def test_the_drawer_is_counted_and_filled(year: Year) -> None:
    stock: dict[str, float] = {}
    coming: dict[str, float] = defaultdict(float)
    for made in year.made:
        body = made.entry["body"]
        if made.entry["kind"] == "stock.counted":
            stock[body["item"]] = body["count"]
            coming[body["item"]] -= body.get("arrived", 0)
        elif made.entry["kind"] == "stock.ordered":
            coming[body["item"]] += body["count"]
        elif made.entry["kind"] == "part.changed" and body.get("item"):
            stock[body["item"]] -= body["used"]
    assert set(stock) == {item["id"] for item in year.shop.items()}
    assert sum(count < 0 for count in stock.values()) == 0
    assert len(coming) > 20 and min(coming.values()) >= 0, "nothing comes that was not ordered"


def test_the_set_pieces_find_days_of_their_own_on_every_morning_of_a_year() -> None:
    """Where they fall is chosen from the calendar alone, so every day can be asked; three are played to the end."""
    for shift in range(366):
        script = Script.over(working_days(date(2027, 1, 1) + timedelta(days=shift), SEED))
        assert len(script.days) > 230
        pieces = [script.mistyped, script.twice, script.pump, script.pump + PUMP_DAYS, script.crash, script.crash + 1]
        pieces += [script.crash + 2, script.stop_button, script.last]
        assert len(set(pieces)) == len(pieces) and max(pieces) == script.last
        clock = script.wrong_clock
        lying = {day.date for day in script.days if clock.first <= day.date <= clock.last}
        assert len(lying) == len(script.no_rounds) == 5 and not lying & script.no_rounds
        assert script.days[script.stop_button].date not in script.no_rounds, "it is found on a round"
        assert script.days[script.pump + PUMP_DAYS].date not in script.no_rounds


def test_every_morning_ends_in_the_same_set_pieces(other_year: Year) -> None:
    last = max(day_of(made) for made in other_year.made)
    assert 1 <= (other_year.today - last).days <= 4
    eve = [made.entry for made in other_year.made if day_of(made) == last]
    kinds = Counter(entry["kind"] for entry in eve)
    assert kinds["tag.on"] >= 1
    assert kinds["task.deferred"] >= 1
    assert kinds["entry.amended"] == 0
    assert sum(made.skew_ms != 0 for made in other_year.made) > 10
    assert len(other_year.bodies("entry.voided")) == 1


# Every capitalised word, other than at the start of a sentence, that the demo's own words may use.
INVENTED = {word for person in PEOPLE for word in person.name.split()} | {"Slackwater", "Lane", "Fittings"}
PLAIN = {
    "Monday",
    "Friday",
    "No",
    "Rules",
    "T3",
    "H2O",
    "Horn",
    "C36000",
    "Jan",
    "Feb",
    "Mar",
    "Apr",
    "May",
    "Jun",
    "Jul",
}
PLAIN |= {"Aug", "Sep", "Oct", "Nov", "Dec", "I"}


def test_no_names_but_invented_ones(year: Year) -> None:
    """No real maker, brand or person: machines carry no maker, and no other name stands in what people wrote."""
    for machine in year.shop.machines.values():
        assert not {"maker", "model", "serial"} & set(machine.body)
    texts = [text for made in year.made for text in _texts(made.entry["body"])]
    texts += [person.name for person in PEOPLE] + [machine.body["name"] for machine in year.shop.machines.values()]
    names = {name for text in texts for name in _names(text)}
    assert names <= INVENTED | PLAIN, names - INVENTED - PLAIN
    named = [made.entry["body"].get("what", "") for made in year.made if made.entry["kind"] == "batch.run"]
    goods = tuple(good.name for good in GOODS)
    others = {what for what in named if not what.startswith(goods)}
    assert others <= {"The day's cutting", ""}, "what nobody here makes"


def _texts(value: Any) -> list[str]:
    if isinstance(value, dict):
        return [text for inner in value.values() for text in _texts(inner)]
    if isinstance(value, list):
        return [text for inner in value for text in _texts(inner)]
    return [value] if isinstance(value, str) else []


def _names(text: str) -> list[str]:
    """Capitalised words that begin no sentence."""
    if re.fullmatch(r"[0-9a-f-]{36}|\d{4}-\d\d-\d\dT.*|[A-Z0-9]{3,6}", text):
        return []
    return re.findall(r"(?<![.:;,!?»] )(?<!^)(?<![\w'/])[A-Z][\w']+", text)
