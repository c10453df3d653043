"""Labels, sheets and cards: their codes are read back by another library, their words by another PDF reader."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from tests.cli.conftest import Run
from tests.conftest import Shop
from tests.problem import assert_problem
from tests.reports.conftest import Told, plated, read, structure, words
from webapp.database import db, writing
from webapp.library import DEFERENCE
from webapp.library.alloys import alloys
from webapp.library.media import media
from webapp.library.own import own_alloy
from webapp.records.faults import Refused
from webapp.reports.cards import cards_for, own_alloys, write_cards
from webapp.reports.labels import Label, layout, write_labels
from webapp.reports.sheets import write_sheets
from webapp.setup import definitions

BASE = "https://shop-pc.local:8443"
MM = 72 / 25.4


def pictures(data: bytes, scale: float = 4) -> Iterator[Image.Image]:
    """Every page as a printer would lay it down: black and white."""
    document = pypdfium2.PdfDocument(data)
    for page in document:
        yield page.render(scale=scale, grayscale=True).to_pil()


def codes_on(picture: Image.Image) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


def labelled(names: list[str], size: str, paper: str, **more: Any) -> bytes:
    out = io.BytesIO()
    labels = [
        Label(f"{BASE}/#/machine/019a8e40-c200-7624-a6f1-{n:012x}", name, "Quill Metal") for n, name in enumerate(names)
    ]
    write_labels(out, labels, layout(size, paper), 0, **more)
    return out.getvalue()


NAMES = [
    "Mill 1",
    "Sander's dust collector",
    "Donaudampfschifffahrtsgesellschaftskapitänspresse",
    "L",
    "Ä " * 30,
    "Saw",
]


@pytest.mark.parametrize(
    ("size", "paper", "page", "across", "down"),
    [("62x29", "roll", (62, 29), 1, 1), ("62x29", "A4", (210, 297), 3, 10), ("70x37", "A4", (210, 297), 3, 8),
     ("105x74", "A4", (210, 297), 2, 4), ("105x74", "Letter", (215.9, 279.4), 2, 3), ("40x60", "roll", (40, 60), 1, 1),
     ("25.4x25.4", "Letter", (215.9, 279.4), 8, 11)],
)  # fmt: skip
def test_codes_are_read_back_from_every_size(
    size: str, paper: str, page: tuple[float, float], across: int, down: int
) -> None:
    found = layout(size, paper)
    assert (found.across, found.down) == (across, down)
    data = labelled(NAMES, size, paper)
    reader = read(data)
    assert [float(one) / MM for one in reader.pages[0].mediabox[2:]] == pytest.approx(page, abs=0.01)
    read_back = [text for picture in pictures(data) for text in codes_on(picture)]
    assert sorted(read_back) == [f"{BASE}/#/machine/019a8e40-c200-7624-a6f1-{n:012x}" for n in range(len(NAMES))]
    assert "Mill 1" in words(reader) and "dust" in words(reader)
    assert [role for role, _ in structure(reader)].count("Figure") == len(NAMES)


@pytest.mark.parametrize(("size", "paper"), [("62x29", "roll"), ("70x37", "A4"), ("40x60", "roll")])
def test_no_ink_leaves_its_label(size: str, paper: str) -> None:
    """Every dark spot lies at least a millimetre inside of a label, whatever the name."""
    sheet, scale = layout(size, paper), 4
    for picture in pictures(labelled(NAMES, size, paper), scale):
        dark = picture.point(lambda level: 255 if level < 200 else 0)
        for x in range(sheet.across + 1):
            edge = round((sheet.margin[0] + x * sheet.label[0]) * MM * scale)
            strip = dark.crop((max(0, edge - scale * 2), 0, min(dark.width, edge + scale * 2), dark.height))
            assert strip.getbbox() is None, f"ink at the upright edge {x}"
        for y in range(sheet.down + 1):
            edge = round((sheet.margin[1] + y * sheet.label[1]) * MM * scale)
            strip = dark.crop((0, max(0, edge - scale * 2), dark.width, min(dark.height, edge + scale * 2)))
            assert strip.getbbox() is None, f"ink at the level edge {y}"


def test_places_that_are_used_up_stay_empty() -> None:
    first = next(pictures(labelled(["Mill 1"], "70x37", "A4", skip=4)))
    box = first.point(lambda level: 255 if level < 200 else 0).getbbox()
    assert box is not None
    assert box[0] > 70 * MM * 4 and box[1] > 37 * MM * 4 and box[2] < 140 * MM * 4


@pytest.mark.parametrize(
    ("size", "paper", "field"),
    [("", "A4", "size"), ("70", "A4", "size"), ("70x", "A4", "size"), ("14x40", "A4", "size"), ("70x37", "A5", "paper"),
     ("300x300", "A4", "size"), ("999x999", "roll", "size"), ("-70x37", "A4", "size"), ("nanxnan", "A4", "size")],
)  # fmt: skip
def test_sizes_that_cannot_be_are_refused(size: str, paper: str, field: str) -> None:
    with pytest.raises(Refused) as refused:
        layout(size, paper)
    assert refused.value.faults[0].field == field and refused.value.faults[0].mend


# Check sheets


def sheets(shop: Shop, **more: Any) -> bytes:
    out = io.BytesIO()
    with shop.app.app_context():
        write_sheets(db.session(), out, 0, BASE, **more)
        db.session.remove()
    return out.getvalue()


def test_a_sheet_has_what_a_round_asks(shop: Shop) -> None:
    data = sheets(plated(shop))
    reader = read(data)
    assert len(reader.pages) == 1, "one page a machine, and the saw has no list"
    text = words(reader)
    for wanted in (
        "Mill 1", "Start-up · revision 2 · Long wall", "Date", "Name or initials", "STOP: Look at the way oil",
        "Read the coolant strength", "From the nozzle.", "act below 6 %; target 8 %; act above 10 %", "Not ok", "n/a",
        "Spindle hours (h)", "NOT fit to start: tag hung", "typed in from paper", DEFERENCE,
    ):  # fmt: skip
        assert wanted in text, wanted
    assert "STOP: Read" not in text
    assert codes_on(next(pictures(data))) == [f"{BASE}/#/round/{shop.mill}"]
    assert data == sheets(shop)


@pytest.mark.parametrize(("more", "field"), [({"form": "daily"}, "form"), ({"form": "weekly"}, "machines")])
def test_sheets_that_cannot_be_are_refused(more: dict[str, Any], field: str, shop: Shop) -> None:
    with pytest.raises(Refused) as refused:
        sheets(shop, **more)
    assert refused.value.faults[0].field == field


# Cards


def test_every_alloy_and_medium_has_a_card() -> None:
    out, on = io.BytesIO(), date(2026, 11, 25)
    wanted = cards_for([*alloys()], [*media()], "dry_sand", {})
    pages = write_cards(out, wanted, ["us_osha"], "Quill Metal", "A4", on, 0)
    reader = read(out.getvalue())
    assert pages == len(reader.pages)
    text = words(reader)
    for alloy in alloys().values():
        assert alloy.name in text, alloy.key
    told = [" ".join(page.extract_text().split()) for page in reader.pages]
    faces = [
        page for page in told if re.search(r": dry sanding (DANGER|WARNING|CAUTION|NOTICE|STOP)|Blasting medium:", page)
    ]
    assert len(faces) == len(alloys()) + len(media())
    assert all(DEFERENCE in face for face in faces), "a face has all of its cautions and ends in who comes first"


def test_a_card_says_the_signal_word_the_controls_and_the_limits_with_sources() -> None:
    """Lead in air: 50 ug/m3 over 8 h by 29 CFR 1910.1025(c)(1), action level 30 by (b)."""
    out = io.BytesIO()
    write_cards(
        out, cards_for(["C36000"], ["silica_sand"], "dry_sand", {}), ["us_osha"], "Quill", "A4", date(2026, 11, 25), 0
    )
    face, back, sand = (" ".join(page.extract_text().split()) for page in read(out.getvalue()).pages)
    assert "DANGER" in face and "Lead in the dust" in face and "Wear:" in face and f"{DEFERENCE}" in face
    assert face.index("Enclose and exhaust") < face.index("Order the work") < face.index("Wear:")
    assert "50 µg/m³" in back and "30 µg/m³" in back and "1910.1025" in back
    assert "STOP" in sand and "silicosis" in sand


@pytest.mark.parametrize(
    ("alloy", "medium", "process", "field"),
    [(["X"], [], "dry_sand", "alloys"), ([], ["X"], "dry_sand", "media"), (["C36000"], [], "X", "process"),
     ([], [], "dry_sand", "alloys")],
)  # fmt: skip
def test_cards_that_cannot_be_are_refused(alloy: list[str], medium: list[str], process: str, field: str) -> None:
    with pytest.raises(Refused) as refused:
        cards_for(alloy, medium, process, {})
    assert refused.value.faults[0].field == field


# Over HTTP and by command


def test_a_card_of_an_own_alloy_by_id_and_by_name(told: Told) -> None:
    """Like a leaded brass by its card, with beryllium by its certificate: the stop is on the card."""
    shop = told[0]
    with shop.app.app_context(), writing() as session:
        made = definitions.create(session, "alloy", ODD, shop.owner)
        assert [one.alloy for one in cards_for(["odd rod"], [], "dry_sand", own_alloys(session))] == [own_alloy(made)]
    answer = shop.get("/reports/cards", alloys=made["id"])
    text = " ".join(words(read(answer.data)).split())
    assert "Odd rod: dry sanding" in text and "STOP" in text and "set-up for beryllium" in text
    assert "They do not cover what C36000 does not have: Beryllium." in text
    assert "The certificate does not name: Lead. Taken as C36000 permits." in text
    assert "Mill certificate T 2207: the rod mill's own" in text
    assert_problem(shop.get("/reports/cards", alloys="Odder rod"), 422, "alloys")


ODD = {
    "name": "Odd rod", "base": "Cu", "like": "C36000",
    "composition": [{"element": "Zn", "percent": 36}, {"element": "Be", "percent": 0.4}],
    "certificate": {"number": "T 2207", "source": "the rod mill's own", "dated": "2026-03-02"},
}  # fmt: skip


def test_small_papers_over_http(told: Told) -> None:
    shop = told[0]
    for path, query, start in (
        ("/reports/labels", {"size": "62x29", "paper": "roll"}, b"%PDF-1.7"),
        ("/reports/labels", {"of": "bay"}, b"%PDF-1.7"),
        ("/reports/sheets", {"machine": "mill 1"}, b"%PDF-1.7"),
        ("/reports/cards", {"alloys": "C36000,C17200", "media": "glass_bead"}, b"%PDF-1.7"),
    ):
        answer = shop.get(path, **query)
        assert answer.status_code == 200 and answer.data.startswith(start), (path, answer.data[:300])
        assert answer.content_type == "application/pdf"
    drawn = shop.get(f"/reports/codes/{shop.mill}")
    assert drawn.content_type.startswith("image/svg+xml") and b"<svg" in drawn.data and b"Mill 1" in drawn.data
    picture = shop.get(f"/reports/codes/{shop.mill}", **{"as": "png"})
    assert codes_on(Image.open(io.BytesIO(picture.data))) == [f"http://localhost/#/round/{shop.mill}"]


@pytest.mark.parametrize(
    ("path", "query", "status", "field"),
    [("labels", {"size": "1x1"}, 422, "size"), ("labels", {"of": "item"}, 422, "of"), ("labels", {"skip": "-1"}, 422, "skip"),
     ("sheets", {"machine": "Nix"}, 422, "machines"), ("sheets", {"form": "x"}, 422, "form"), ("cards", {}, 422, "alloys"),
     ("cards", {"alloys": "../x"}, 422, "alloys"), ("codes/019a8e40-0000-7000-8000-000000000000", {}, 404, "id")],
)  # fmt: skip
def test_bad_input_names_field_and_mend(path: str, query: dict[str, str], status: int, field: str, told: Told) -> None:
    assert_problem(told[0].get(f"/reports/{path}", **query), status, field)


def test_one_code_by_command(told: Told, run: Run, tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = told[0]
    data = shop.app.config["WAYROUND"].data
    monkeypatch.setenv("WAYROUND_ADDRESS", BASE)
    assert run("export", "labels", tmp_path / "mill.png", "--machine", "Mill 1", data=data).exit_code == 0
    assert codes_on(Image.open(tmp_path / "mill.png")) == [f"{BASE}/#/round/{shop.mill}"]
    several = run("export", "labels", tmp_path / "all.svg", data=data)
    assert several.exit_code == 1 and "exactly one" in several.stderr
    for name, options in (("sheets", ()), ("labels", ("--paper", "Letter")), ("cards", ("--alloy", "C36000"))):
        result = run("export", name, tmp_path / "out.pdf", *options, data=data)
        assert result.exit_code == 0 and (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF"), result.output
