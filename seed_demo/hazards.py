"""A year of the invented shop's hazard log: air, exposures, chips, purges, and what protects its people.

Written after the year is played, from what the batches say was cut and blasted; every figure here is invented.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from seed_demo.calendar import WorkDay
from seed_demo.hazard_facts import (
    CARTRIDGE_HOURS,
    COMMISSIONED,
    DRUM_FULL,
    DUST_WEEKS,
    FIRST_SURVEY,
    LAST,
    MASK_HOURS,
    NOTED,
    OPERATORS,
    POUNDS_AN_HOUR,
    PURGE_NEEDED,
    SECOND_SURVEY,
    WEARERS,
    YEARLY,
    Hazard,
)
from seed_demo.people import PEOPLE
from seed_demo.plan import DayPlan
from seed_demo.plant import Moment, Plant

Body = dict[str, Any]


class Hazards:
    """Writes the log through the same pen as the rest of the year."""

    def __init__(self, plant: Plant, plans: list[DayPlan], rng: Random) -> None:
        self.plant, self.plans, self.rng = plant, plans, rng
        self.days = [plan.day for plan in plans]
        self.ids = plant.shop.people

    def play(self) -> None:
        """The whole log, each part over the whole year."""
        self._commission(self.days[0])
        self._measure_air()
        self._measure_exposures()
        self._equip()
        self._fit_and_train()
        self._note_hazards()
        self._collect_chips()
        self._purge()

    def _day(self, share: float) -> WorkDay:
        """A working day by its share of the year."""
        return self.days[min(int(share * len(self.days)), len(self.days) - 1)]

    def _after(self, days: int) -> WorkDay:
        """The first working day so many days after the book was begun."""
        wanted = self.days[0].date + timedelta(days=days)
        return next((day for day in self.days if day.date >= wanted), self.days[-1])

    def _at(self, day: WorkDay, share: float | None = None) -> Moment:
        return Moment(day.date, day.first + day.minutes * (self.rng.uniform(0.1, 0.9) if share is None else share))

    def _write(self, when: Moment, by: str, kind: str, role: str | None, body: Body) -> str:
        return self.plant.write(
            when, by, kind, role, {name: one for name, one in body.items() if one not in (None, (), [])}
        )

    def _commission(self, day: WorkDay) -> None:
        """What the exhausts did on the day from which they are judged."""
        when = self._at(day, 0.35)
        for number, (role, check, value, unit, place) in enumerate(COMMISSIONED):
            body = {"check": check, "value": value, "unit": unit, "place": place, "commissioning": True}
            body["instrument"] = "hot-wire meter" if unit == "ft/min" else "slant gauge"
            self._write(when.later(4 * number), "odile", "air.checked", role, body)

    def _measure_air(self) -> None:
        """Every quarter somebody goes round with the meter; the collector's hose leaks a little more each time."""
        for quarter in range(1, 4):
            when = self._at(self._day(quarter / 4), 0.4)
            for number, (role, check, value, unit, place) in enumerate(COMMISSIONED):
                worse = 1 - 0.03 * quarter * (role == "collector") + self.rng.gauss(0, 0.012)
                shown = round(value * worse, 2) if unit == "in H2O" else round(value * worse, -1)
                body = {"check": check, "value": shown, "unit": unit, "place": place}
                self._write(when.later(5 * number), "femi", "air.checked", role, body)

    def _measure_exposures(self) -> None:
        """Two surveys: the first sends the hood nearer to the belt, the second shows what that did."""
        for share, survey in ((0.22, FIRST_SURVEY), (0.68, SECOND_SURVEY)):
            day = self._day(share)
            reported = self._at(next(one for one in self.days if one.date >= day.date + timedelta(days=12)), 0.2)
            for number, (person, role, process, agent, form, samples) in enumerate(survey):
                noise = agent == "noise"
                body: Body = {"agent": agent, "form": form, "person": self.ids[person], "shift_hours": 8.5}
                body |= {"on": day.date.isoformat(), "process": process, "fraction": None if noise else "total"}
                body |= {
                    "alloy": None if noise else "C36000",
                    "method": "dosimeter" if noise else "37 mm filter, plasma",
                }
                body |= {
                    "samples": [dict(one) for one in samples],
                    "laboratory": None if noise else "contract laboratory",
                }
                self._write(reported.later(3 * number), "odile", "exposure.measured", role, body)

    def _equip(self) -> None:
        """Everybody gets glasses, muffs and a mask; cartridges are changed by their hours."""
        for number, person in enumerate(PEOPLE):
            when = self._at(self.days[0], 0.5).later(3 * number)
            for place, (part, what) in enumerate((("eye", None), ("ear", "muffs"), ("lung", WEARERS[person.key]))):
                body = {"kind": part, "what": what, "result": "issued"}
                self._check(
                    when.later(place), person.key, body | ({"change_after": CARTRIDGE_HOURS} if part == "lung" else {})
                )
            self._wear_mask(person.key)
        self._check(
            self._at(self._day(0.45)), "ruben", {"kind": "eye", "result": "replaced", "note": "scratched by grit"}
        )
        refused = {
            "kind": "ear",
            "what": "muffs",
            "result": "refused",
            "note": "cushion split, plugs until the new ones come",
        }
        self._check(self._at(self._after(330)), "femi", refused)

    def _check(self, when: Moment, person: str, body: Body) -> None:
        self._write(when, person, "ppe.checked", None, {"person": self.ids[person]} | body)

    def _wear_mask(self, person: str) -> None:
        """Every other Friday the hours in the mask are written down, and a spent cartridge is changed."""
        worn = since = 0.0
        for day in self.days[8:]:
            since += MASK_HOURS[person] / 5 * self.rng.uniform(0.5, 1.5)
            if day.date.weekday() != 4 or day.date.isocalendar().week % 2:
                continue
            hours, since = round(since, 1), 0.0
            worn += hours
            lung = {"kind": "lung", "what": WEARERS[person], "hours": hours}
            if worn >= CARTRIDGE_HOURS - 3:
                worn = 0.0
                lung |= {"result": "replaced", "change_after": CARTRIDGE_HOURS}
            else:
                lung["result"] = "ok"
            self._check(self._at(day, 0.9), person, lung)

    def _fit_and_train(self) -> None:
        """Fit tests and sign-offs of the first weeks run out about now; one was renewed in time and one was not."""
        for number, person in enumerate(PEOPLE):
            self._fit(self._after(4 + 5 * number), person.key)
        self._fit(self._after(341), "wanda")
        for number, (role, people) in enumerate(OPERATORS.items()):
            for place, person in enumerate(people):
                self._sign(self._at(self._after(2 + number), 0.1).later(4 * place), person, role)
        for role, person in (("cabinet", "wanda"), ("grinder", "ruben"), ("sander", "ruben")):
            self._sign(self._at(self._after(345), 0.3), person, role)
        for person in PEOPLE:
            topic = {"person": self.ids[person.key], "topic": "respirators: wearing, checking, keeping"}
            topic |= {"outside": "nurse of the harbour clinic", "expires": _year_on(self._after(16).date)}
            self._write(self._at(self._after(16), 0.2), "odile", "training.signed", None, topic)

    def _fit(self, day: WorkDay, person: str) -> None:
        body: Body = {
            "person": self.ids[person],
            "respirator": WEARERS[person],
            "method": "qualitative",
            "result": "pass",
        }
        body |= {"expires": _year_on(day.date), "make_note": "bitter aerosol, tasted nothing"}
        self._write(self._at(day, 0.15), "odile", "fit.tested", None, body)

    def _sign(self, when: Moment, person: str, role: str) -> None:
        body: Body = {"person": self.ids[person], "machine": self.plant.shop.machines[role].id}
        body |= {"outside": "course at the machine's maker"} if person == "odile" else {"trainer": self.ids["odile"]}
        body |= {"expires": _year_on(when.day)} if role in YEARLY else {}
        self._write(when, "odile", "training.signed", role, body)

    def _note_hazards(self) -> None:
        """Two dozen and a few in a year; most are settled within the week, the last stands open."""
        for number, hazard in enumerate((*NOTED, *NOTED)):
            when = self._at(self._day((number + self.rng.uniform(0.1, 0.9)) / 25))
            key = self._note(when, hazard)
            later = [day for day in self.days if 0 < (day.date - when.day).days <= 9]
            if later:
                done = {"hazard": key, "done": hazard.done}
                self._write(self._at(self.rng.choice(later)), "odile", "hazard.closed", self._role(hazard), done)
        self._note(self._at(self._after(367), 0.6), LAST, self._estimate())

    def _role(self, hazard: Hazard) -> str | None:
        return None if hazard.role == "shop" else hazard.role

    def _note(self, when: Moment, hazard: Hazard, risk: Body | None = None) -> str:
        body: Body = {"process": hazard.process, "alloy": hazard.alloy, "medium": hazard.medium, "risk": risk}
        body |= {
            "minutes": self.rng.choice((10, 20, 30, 45, 60)),
            "controls": list(hazard.controls),
            "seen": list(hazard.seen),
        }
        body |= {"text": hazard.text, "near_miss": hazard.near_miss or None, "first_aid": hazard.first_aid or None}
        body["exposed"] = [self.ids[person] for person in hazard.exposed]
        return self._write(when, hazard.by, "hazard.noted", self._role(hazard), body)

    def _estimate(self) -> Body:
        """MIL-STD-882E: lasting harm, occasional; with the second gate shut, remote."""
        review = self._after(367).date + timedelta(days=30)
        cells = {"before": {"severity": 2, "probability": "C"}, "after": {"severity": 2, "probability": "D"}}
        return cells | {"agreed_by": self.ids["odile"], "review_on": review.isoformat()}

    def _collect_chips(self) -> None:
        """A drum goes to scrap when the mill has filled it; the collector's dust goes to waste once a month."""
        drums: dict[str, float] = defaultdict(float)
        dust = 0.0
        for number, plan in enumerate(self.plans):
            for run in plan.runs:
                drums[run.good.alloy] += run.amounts.get("spindle_hours", 0) * POUNDS_AN_HOUR[run.good.alloy]
                dust += run.amounts.get("belt_minutes", 0) * 0.012
            for alloy, pounds in drums.items():
                if pounds >= DRUM_FULL:
                    drums[alloy] = 0.0
                    body = {
                        "alloy": alloy,
                        "weight": round(pounds),
                        "unit": "lb",
                        "container": f"drum {1 + sorted(POUNDS_AN_HOUR).index(alloy)}",
                        "to": "scrap",
                    }
                    self._write(self._at(plan.day, 0.93), "femi", "chips.collected", "mill", body)
            if number % (5 * DUST_WEEKS) == 5 * DUST_WEEKS - 1:
                body = {
                    "alloy": "C36000",
                    "weight": round(dust, 1),
                    "unit": "lb",
                    "container": "lined bag",
                    "to": "waste",
                    "dust": True,
                }
                self._write(self._at(plan.day, 0.95), "femi", "chips.collected", "collector", body)
                dust = 0.0

    def _purge(self) -> None:
        """After blasting the timer runs; now and then somebody is in a hurry."""
        cabinet = self.plant.shop.machines["cabinet"].id
        zone = ZoneInfo(self.plant.shop.zone)
        blasted = [
            datetime.fromtimestamp(one.true_ms / 1000, zone)
            for one in self.plant.log.made()
            if one.entry["kind"] == "batch.run" and one.entry["machine"] == cabinet
        ]
        for at in blasted:
            hurry = self.rng.random() < 0.03
            seconds = self.rng.randint(14, 40) if hurry else PURGE_NEEDED + self.rng.randint(0, 25)
            when = Moment(at.date(), 60 * at.hour + at.minute + 1.5)
            self._write(when, "wanda", "purge.run", "cabinet", {"seconds": seconds, "needed": PURGE_NEEDED})


def _year_on(day: date) -> str:
    """The last day of what holds a year; a 29 February ends on the 28th."""
    try:
        return day.replace(year=day.year + 1).isoformat()
    except ValueError:
        return day.replace(year=day.year + 1, day=28).isoformat()
