"""The binder says what the record says, in order, on numbered pages that contents and bookmarks lead to."""

from __future__ import annotations

import io
import re
from datetime import date
from typing import Any

import pypdf
import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop
from tests.reports.conftest import Told, at, read, round_of, structure, words
from webapp.database import db
from webapp.library import DEFERENCE
from webapp.records.append import head
from webapp.records.faults import Refused
from webapp.reports.binder import Made, write_binder
from webapp.reports.entries import Span, span_of
from webapp.setup.ids import now_ms

MARCH = Span(date(2026, 3, 1), date(2026, 3, 31), "America/Chicago")


def bound(shop: Shop, span: Span = MARCH, made_ms: int = 1_790_000_000_000, **more: Any) -> tuple[bytes, Made]:
    out = io.BytesIO()
    with shop.app.app_context():
        photo = shop.app.extensions["wayround_photos"].get
        made = write_binder(db.session(), out, span, made_ms, photo=photo, **more)
        db.session.remove()
    return out.getvalue(), made


def test_everything_that_happened_is_told(told: Told) -> None:
    data, about = bound(told[0])
    text = words(read(data))
    for wanted in (
        "Quill Metal", "March 1, 2026 to March 31, 2026", "Kestrel & Öz", "Ł-0042", "Long wall",
        "Fit to start", "NOT fit to start", "Read the coolant strength: 7.5 %", "5.25 % (act low)",
        "NOT OK (stop check), Look at the way oil: Below the line",
        "STOP: Way oil below the line", "by Ada Quill: Filled with ISO VG 68", "Still open when this was printed.",
        "No way oil", "Oil filled, ran ten minutes",
        "not known: no change before it", "9 days, 812.5 in2 (cut area)",
        "water 2.8 gal, concentrate 0.2 gal", "strength 8 %", "Filter was grey", "Put off to 2026-04-01", "Free the door switch",
        "Coolant ph 9.1 pH", "1203.5", "Amended; what counts now is printed: A nought too many",
        "VOIDED", "It was on the tablet already", "Saw blade: 3 in the drawer",
        "Exhaust belt tightened", "Face velocity at sander hood 105 ft/min", "Purged 45 s of 60 s, cut short",
        "22 lb to scrap, Drum 2", "half mask", "expires: 2027-03-17", "signed off: Band saw, until 2027-03-19",
        "86 dBA", DEFERENCE, about.chain, f"Entries in the record {about.position}",
    ):  # fmt: skip
        assert wanted in text, wanted
    assert "Spindle hours +48 h" in text or "48" in text
    assert set("日本") == set(about.unprintable) and "U+65E5, U+672C" in text


def test_exposure_stands_beside_its_limits_with_their_sources(told: Told) -> None:
    """29 CFR 1910.1000(d)(1)(i): (4 h × 12 + 4 h × 20) / 8 = 16 ug/m3; lead: 50 ug/m3 by 29 CFR 1910.1025(c)(1), action
    level 30 by 1910.1025(b)."""
    text = words(read(bound(told[0])[0]))
    assert "0.016 mg/m³" in text and "29 CFR 1910.1000(d)(1)(i)" in text
    section = text.partition("Exposure results")[2].rpartition("Exposure results")[2]
    assert re.search(r"50 µg/m³.{0,40}below the limit", text), section[:800]
    assert "1910.1025" in text


def test_noise_stands_beside_what_each_authority_says(told: Told) -> None:
    """The section names OSHA's limit and action level with their source (29 CFR 1910.95)."""
    text = words(read(bound(told[0])[0]))
    assert re.search(r"action level, 85 dBA", text) and re.search(r"limit, 90 dBA", text)
    assert "29 CFR 1910.95 Occupational noise exposure" in text


def test_pages_of_the_contents_are_where_the_headings_stand(told: Told) -> None:
    reader = read(bound(told[0])[0])
    labels, pages = reader.page_labels, [page.extract_text() for page in reader.pages]
    contents = "\n".join(pages[place] for place, label in enumerate(labels) if label in ("ii", "iii"))
    lines = re.findall(r"^(.+?)\n?\s*(\d+)$", contents.partition("Contents")[2], re.M)
    assert len(lines) > 20
    for title, number in lines:
        page = pages[labels.index(number)]
        assert title.strip() in page, (title, number)
    assert labels[0] == "i" and labels[-1] == str(len([label for label in labels if label.isdecimal()]))


def test_bookmarks_and_links_lead_to_their_headings(told: Told) -> None:
    reader = read(bound(told[0])[0])
    pages = [page.extract_text() for page in reader.pages]
    found = [(one["/Title"], reader.get_destination_page_number(one)) for one in flat(reader.outline)]
    titles = [title for title, _ in found]
    for wanted in ("Machines", "Rounds", "Findings and tags", "Changes of parts", "Exposure results"):
        assert wanted in titles
    for title, number in found:
        assert title in pages[number]
    links = [link.get_object() for page in reader.pages for link in page.get("/Annots", [])]
    assert len(links) == len(found)
    where = {reader.pages[number].indirect_reference.idnum for _, number in found}
    assert {link["/Dest"][0].idnum for link in links} <= where


def flat(outline: Any) -> list[Any]:
    return [inner for one in outline for inner in (flat(one) if isinstance(one, list) else [one])]


def test_every_page_says_which_of_how_many_it_is(told: Told) -> None:
    reader = read(bound(told[0])[0])
    numbered = [page for page, label in zip(reader.pages, reader.page_labels, strict=True) if label.isdecimal()]
    for number, page in enumerate(numbered, 1):
        assert re.search(rf"Page {number} of\s+{len(numbered)}\b", page.extract_text())


def test_it_is_tagged(told: Told) -> None:
    reader = read(bound(told[0])[0])
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en-US" and root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert (
        reader.metadata is not None and reader.metadata.title == "Records binder, Quill Metal, 2026-03-01 to 2026-03-31"
    )
    roles = [role for role, _ in structure(reader)]
    assert {"Document", "Sect", "H1", "H2", "P", "Table", "TR", "TH", "TD", "TOC", "TOCI", "Link", "Figure"} == set(
        roles
    ) - {"H3"}
    for role, element in structure(reader):
        if role == "TR":
            kids = [str(kid.get_object()["/S"]).strip("/") for kid in element["/K"]]
            assert set(kids) <= {"TH", "TD"}, kids
    heads = [element for role, element in structure(reader) if role == "TH"]
    assert {str(element["/A"]["/Scope"]) for element in heads} == {"/Column", "/Row"}


def test_marked_content_and_structure_agree(told: Told) -> None:
    """ISO 32000-1, 14.7.4.4: the parent tree leads from each piece of marked content to the element that holds it."""
    reader = read(bound(told[0])[0])
    tree: dict[int, Any] = {}
    for leaf in reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Kids"]:
        nums = leaf.get_object()["/Nums"]
        tree |= {nums[n]: nums[n + 1].get_object() for n in range(0, len(nums), 2)}
    held = 0
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        marks = [int(mark) for mark in re.findall(rb"/MCID (\d+)", content.get_data())]
        owners = tree[page["/StructParents"]]
        assert marks == list(range(len(owners)))
        for mark, owner in enumerate(owners):
            kids = owner.get_object()["/K"]
            here = [kid for kid in kids if isinstance(kid, dict) and kid.get("/MCID") == mark]
            assert any(kid.raw_get("/Pg").idnum == page.indirect_reference.idnum for kid in here)
            held += 1
    assert held > 300


def test_the_same_record_gives_the_same_bytes_but_for_the_time_of_making(told: Told) -> None:
    shop = told[0]
    first, again = bound(shop)[0], bound(shop)[0]
    assert first == again
    later = words(read(bound(shop, made_ms=1_790_000_000_000 + 86_400_000)[0]))
    text = words(read(first))
    differ = [(a, b) for a, b in zip(text.split(), later.split(), strict=True) if a != b]
    assert {a for a, _ in differ} == {"2026-09-21"} and {b for _, b in differ} == {"2026-09-22"}


def test_only_the_span_is_told_but_what_was_open_at_its_start(told: Told) -> None:
    april = Span(date(2026, 4, 1), date(2026, 4, 30), "America/Chicago")
    text = words(read(bound(told[0], april)[0]))
    assert "Door switch sticks" in text and "Way oil below the line" not in text
    assert "812.5" in text and "Brackets" not in text  # the meter stands so; the batch was in March
    assert "Rounds" not in text.replace("Rounds, findings", "")


def test_the_edges_of_a_span_are_the_shops_midnights(told: Told) -> None:
    """In Chicago 2026-03-08 has 23 hours; midnight of March 9 is 05:00 UTC."""
    shop = told[0]
    day = Span(date(2026, 3, 8), date(2026, 3, 8), "America/Chicago")
    assert day.end_ms - day.start_ms == 23 * 3_600_000
    texts = {"first": "2026-03-08T06:00:00.000Z", "last": "2026-03-09T04:59:59.999Z",
             "before": "2026-03-08T05:59:59.999Z", "after": "2026-03-09T05:00:00.000Z"}  # fmt: skip
    shop.push(*(shop.note(f"the {word} moment", at=moment) for word, moment in texts.items()))
    text = words(read(bound(shop, day)[0]))
    assert [word for word in texts if f"the {word} moment" in text] == ["first", "last"]


def test_only_the_machines_named_are_told(told: Told) -> None:
    shop = told[0]
    text = words(read(bound(shop, machines=[shop.saw])[0]))
    assert "812.5 in2" in text and "Kestrel" not in text and "Fit to start" not in text
    with pytest.raises(Refused) as refused:
        bound(shop, machines=["019a8e40-0000-7000-8000-000000000000"])
    assert refused.value.faults[0].field == "machines"


def test_a_round_from_paper_says_so(told: Told) -> None:
    shop = told[0]
    shop.push(round_of(shop, 21, typed_in=True))
    assert "Fit to start (typed in from paper)" in words(read(bound(shop)[0]))


@pytest.mark.parametrize(
    ("first", "last", "field"),
    [("2026-03-02", "2026-03-01", "to"), ("2026-13-01", None, "from"), ("yesterday", None, "from"), ("1999-01-01", None, "from"),
     (None, "2026-W10-1", "to"), (None, "2226-01-01", "to")],
)  # fmt: skip
def test_bad_spans_name_the_field_and_the_mend(first: str | None, last: str | None, field: str, shop: Shop) -> None:
    with shop.app.app_context():
        with pytest.raises(Refused) as refused:
            span_of(db.session(), first, last, now_ms())
        db.session.remove()
    assert refused.value.faults[0].field == field and refused.value.faults[0].mend


def test_a_very_long_text_goes_on_over_pages_and_loses_nothing(shop: Shop) -> None:
    long = " ".join(f"w{number}" for number in range(780))
    shop.push(shop.note(long, at=at(0)), shop.note("x" * 3999, at=at(1)), shop.note("Ж" * 3999, at=at(2)))
    text = words(read(bound(shop)[0]))
    assert [f"w{number}" for number in range(780)] == re.findall(r"\bw\d+\b", text)
    assert text.count("x") >= 3999 and text.count("Ж") == 3999


def test_an_empty_shop_has_a_binder_too(shop: Shop) -> None:
    reader = read(bound(shop)[0])
    assert "None in this span." in words(reader)
    with shop.app.app_context():
        assert head(db.session()).chain in words(reader)
        db.session.remove()


def test_the_command_prints_it_and_says_where_the_chain_stood(told: Told, run: Run, tmp_path: Any) -> None:
    shop, file = told[0], tmp_path / "binder.pdf"
    data = shop.app.config["WAYROUND"].data
    result = run("export", "binder", file, "--from", "2026-03-01", "--to", "2026-03-31", data=data)
    assert result.exit_code == 0, result.output
    pages = len(pypdf.PdfReader(file).pages)
    assert re.search(r"(\d+) pages, \d+ entries; the chain stood at \d+, [0-9a-f]{64}", result.output)
    assert pages > 10
    for options, said in (
        (("--from", "2026-03-02", "--to", "2026-03-01"), "--to"),
        (("--machine", "Nobody's"), "--machine"),
        (("--from", "x"), "--from"),
    ):
        refused = run("export", "binder", tmp_path / "none.pdf", *options, data=data)
        assert refused.exit_code == 1 and said in refused.stderr
    assert not (tmp_path / "none.pdf").exists()
