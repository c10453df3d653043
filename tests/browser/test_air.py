"""Air & dust on a phone: the stop before the work, the purge timer that outlives its tab, the forms, all without signal."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import Works
from tests.browser.shop_in_server import (
    ANN,
    BEN,
    enrol,
    go,
    keep,
    name_oneself,
    open_as,
    record,
    unsent,
    wait_sent,
)
from webapp.library import DEFERENCE

pytestmark = pytest.mark.browser

FORMS = ("hazard", "check", "exposure", "ppe", "fit", "training", "chips")
MEMORY = "() => Object.keys(localStorage).filter((key) => key.startsWith('wayround.purge.'))"


def phone(works: Works, device: Callable[..., Any], person: str = ANN) -> Any:
    """An enrolled phone that holds the cards."""
    context = device()
    enrol(works.server, context)
    page = open_as(works.server, context, person)
    go(page, "air/alloys")
    page.get_by_role("link", name="Beryllium copper 25").first.wait_for()
    return page


def in_view(page: Any, locator: Any) -> bool:
    """Whether it stands within the screen as it is, over what sticks to its foot."""
    box = locator.bounding_box()
    return bool(box) and box["y"] >= 0 and box["y"] + 40 < page.viewport_size["height"]


def test_the_stop_appears_before_dry_sanding_beryllium_without_signal(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    before = len(record(air.server))
    air.server.stop()
    page.reload()
    name_oneself(page, ANN)
    go(page, f"log/batch?machine={air.ids['sander']}")
    assert page.get_by_text("Do not start").count() == 0
    assert page.get_by_label("Work").input_value() == "dry_sand"  # what a belt sander is for
    page.get_by_label("Alloy").select_option(label="C17200 Beryllium copper 25")
    stop = page.get_by_role("alert").filter(has_text="Do not start: 1 stop")
    stop.get_by_text("An assessed, enclosed and measured set-up for beryllium must be on record").wait_for()
    assert in_view(page, stop), "the stop stands below the fold"
    minutes, button = page.get_by_label("Belt minutes"), page.get_by_role("button", name="Keep the batch")
    tops = [one.bounding_box()["y"] for one in (stop, page.locator(".caution-danger").first, minutes, button)]
    assert tops == sorted(tops), "the work is typed in before its stop"
    assert page.locator(".caution").count() >= 2
    assert page.locator(".caution").count() == page.locator(".caution").filter(has_text=DEFERENCE).count()

    minutes.fill("20")
    button.click()
    page.get_by_text("A stop stands. If it was run all the same, tick that it was").wait_for()
    assert unsent(page) == []
    page.get_by_label("It was run all the same").check()
    keep(page, "Keep the batch")
    made = unsent(page)
    assert [entry["kind"] for entry in made] == ["batch.run", "hazard.noted"]
    assert made[0]["body"]["alloy"] == "C17200"
    assert made[1]["body"]["text"].startswith("Run although a stop stood: An assessed")

    air.server.start()
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    assert [entry["kind"] for entry in record(air.server)[before:]] == ["batch.run", "hazard.noted"]
    go(page, "air/hazards")
    page.get_by_role("link", name=re.compile("Run although a stop stood")).click()
    page.get_by_label("What was done").fill("Sent out to a shop that is equipped for it")
    keep(page, "Settle the hazard")
    wait_sent(page)


def test_a_leaded_brass_on_the_same_sander_is_not_stopped(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    go(page, f"log/batch?machine={air.ids['sander']}")
    page.get_by_label("Alloy").select_option(label="C36000 Free-cutting brass")
    page.locator(".caution").first.wait_for()
    assert page.get_by_text("Do not start").count() == 0
    page.get_by_label("Alloy").select_option(label="C17200 Beryllium copper 25")
    page.get_by_text("Do not start: 1 stop").wait_for()
    page.get_by_text("This set-up: tick what is so").click()
    page.get_by_label("A competent person assessed this set-up").check()
    page.get_by_text("Do not start").first.wait_for(state="detached")


def figures(page: Any, works: Works, seconds: str) -> None:
    """Go to the cabinet's timer and give the time posted on its door."""
    go(page, f"air/purge/{works.ids['cabinet']}")
    page.get_by_label("Time posted on the door").fill(seconds)


def left(page: Any) -> int:
    """Seconds left on the screen."""
    minutes, seconds = page.get_by_role("timer").inner_text().split(":")
    return int(minutes) * 60 + int(seconds)


@dataclass(frozen=True)
class Pressed:
    """When a wait of so many seconds was begun by a button: within these two moments of the test's own clock."""

    whole: float
    before: float
    after: float

    def hold(self, page: Any) -> None:
        """The screen tells what is left by our clock, however slow this computer is; it is drawn once a second."""
        early = monotonic()
        shown = left(page)
        late = monotonic()
        assert self.whole - (late - self.before) - 2 <= shown <= self.whole - (early - self.after) + 2


def start_purge(page: Any, whole: float) -> Pressed:
    """Press the button that begins the wait."""
    before = monotonic()
    page.get_by_role("button", name="Blasting has stopped: start the purge").click()
    page.get_by_text("Keep the door shut", exact=True).wait_for()
    return Pressed(whole, before, monotonic())


def test_a_purge_outlives_a_reload_and_a_killed_tab(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    air.server.stop()
    figures(page, air, "")
    page.get_by_label("Cabinet volume").fill("12")
    page.get_by_label("Exhaust flow").fill("100")
    # t = -K ln(0.01) V/Q = 3 x 4.60517 x 12 / 100 min = 99.47 s (CDC 2003, Table B.1, with the mixing factor): up to 100.
    page.get_by_role("timer").filter(has_text="1:40").wait_for()
    pressed = start_purge(page, 100)
    page.wait_for_timeout(2500)
    pressed.hold(page)
    page.reload()
    name_oneself(page, ANN)
    page.get_by_role("timer").wait_for()
    page.wait_for_timeout(700)
    pressed.hold(page)

    context = page.context
    page.close()  # the tab is gone: nothing of it runs
    other = context.new_page()
    other.wait_for_timeout(3000)
    other.goto(f"{air.server.base}/#/air/purge/{air.ids['cabinet']}")
    name_oneself(other, ANN)
    other.get_by_role("timer").wait_for()
    other.wait_for_timeout(700)
    pressed.hold(other)  # it counted while its tab was gone

    other.evaluate(f"() => {{ for (const key of ({MEMORY})()) localStorage.removeItem(key); }}")
    other.reload()  # the database has it too
    name_oneself(other, ANN)
    other.get_by_text("Keep the door shut", exact=True).wait_for()
    air.server.start()


def test_a_clock_set_back_or_forward_does_not_shorten_the_wait(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    figures(page, air, "120")
    pressed = start_purge(page, 120)
    page.wait_for_timeout(1200)
    page.evaluate("() => { const real = Date.now; globalThis.__real = real; Date.now = () => real() - 3_600_000; }")
    page.wait_for_timeout(1500)
    pressed.hold(page)
    page.evaluate("() => { Date.now = () => globalThis.__real() + 3_600_000; }")
    page.wait_for_timeout(1500)
    pressed.hold(page)  # a clock set forward does not open the door
    page.evaluate("() => { Date.now = globalThis.__real; }")
    page.get_by_role("button", name="The door was opened before the end").click()
    page.get_by_role("button", name="Keep it as cut short").click()
    page.get_by_text("cut short", exact=True).wait_for()
    wait_sent(page)
    short = [entry["body"] for entry in record(air.server) if entry["kind"] == "purge.run"][-1]
    assert short["needed"] == 120
    assert 1 <= short["seconds"] <= monotonic() - pressed.before


def test_the_door_check_waits_for_the_purge_which_goes_in_the_record(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    before = len(record(air.server))
    snapshot = page.context.request.get(f"{air.server.base}/api/v1/sync/snapshot").json()
    lists = [one for one in snapshot["definitions"]["checklists"] if one["machine"] == air.ids["cabinet"]]
    shut_down = next(one for one in lists if one["form"] == "shut-down")
    assert shut_down["checks"][0]["caution"] == "open_cabinet"
    figures(page, air, "6")
    page.get_by_role("button", name="Blasting begins: hold the door").click()
    page.get_by_text("Blasting. The wait begins when it has stopped.").wait_for()
    go(page, f"round/{air.ids['cabinet']}/{shut_down['id']}")
    page.get_by_text("This check waits until the purge").wait_for()
    assert page.locator(".forward").count() == 0, "the door check can be answered while the purge runs"
    page.get_by_role("link", name="Purge timer").click()
    page.get_by_role("button", name="Blasting has stopped: start the purge").click()
    go(page, f"round/{air.ids['cabinet']}/{shut_down['id']}")
    page.get_by_text("This check waits until the purge").wait_for()
    page.locator(".forward").wait_for()  # by itself, once the wait is over
    wait_sent(page)
    runs = [entry for entry in record(air.server)[before:] if entry["kind"] == "purge.run"]
    assert [entry["body"] for entry in runs] == [{"seconds": 6, "needed": 6}]
    go(page, "today")
    page.reload()
    name_oneself(page, ANN)
    go(page, f"air/purge/{air.ids['cabinet']}")
    page.get_by_text("6 s of 6 s").wait_for()
    page.wait_for_timeout(1200)
    assert len([entry for entry in record(air.server)[before:] if entry["kind"] == "purge.run"]) == 1


def test_who_has_no_sign_off_is_told_at_the_round_and_the_lead_reads_of_it(
    air: Works, device: Callable[..., Any]
) -> None:
    page = phone(air, device)
    go(page, "air/log/training")
    page.get_by_label("Person").select_option(label=ANN)
    page.get_by_label("Machine").select_option(label="Sander")
    page.get_by_label("Trainer or course from elsewhere").fill("Evening course")
    keep(page, "Sign it off")
    wait_sent(page)
    bens = phone(air, device, BEN)
    snapshot = page.context.request.get(f"{air.server.base}/api/v1/sync/snapshot").json()
    start_up = next(
        one
        for one in snapshot["definitions"]["checklists"]
        if one["machine"] == air.ids["sander"] and one["form"] == "start-up"
    )
    address = f"round/{air.ids['sander']}/{start_up['id']}"
    go(page, address)
    page.locator(".forward").wait_for()
    assert page.get_by_text("no current sign-off").count() == 0
    go(bens, address)
    bens.get_by_text(f"{BEN}, you have no current sign-off for").wait_for()
    for n in range(1, len(start_up["checks"]) + 1):
        bens.get_by_text(f"{n} of {len(start_up['checks'])}").wait_for()
        bens.locator(".round-more").get_by_role("button", name="Not applicable").click()
        if bens.get_by_text("This is a stop check. Write in the note").count():
            bens.get_by_label("Note").fill("for the test")
            bens.locator(".round-more").get_by_role("button", name="Not applicable").click()
    bens.get_by_role("button", name=re.compile("^Finish")).click()
    bens.get_by_text("It is in the record.").wait_for()
    bens.evaluate("() => { location.hash = '#/today'; }")
    wait_sent(bens)
    go(page, "air/people")
    page.evaluate("() => dispatchEvent(new Event('online'))")
    told = page.locator(".notice").filter(has_text="Rounds walked without a current sign-off")
    told.get_by_text(f"{BEN} at").wait_for(timeout=70_000)


def test_each_form_is_kept_without_signal_and_taken_by_the_server(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    before = len(record(air.server))
    air.server.stop()
    go(page, "air/log/check")
    page.get_by_label("Machine").select_option(label="Blast cabinet")
    page.get_by_label("Static pressure").check()
    page.get_by_label("Reading", exact=True).fill("1.5")
    page.get_by_label("This is the commissioning figure").check()
    keep(page, "Keep the check")
    go(page, f"air/log/check?machine={air.ids['cabinet']}")
    page.get_by_label("Static pressure").check()
    page.get_by_label("Reading", exact=True).fill("1.1")
    # 1.1 / 1.5 is 26.7 % less: more than the 20 % of 29 CFR 1910.94(a)(4)(i)(b).
    page.get_by_text("less suction").wait_for()
    keep(page, "Keep the check")

    go(page, "air/log/exposure")
    page.get_by_label("What was measured").select_option(label="Noise")
    page.get_by_label("Place", exact=True).fill("At the sander")
    page.get_by_label("Level").fill("95")
    page.get_by_label("Over").fill("240")
    # 4 h at 95 dBA is the whole dose (29 CFR 1910.95 Table G-16).
    page.get_by_role("status").get_by_text("at or over the limit").first.wait_for()
    keep(page, "Keep the measurement")
    go(page, "air/exposures")
    page.get_by_role("heading", name=re.compile("^Noise")).wait_for()
    page.get_by_text("dose 100 %, beside the limit of 90 dBA").wait_for()

    go(page, "air/log/hazard")
    page.get_by_label("Work", exact=True).select_option(label="Dry sanding")
    page.get_by_label("Visible dust").check()
    page.get_by_label("Estimate the risk").check()
    page.get_by_label("Severity", exact=True).select_option("2")
    page.get_by_label("Probability", exact=True).select_option("C")
    page.get_by_text("Serious (2C)").wait_for()  # MIL-STD-882E, Table III
    page.get_by_label("Agreed by").select_option(label=ANN)
    keep(page, "Keep the hazard")

    go(page, "air/log/ppe")
    page.get_by_label("Lungs").check()
    page.get_by_label("Issued").check()
    page.get_by_label("Change after").fill("40")
    keep(page, "Keep it")
    go(page, "air/log/fit")
    page.get_by_label("Person").select_option(label=BEN)
    page.get_by_label("Respirator").fill("Half mask, medium")
    page.get_by_label("Quantitative").check()
    page.get_by_role("textbox", name="Fit factor").fill("80")
    page.get_by_text("It does not reach 100").wait_for()  # 29 CFR 1910.134, Appendix A
    page.get_by_role("button", name="Keep the test").click()
    page.get_by_text("so it is not passed").wait_for()
    page.get_by_role("textbox", name="Fit factor").fill("180")
    keep(page, "Keep the test")
    go(page, "air/log/chips")
    page.get_by_label("Alloy").select_option(label="C36000 Free-cutting brass")
    page.get_by_label("Weight").fill("42")
    page.get_by_label("Container").fill("Drum 3")
    keep(page, "Keep the weight")

    air.server.start()
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    stored = [entry["kind"] for entry in record(air.server)[before:]]
    assert stored == [
        "air.checked", "air.checked", "exposure.measured", "hazard.noted", "ppe.checked", "fit.tested", "chips.collected",
    ]  # fmt: skip
    assert page.get_by_text("refused").count() == 0
    go(page, "air/exposures")
    page.get_by_role("heading", name=re.compile("^Noise")).wait_for(timeout=70_000)
    assert page.locator("main").get_by_text(re.compile(r"\bsafe\b|\bcompliant\b", re.IGNORECASE)).count() == 0


def test_rates_noise_and_what_to_measure_are_worked_out_without_signal(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    page.context.set_offline(True)
    go(page, "air/rates")
    page.get_by_label("Recordable cases, all of them").fill("1")
    page.get_by_label("Hours that all people worked").fill("10000")
    # A machine shop of five: 20.0 (COMAR 09.12.24.09).
    page.get_by_text("chance alone: 0.5 to 111.4; with one more case 40").first.wait_for()
    page.get_by_text("None of them counts of itself.").wait_for()
    go(page, "sums/noise")
    page.get_by_label("Level", exact=True).fill("95")
    page.get_by_label("For", exact=True).fill("240")
    page.get_by_text("at or over the limit", exact=True).wait_for()  # 29 CFR 1910.95, Table G-16
    page.get_by_label("Level 2", exact=False).first.wait_for()
    go(page, "air/measure/lead")
    page.get_by_label("Reporting limit").fill("1")
    page.get_by_text("takes 100 min, 200 L").wait_for()  # 1 ug / (0.1 x 0.05 mg/m3)


def test_the_screens_stand_up_to_axe(air: Works, device: Callable[..., Any]) -> None:
    page = phone(air, device)
    audit = Audit(page)
    places = [
        "air", "air/work?alloy=C17200&process=dry_sand", "air/alloys", "air/alloy/C36000", "air/media",
        "air/medium/silica_sand", "air/purge", f"air/purge/{air.ids['cabinet']}", "air/exposures", "air/trends",
        "air/people", "air/hazards", "air/log", *[f"air/log/{form}" for form in FORMS],
        f"log/batch?machine={air.ids['sander']}&alloy=C17200",
    ]  # fmt: skip
    for place in places:
        go(page, place)
        page.wait_for_function("() => document.querySelector('h1')?.textContent.trim()")
        audit.look(place)
    go(page, "air/log/hazard")
    page.get_by_label("Estimate the risk").check()
    for more in page.locator("details.more summary").all():
        more.click()
    audit.look("a hazard with everything open")
    assert audit.found == []
