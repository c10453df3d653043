"""Changes and snapshot: nothing is skipped, nothing of one's own comes back, sizes stay bounded."""

from __future__ import annotations

import hashlib
import io
import threading
import uuid
from typing import Any

import pytest
from PIL import Image
from sqlalchemy import text

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.append import Delivery, append
from webapp.setup.definitions import known
from webapp.setup.ids import now_ms


def pull_all(shop: Shop, token: str, limit: int, after: int = 0) -> list[dict[str, Any]]:
    """Every page, and a check that the cursor of each is where its last entry lies."""
    entries: list[dict[str, Any]] = []
    for _ in range(200):
        page = shop.get("/sync/changes", token=token, after=after, limit=limit).get_json()
        entries += page["entries"]
        after = page["head"]
        if not page["more"]:
            return entries
        assert page["entries"][-1]["position"] == page["head"]
    raise AssertionError("the pages never end")


def test_1_a_late_commit_is_never_stepped_over(either_shop: Shop) -> None:
    """A writer holds its number while a second writes and a reader pulls: the reader still gets all."""
    shop = either_shop
    _, token = shop.enrol()
    assert (
        shop.get("/sync/changes", token=token).status_code == 200
    )  # a device's first call also notes that it was seen
    slow, quick = shop.note("slow"), shop.note("quick")
    numbered, go_on = threading.Event(), threading.Event()

    def slow_writer() -> None:
        with shop.app.app_context(), writing() as session:
            append(session, Delivery(shop.device, now_ms(), now_ms()), [slow], known(session))
            numbered.set()
            go_on.wait(10)

    writer = threading.Thread(target=slow_writer)
    writer.start()
    assert numbered.wait(10)
    second = threading.Thread(target=lambda: shop.push(quick))
    second.start()
    first_pull = pull_all(shop, token, 500)
    go_on.set()
    writer.join()
    second.join()
    after = first_pull[-1]["position"]
    rest = pull_all(shop, token, 500, after)
    assert {slow["id"], quick["id"]} <= {entry["id"] for entry in first_pull + rest}
    positions = [entry["position"] for entry in first_pull + rest]
    assert positions == list(range(1, len(positions) + 1))


def test_2_pages_of_equal_stamps(either_shop: Shop) -> None:
    shop = either_shop
    _, token = shop.enrol()
    at = instant_text(now_ms())
    entries = [shop.note(str(n), at=at) for n in range(9)]
    shop.push(*entries)
    pulled = [entry["id"] for entry in pull_all(shop, token, 3) if entry["kind"] == "note.made"]
    assert pulled == [entry["id"] for entry in entries]


@pytest.mark.parametrize("extra", [-1, 0, 1])
def test_8_pages_end_at_the_exact_size(shop: Shop, extra: int) -> None:
    _, token = shop.enrol()
    first = len(pull_all(shop, token, 5000))
    shop.push(*[shop.note() for _ in range(10)])
    assert len(pull_all(shop, token, (first + 10) // 2 + extra)) == first + 10


def test_26_own_entries_come_back_without_bodies(shop: Shop) -> None:
    entries = [shop.note("long " * 50) for _ in range(4)]
    before = shop.get("/sync/changes", limit=5000).get_json()["head"]
    shop.push(*entries)
    page = shop.get("/sync/changes", after=before).get_json()
    assert page["entries"] == [{"id": entry["id"], "position": before + 1 + n} for n, entry in enumerate(entries)]


def test_changes_carry_the_state_they_left_and_nothing_else(shop: Shop) -> None:
    _, token = shop.enrol()
    shop.push(shop.added(5))
    head = shop.get("/sync/changes", limit=5000).get_json()["head"]
    tag = shop.entry("tag.on", {"why": "guide jaw cracked"}, machine=shop.saw)
    shop.push(tag)
    page = shop.get("/sync/changes", token=token, after=head).get_json()
    assert list(page["state"]["machines"]) == [shop.saw]
    assert page["state"]["machines"][shop.saw]["tags"][tag["id"]]["why"] == "guide jaw cracked"
    assert shop.get("/sync/changes", after=page["head"]).get_json()["state"] == {
        "meters": {},
        "machines": {},
        "shop": None,
    }


def test_a_position_past_the_end_or_of_another_epoch_is_gone(shop: Shop) -> None:
    page = shop.get("/sync/changes", limit=5000).get_json()
    assert shop.get("/sync/snapshot").get_json()["epoch"] == page["epoch"]
    assert shop.get("/sync/changes", after=page["head"], epoch=page["epoch"]).status_code == 200
    for asked in ({"after": page["head"] + 1}, {"after": 0, "epoch": str(uuid.uuid4())}):
        gone = shop.get("/sync/changes", **asked)
        assert gone.status_code == 410 and "snapshot" in gone.get_json()["errors"][0]["mend"]


def test_an_edited_definition_reaches_who_pulls(shop: Shop) -> None:
    from webapp.setup import definitions

    head = shop.get("/sync/changes", limit=5000).get_json()["head"]
    with shop.app.app_context(), writing() as session:
        body = definitions.get(session, "machine", shop.saw)
        assert body is not None
        body = {k: v for k, v in body.items() if k not in ("id", "revision", "retired")}
        definitions.update(session, "machine", shop.saw, body | {"name": "Saw by the door"}, 1, shop.owner)
    page = shop.get("/sync/changes", after=head).get_json()
    assert [(row["type"], row["name"], row["revision"]) for row in page["definitions"]] == [
        ("machine", "Saw by the door", 2)
    ]
    assert page["entries"][0]["kind"] == "definition.revised"


def test_the_snapshot_is_what_a_new_phone_needs(shop: Shop) -> None:
    shop.push(shop.added(1.5), shop.added(2))
    body = shop.get("/sync/snapshot").get_json()
    machines = {machine["id"]: machine for machine in body["definitions"]["machines"]}
    assert machines[shop.mill]["name"] == "Mill 1"
    assert machines[shop.mill]["meters"][0]["id"] == shop.spindle
    assert [person["name"] for person in body["definitions"]["people"]] == ["Ada Quill"]
    assert body["state"]["meters"][shop.spindle]["total"] == 3.5
    assert body["head"] == max(entry["position"] for entry in body["entries"])


def test_the_snapshot_leaves_out_what_is_older_than_ninety_days(shop: Shop) -> None:
    old = shop.note("long ago", at="2024-03-01T08:00:00Z")
    shop.push(old, shop.note("today"))
    entries = shop.get("/sync/snapshot").get_json()["entries"]
    assert old["id"] not in {entry["id"] for entry in entries}


@pytest.mark.parametrize(
    ("query", "field"), [({"after": "x"}, "after"), ({"after": -1}, "after"), ({"limit": 0}, "limit")]
)
def test_bad_cursors_are_problems(shop: Shop, query: dict[str, Any], field: str) -> None:
    assert_problem(shop.get("/sync/changes", **query), 422, field)


def picture(size: tuple[int, int] = (40, 30)) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "a maker"
    Image.new("RGB", size, (90, 60, 20)).save(out, "JPEG", exif=exif)
    return out.getvalue()


def put_photo(shop: Shop, sha256: str, data: bytes) -> Any:
    return shop.app.test_client().put(f"/api/v1/photos/{sha256}", data=data, headers=shop.headers())


def test_a_photo_is_kept_by_its_content_without_its_metadata(shop: Shop) -> None:
    sent = picture()
    sha256 = hashlib.sha256(sent).hexdigest()
    entry = shop.entry("note.made", {"text": "see photo", "photo": sha256})
    assert shop.push(entry).get_json()["results"][0]["outcome"] == "stored", "an entry may come before its photo"
    assert_problem(shop.get(f"/photos/{sha256}"), 404, "sha256")
    assert put_photo(shop, sha256, sent).status_code == 204
    assert put_photo(shop, sha256, sent).status_code == 204
    kept = shop.get(f"/photos/{sha256}")
    image = Image.open(io.BytesIO(kept.data))
    assert image.size == (40, 30) and not image.getexif()


@pytest.mark.parametrize("data", [b"no image", b"\xff\xd8\xff\xe0 cut", picture()[:200]])
def test_a_photo_that_is_no_image_is_refused(shop: Shop, data: bytes) -> None:
    sha256 = hashlib.sha256(data).hexdigest()
    assert_problem(put_photo(shop, sha256, data), 422, "photo")
    assert_problem(shop.get(f"/photos/{sha256}"), 404)


def test_a_photo_under_a_wrong_name_is_refused(shop: Shop) -> None:
    assert_problem(put_photo(shop, "0" * 64, picture()), 422, "sha256")
    assert_problem(put_photo(shop, "nothing", picture()), 422, "sha256")


def test_any_altered_byte_is_found(shop: Shop) -> None:
    from webapp.records.verify import verify

    shop.push(shop.added(3), shop.entry("entry.voided", {"entry": shop.owner, "why": "x"}), shop.note("as it was"))
    changes = [
        "UPDATE entry SET document = replace(document, 'as it was', 'as it wss') WHERE document LIKE '%as it was%'",
        "UPDATE entry SET ms = ms + 1 WHERE position = 3",
        "UPDATE entry SET seq = seq + 1 WHERE position = 4",
        "UPDATE entry SET kind = 'tag.on' WHERE position = 5",
        "UPDATE entry SET chain = replace(chain, substr(chain, 1, 1), 'g') WHERE position = 2",
        "UPDATE subject_entry SET ms = ms + 1 WHERE position = 3",
        "UPDATE mending SET target = 'other'",
        "UPDATE state SET body = replace(body, '3', '4') WHERE subject LIKE 'machine:%'",
        "UPDATE record_head SET position = position + 1",
        "DELETE FROM entry WHERE position = (SELECT max(position) FROM entry)",
        "DELETE FROM entry WHERE position = 2",
    ]
    with shop.app.app_context():
        for change in changes:
            assert verify(db.session()).whole
            changed = db.session.execute(text(change))
            assert changed.rowcount > 0, change
            assert not verify(db.session()).whole, change
            db.session.rollback()
