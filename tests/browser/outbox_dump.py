"""What a phone of some released version holds while it is without signal, kept as a file to be opened by later ones.

python -m tests.browser.outbox_dump     writes outboxes/VERSION.json; run it once before each release
"""

from __future__ import annotations

import io
import json
import re
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from tests.browser.conftest import Server, chromium_path
from tests.browser.shop_in_server import ANN, enrol, furnish, go, keep, note, open_as, unsent

FOLDER = Path(__file__).parent / "outboxes"


def app_version() -> str:
    """The version of the front end in this checkout."""
    package = Path(__file__).parents[2] / "static" / "package.json"
    return str(json.loads(package.read_text(encoding="utf-8"))["version"])


# Bytes travel as {"base64": …}: a photo's are an ArrayBuffer, which JSON does not know.
READ_DATABASE = """async (name) => {
  const asked = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const plain = (key, value) => value instanceof ArrayBuffer
    ? { base64: btoa(String.fromCharCode(...new Uint8Array(value))) } : value;
  const db = await asked(indexedDB.open(name));
  const stores = {};
  for (const store of db.objectStoreNames) {
    const at = db.transaction(store).objectStore(store);
    const [keys, values] = await Promise.all([asked(at.getAllKeys()), asked(at.getAll())]);
    stores[store] = {
      keyPath: at.keyPath, autoIncrement: at.autoIncrement,
      indexes: [...at.indexNames].map((one) => ({ name: one, keyPath: at.index(one).keyPath, unique: at.index(one).unique })),
      rows: keys.map((key, index) => [key, values[index]]),
    };
  }
  const version = db.version;
  db.close();
  const outside = Object.fromEntries(Object.entries(localStorage));
  return JSON.stringify({ version, stores, outside }, plain);
}"""

WRITE_DATABASE = """([name, text]) => new Promise((resolve, reject) => {
  const bytes = (key, value) => value && typeof value.base64 === "string"
    ? Uint8Array.from(atob(value.base64), (char) => char.charCodeAt(0)).buffer : value;
  const { version, stores, outside } = JSON.parse(text, bytes);
  for (const [key, value] of Object.entries(outside)) localStorage.setItem(key, value);
  const asked = indexedDB.open(name, version);
  asked.onupgradeneeded = () => {
    for (const [store, { keyPath, autoIncrement, indexes, rows }] of Object.entries(stores)) {
      const at = asked.result.createObjectStore(store, { keyPath: keyPath ?? undefined, autoIncrement });
      for (const one of indexes) at.createIndex(one.name, one.keyPath, { unique: one.unique });
      for (const [key, value] of rows) keyPath ? at.put(value) : at.put(value, key);
    }
  };
  asked.onsuccess = () => { asked.result.close(); resolve(null); };
  asked.onerror = () => reject(asked.error);
})"""

# A day that is past wherever the file is opened; what is typed in afterwards may be older than this app.
MADE_ON = "2025-01-06"


def ids_in(page: Any, ids: dict[str, str], device: str) -> dict[str, str]:
    """The ids that differ from shop to shop, by the name they have in a file as @name@."""
    held = json.loads(page.evaluate(READ_DATABASE, f"wayround-{device}"))
    definitions = [row for _, row in held["stores"]["definitions"]["rows"]]
    mill = next(row for row in definitions if row["id"] == ids["mill"])
    lists = [row for row in definitions if row["type"] == "checklist" and row["machine"] == mill["id"]]
    checklist = next(row for row in lists if row["form"] == "start-up")
    return {
        "device": device,
        "ann": ids["ann"],
        "mill": mill["id"],
        "checklist": checklist["id"],
        "spindle": next(one["id"] for one in mill["meters"] if one["kind"] == "spindle_hours"),
        "belt": next(one["id"] for one in mill["parts"] if one["kind"] == "belt"),
        "way_oil": next(one["id"] for one in mill["fluids"] if one["kind"] == "way_oil"),
    }


def dump(page: Any, names: dict[str, str]) -> dict[str, Any]:
    """The phone's whole database but for what the server can tell again, its ids replaced by their names."""
    text: str = page.evaluate(READ_DATABASE, f"wayround-{names['device']}")
    for name, id_ in names.items():
        text = text.replace(id_, f"@{name}@")
    text = re.sub(rf"{page.evaluate('() => new Date().toISOString().slice(0, 10)')}(?=T)", MADE_ON, text)
    held: dict[str, Any] = json.loads(text)
    for store in ("definitions", "state", "entries"):
        held["stores"][store]["rows"] = []
    held["stores"]["meta"]["rows"] = [row for row in held["stores"]["meta"]["rows"] if row[0] == "seq"]
    return held


def plant(page: Any, text: str, names: dict[str, str]) -> None:
    """Put such a file in this browser in the place of the app's database, which must not exist yet."""
    for name, id_ in names.items():
        text = text.replace(f"@{name}@", id_)
    page.evaluate(WRITE_DATABASE, [f"wayround-{names['device']}", text])


def refuse(route: Any) -> None:
    """Answer a push as a server that takes nothing of it."""
    problem = {"title": "The entry was refused", "status": 422, "errors": []}
    results = [
        {"id": one["id"], "outcome": "refused", "problem": problem} for one in route.request.post_data_json["entries"]
    ]
    route.fulfill(json={"results": results, "head": 0, "gaps": []})


def make_entries(server: Server, page: Any, names: dict[str, str]) -> None:
    """A refused entry, then without the server one of several kinds, a photo, and a round half walked."""
    page.context.route("**/api/v1/sync/push", refuse)
    note(page, "refused once")
    page.get_by_role("link", name="1 entry refused: look").wait_for()
    server.stop()
    page.context.unroute("**/api/v1/sync/push")
    mill = names["mill"]
    go(page, "log/note")
    page.get_by_label("Note").fill("a note with a photo")
    image = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 60, 20)).save(image, "JPEG")
    page.locator("input[type=file]").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": image.getvalue()}
    )
    keep(page, "Keep the note")
    go(page, f"log/meter?machine={mill}")
    page.get_by_label("Meter", exact=True).select_option(label="Spindle hours")
    page.get_by_label("What the counter shows").fill("812.5")
    keep(page, "Keep the reading")
    go(page, f"log/part?machine={mill}")
    page.get_by_label("Part", exact=True).select_option(label="Spindle belt")
    page.get_by_label("Worn out").check()
    page.get_by_label("From the drawer").select_option(label="Nothing from the drawer")
    keep(page, "Keep the change")
    go(page, f"log/fluid?machine={mill}")
    page.get_by_label("Fluid", exact=True).select_option(label="Way oil")
    page.get_by_label("How much").fill("0.1")
    keep(page, "Keep it")
    go(page, f"finding/{mill}")
    page.get_by_label("What is wrong").fill("Door window is crazed")
    page.get_by_label("Yes, it must not start").check()
    page.get_by_label("Tag Mill 1 at once").check()
    keep(page, "Keep the finding")
    go(page, f"round/{mill}/{names['checklist']}")
    page.locator(".forward").click()
    page.get_by_text("2 of 8").wait_for()


def main() -> None:
    """Write the file of the version that is installed."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = Server(Path(folder) / "shop")
        ids = furnish(server, machines={"mill": "cnc_mill"})
        server.start()
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=["--no-sandbox"])
        try:
            context = browser.new_context()
            device = enrol(server, context, "Old phone")
            page = open_as(server, context, ANN)
            names = ids_in(page, ids, device)
            make_entries(server, page, names)
            target = FOLDER / f"{app_version()}.json"
            target.write_text(json.dumps(dump(page, names), indent=1) + "\n", encoding="utf-8")
            print(f"{target}: {len(unsent(page))} entries")
        finally:
            browser.close()
            if server.process:
                server.stop()


if __name__ == "__main__":
    main()
