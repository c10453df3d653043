"""Pictures of the app over the demo shop: those in the README, or every screen in both sizes, by day and by night.

python -m tests.browser.screenshots              writes static/screenshots/*.png
python -m tests.browser.screenshots --all DIR    writes every screen into DIR, to be looked at
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flask_migrate import upgrade
from PIL import Image
from playwright.sync_api import sync_playwright
from sqlalchemy import select

import seed_demo
from tests.browser.conftest import DESK, PHONE, Server, chromium_path
from tests.browser.shop_in_server import one_time_code
from webapp import create_app
from webapp.cli.common import owner_id
from webapp.config import Settings
from webapp.database import db, writing
from webapp.records.models import Entry
from webapp.security import passwords
from webapp.setup.definitions import list_all

FOR_README = Path(__file__).parents[2] / "static" / "screenshots"
PERSON = "Ruben Askey"
PIN = "2905"
PASSWORD = "for pictures only"
AIR_FORMS = ("hazard", "check", "exposure", "ppe", "fit", "training", "chips")
SIZES = {"phone": PHONE, "desk": DESK}


@dataclass(frozen=True)
class Screen:
    """A place to go to, and what to press when there."""

    name: str
    route: str
    press: tuple[str, ...] = ()


def seed(data: Path) -> dict[str, str]:
    """Make the demo shop; the ids that routes need: machines by starter, a start-up checklist, newest entries."""
    app = create_app(Settings(data=data, plain=True))
    with app.app_context():
        upgrade()
        seed_demo.seed(app, lambda percent, told: None)
        session = db.session()
        found = {str(machine["starter"]): str(machine["id"]) for machine in list_all(session, "machine")}
        for checklist in list_all(session, "checklist"):
            if checklist["form"] == "start-up" and checklist["machine"] == found["cnc_mill"]:
                found["round"] = str(checklist["id"])
        for machine in list_all(session, "machine"):
            found |= {f"{machine['starter']} {part['name']}": str(part["id"]) for part in machine["parts"]}
            found |= {f"{machine['starter']} {fluid['name']}": str(fluid["id"]) for fluid in machine["fluids"]}
        for kind in ("round.done", "part.changed", "finding.opened", "hazard.noted", "exposure.measured", "batch.run"):
            newest = select(Entry.id).where(Entry.kind == kind).order_by(Entry.ms.desc()).limit(1)
            found[kind] = str(session.execute(newest).scalar_one())
        with writing() as session:
            passwords.set_password(session, owner_id(session) or "", PASSWORD)
        db.session.remove()
        db.engine.dispose()
    return found


def screens(ids: dict[str, str]) -> list[Screen]:
    """Every place, in the order of the nav."""
    mill, saw, sander = ids["cnc_mill"], ids["band_saw"], ids["belt_sander"]
    return [
        Screen("today", "today"),
        Screen("weeks-ahead", "ahead"),
        Screen("shop", "shop"),
        Screen("machine", f"machine/{mill}"),
        Screen("saw", f"machine/{saw}"),
        Screen("wearing-blade", f"wearing/{saw}/{ids['band_saw Blade']}"),
        Screen("wearing-few", f"wearing/{saw}/{ids['band_saw Chip brush']}"),
        Screen("wearing-belt", f"wearing/{sander}/{ids['belt_sander Abrasive belt']}"),
        Screen("coolant", f"coolant/{mill}/{ids['cnc_mill Coolant']}"),
        Screen("way-oil", f"coolant/{mill}/{ids['cnc_mill Way oil']}"),
        Screen("round", f"round/{mill}/{ids['round']}", ("Begin",)),
        Screen("tag", f"tag/{mill}"),
        Screen("log", "log"),
        Screen("log-coolant", f"log/coolant?machine={mill}"),
        Screen("sums", "sums"),
        *(Screen(f"sum-{name}", f"sums/{name}") for name in ("cut-area", "teeth", "dilution", "pump-up", "noise")),
        *(Screen(f"log-{form}", f"log/{form}") for form in ("part", "fluid", "meter", "batch", "note")),
        Screen("log-batch-stop", f"log/batch?machine={sander}&alloy=C17200"),
        Screen("air", "air"),
        Screen("air-work", f"air/work?machine={sander}&alloy=C17200&process=dry_sand"),
        Screen("air-alloys", "air/alloys"),
        Screen("air-alloy", "air/alloy/C36000"),
        Screen("air-medium", "air/medium/silica_sand"),
        Screen("air-purge", f"air/purge/{ids['blast_cabinet']}"),
        *(
            Screen(f"air-{page.partition('/')[0]}", f"air/{page}")
            for page in ("exposures", "trends", "people", "rates", "measure/lead", "hazards", "log")
        ),
        *(Screen(f"air-log-{form}", f"air/log/{form}") for form in AIR_FORMS),
        Screen("records", "records"),
        Screen("records-filtered", f"records?machine={saw}&alloy=C36000"),
        Screen("records-finding", f"records?finding={ids['finding.opened']}"),
        *(Screen(f"records-{page}", f"records/{page}") for page in ("findings", "rounds", "on-time", "time")),
        Screen("records-rounds-mill", f"records/rounds?machine={mill}"),
        Screen("records-time-mill", f"records/time?machine={mill}"),
        Screen("history", f"history/{mill}"),
        Screen("history-weeks", f"history/{sander}?days=28"),
        Screen("history-year", f"history/{mill}?days=371"),
        Screen("record-round", f"records/{ids['round.done']}"),
        Screen("record-part", f"records/{ids['part.changed']}"),
        Screen("record-batch", f"records/{ids['batch.run']}", ("Amend it",)),
        Screen("record-hazard", f"records/{ids['hazard.noted']}"),
        Screen("record-exposure", f"records/{ids['exposure.measured']}", ("Amend it",)),
        Screen("this-phone", "phone"),
        Screen("setup", "setup"),
        Screen("setup-reminders", "setup/reminders"),
        Screen("setup-shop", "setup/shop"),
        Screen("setup-alloys", "setup/alloys"),
        Screen("papers", "papers"),
        Screen("log-sheet", "log/sheet"),
        Screen("log-stock", "log/stock"),
    ]


README_SCREENS = {"today": "phone", "round": "phone", "machine": "phone", "shop": "desk", "records": "desk"}


def sign_in(page: Any, server: Server) -> None:
    """Join as anybody would, then say the owner's password, so that set-up can be seen too."""
    page.goto(f"{server.base}/#/join?code={one_time_code(server)}")
    page.get_by_label("Name of this device").fill("Picture phone")
    page.get_by_role("button", name="Join").click()
    page.get_by_role("button", name=PERSON).click()
    for digit in PIN:
        page.get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Enter").click()
    page.get_by_role("link", name="Today").first.wait_for()
    page.goto(f"{server.base}/#/signin")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Set-up", exact=True).wait_for()


def visit(page: Any, base: str, screen: Screen, file: Path) -> None:
    page.goto(f"{base}/#/{screen.route}")
    page.wait_for_timeout(600)
    for label in screen.press:
        button = page.get_by_role("button", name=label)
        if button.count():
            button.first.click()
            page.wait_for_timeout(300)
    page.screenshot(path=str(file), full_page=False)


def shrink(file: Path) -> None:
    """Flat colours need no more than 128 of them."""
    Image.open(file).convert("RGB").quantize(128).save(file, optimize=True)


def take(server: Server, ids: dict[str, str], out: Path, chosen: Callable[[str, str, str], bool]) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=["--no-sandbox"])
        for size, viewport in SIZES.items():
            for scheme in ("light", "dark"):
                wanted = [screen for screen in screens(ids) if chosen(screen.name, size, scheme)]
                if not wanted:
                    continue
                page = browser.new_context(viewport=viewport, color_scheme=scheme).new_page()
                sign_in(page, server)
                for screen in wanted:
                    file = out / f"{screen.name}-{size}-{scheme}.png"
                    visit(page, server.base, screen, file)
                    shrink(file)
                    print(file)
                page.context.close()
        browser.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", type=Path, metavar="DIR")
    everything = parser.parse_args().all
    out = everything or FOR_README
    out.mkdir(parents=True, exist_ok=True)

    def chosen(name: str, size: str, scheme: str) -> bool:
        return bool(everything) or (README_SCREENS.get(name) == size and scheme == "light")

    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder))
        ids = seed(server.data)
        server.start()
        try:
            take(server, ids, out, chosen)
        finally:
            server.stop()


if __name__ == "__main__":
    main()
