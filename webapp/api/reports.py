"""Papers and exports on the wire: binders made in the background, small papers and files at once."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from typing import IO, Any

from flask import Response, current_app, g, request, send_file, stream_with_context
from marshmallow import EXCLUDE, RAISE, Schema, fields

from webapp.api.bodies import Blueprint
from webapp.api.problems import Problem
from webapp.config import current
from webapp.core.instants import shop_date
from webapp.database import db, writing
from webapp.records.faults import Fault
from webapp.records.fields import Count, Flag, Id, Text, is_uuid
from webapp.reports import codes, setup_sheets
from webapp.reports.binder import known_machines
from webapp.reports.cards import cards_for, own_alloys, write_cards
from webapp.reports.entries import span_of
from webapp.reports.finding import machines_named
from webapp.reports.jobs import Busy, Jobs
from webapp.reports.labels import layout, write_labels
from webapp.reports.papers import LABELLED, labels_of
from webapp.reports.record_lines import record_lines
from webapp.reports.sheets import write_sheets
from webapp.reports.tables import write_tables
from webapp.security import addresses
from webapp.security.access import device_required, owner_required
from webapp.setup import definitions
from webapp.setup.ids import now_ms
from webapp.upkeep.exposures import chosen

blueprint = Blueprint("reports", __name__, url_prefix="/api/v1/reports", description="Papers to print, and exports")

_BYTES = {"type": "string", "format": "binary"}
PDF, CSV, ZIP, LINES = "application/pdf", "text/csv; charset=utf-8", "application/zip", "application/jsonl"
_IN_MEMORY = 4 * 2**20
_LARGEST_SHEET = 1_500_000


class BinderIn(Schema):
    """Which days, and which machines; without them the whole record."""

    class Meta:
        unknown = RAISE

    first = Text(10, data_key="from", allow_none=True)
    last = Text(10, data_key="to", allow_none=True)
    machines = fields.List(Id())


class BinderOut(Schema):
    """How a binder stands: `state` is running, done or failed; pages, entries and chain once it is done."""

    id = Id(required=True)
    state = fields.String(required=True)
    percent = fields.Integer(required=True)
    told = fields.String(required=True)
    first = fields.String(required=True, data_key="from", attribute="from")
    last = fields.String(required=True, data_key="to", attribute="to")
    pages = fields.Integer(required=True, allow_none=True)
    entries = fields.Integer(required=True, allow_none=True)
    chain = fields.String(required=True, allow_none=True)


class SpanIn(Schema):
    """Which days; without them all."""

    class Meta:
        unknown = EXCLUDE

    first = Text(10, data_key="from")
    last = Text(10, data_key="to")


class SheetsIn(Schema):
    """Which machine (id or name; without: all), and which form of list."""

    class Meta:
        unknown = EXCLUDE

    machine = Text(120)
    form = Text(20, load_default="start-up")


class LabelsIn(Schema):
    """What is labelled, and on which paper; sizes in mm, as 62x29."""

    class Meta:
        unknown = EXCLUDE

    of = Text(10, load_default="machine")
    id = Id()
    size = Text(20, load_default="70x37")
    paper = Text(10, load_default="A4")
    skip = Count(0, 500, load_default=0)


class CodeIn(Schema):
    """As a drawing or as a picture."""

    class Meta:
        unknown = EXCLUDE

    kind = Text(3, data_key="as", load_default="svg")


class CardsIn(Schema):
    """Keys of the library, with commas between."""

    class Meta:
        unknown = EXCLUDE

    alloys = Text(2000, load_default="", blank=True)
    media = Text(2000, load_default="", blank=True)
    process = Text(40, load_default="dry_sand")


class SheetIn(Schema):
    """A spreadsheet as CSV text; with `dry_run` nothing is kept."""

    class Meta:
        unknown = RAISE

    csv = Text(_LARGEST_SHEET, required=True)
    dry_run = Flag(required=True)


class FieldOut(Schema):
    """A cell that differs."""

    column = fields.String(required=True)
    before = fields.String(required=True)
    after = fields.String(required=True)


class ChangeOut(Schema):
    """What a line does: add, change or leave."""

    line = fields.Integer(required=True)
    action = fields.String(required=True)
    name = fields.String(required=True)
    fields_ = fields.List(fields.Nested(FieldOut), required=True, data_key="fields", attribute="fields")


class SheetOut(Schema):
    """What every line does, and whether it was kept."""

    kept = fields.Boolean(required=True)
    changes = fields.List(fields.Nested(ChangeOut), required=True)


def _shop() -> dict[str, Any]:
    shops = definitions.list_all(db.session(), "shop")
    if not shops:
        raise Problem(404, "No shop", errors=[Fault("path", "needs a shop", "set the shop up first")])
    return shops[0]


def _base() -> str:
    return addresses.base_for_others(current(), request.scheme, request.host)


def _sent(kind: str, name: str, write: Callable[[IO[bytes]], Any]) -> Response:
    """A file that is made for the answer; what is large goes by way of the disk."""
    out = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115 - the answer closes it
    try:
        write(out)  # type: ignore[arg-type]  # a spooled file is a file
    except BaseException:
        out.close()
        raise
    out.seek(0)
    response = send_file(out, mimetype=kind, as_attachment=True, download_name=name)  # type: ignore[arg-type]
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _jobs() -> Jobs:
    jobs: Jobs = current_app.extensions["wayround_papers"]
    return jobs


def _job(id_: str) -> dict[str, Any]:
    job = _jobs().get(id_) if is_uuid(id_) else None
    if job is None:
        fault = Fault("id", "is no binder that is kept here", "ask for it again: a binder is kept for a day")
        raise Problem(404, "No such binder", errors=[fault])
    return job


@blueprint.post("/binder")
@owner_required
@blueprint.arguments(BinderIn)
@blueprint.response(201, BinderOut)
def make_binder(asked: dict[str, Any]) -> dict[str, Any]:
    """Begin the records binder of a span; ask after it by its id. One is made at a time."""
    _shop()
    session = db.session()
    machines = asked.get("machines") or []
    known_machines(session, machines)
    span = span_of(session, asked.get("first"), asked.get("last"), now_ms())
    try:
        return _jobs().start(current_app._get_current_object(), span, machines)  # type: ignore[attr-defined]
    except Busy as busy:
        raise Problem(409, "A binder is being made", errors=[busy.fault]) from None


@blueprint.get("/binder/<id_>")
@owner_required
@blueprint.response(200, BinderOut)
def binder(id_: str) -> dict[str, Any]:
    """How far the binder is."""
    return _job(id_)


@blueprint.get("/binder/<id_>/file")
@owner_required
@blueprint.response(200, _BYTES, content_type=PDF)
def binder_file(id_: str) -> Response:
    """The finished binder."""
    job, path = _job(id_), _jobs().file(id_)
    if path is None:
        fault = Fault("id", f"is a binder that is {job['state']}", "ask how it stands, and come back when it is done")
        raise Problem(404, "Not made yet", errors=[fault])
    return send_file(path, mimetype=PDF, as_attachment=True, download_name=f"binder-{job['from']}-{job['to']}.pdf")


@blueprint.get("/sheets")
@device_required
@blueprint.arguments(SheetsIn, location="query")
@blueprint.response(200, _BYTES, content_type=PDF)
def sheets(asked: dict[str, Any]) -> Response:
    """Check sheets to print, one machine a page."""
    _shop()
    session, base = db.session(), _base()
    chosen = machines_named(session, [asked["machine"]] if "machine" in asked else [])
    return _sent(
        PDF,
        "check-sheets.pdf",
        lambda out: write_sheets(session, out, now_ms(), base, machines=chosen, form=asked["form"]),
    )


@blueprint.get("/labels")
@device_required
@blueprint.arguments(LabelsIn, location="query")
@blueprint.response(200, _BYTES, content_type=PDF)
def labels(asked: dict[str, Any]) -> Response:
    """Labels of all machines or bays, or of one, with QR codes that open them."""
    _shop()
    made = labels_of(db.session(), _base(), asked["of"], [asked["id"]] if "id" in asked else [])
    sheet = layout(asked["size"], asked["paper"])
    return _sent(PDF, "labels.pdf", lambda out: write_labels(out, made, sheet, now_ms(), skip=asked["skip"]))


@blueprint.get("/codes/<id_>")
@device_required
@blueprint.arguments(CodeIn, location="query")
@blueprint.response(200, _BYTES, content_type="image/svg+xml")
@blueprint.alt_response(200, schema=_BYTES, content_type="image/png", success=True)
def code(asked: dict[str, Any], id_: str) -> Response:
    """The QR code of one machine or bay, as SVG or PNG."""
    type_ = next((one for one in LABELLED if is_uuid(id_) and definitions.get(db.session(), one, id_)), None)
    if type_ is None:
        raise Problem(404, "Not set up", errors=[Fault("id", "is no machine or bay", "sync, then choose one")])
    if asked["kind"] not in ("svg", "png"):
        raise Problem(422, "Cannot be used", errors=[Fault("as", f"is «{asked['kind']}»", "send svg or png")])
    text = codes.address(_base(), type_, id_)
    if asked["kind"] == "png":
        return Response(codes.png(text), content_type="image/png")
    row = definitions.get(db.session(), type_, id_) or {}
    return Response(codes.svg(text, row["name"]), content_type="image/svg+xml")


@blueprint.get("/cards")
@device_required
@blueprint.arguments(CardsIn, location="query")
@blueprint.response(200, _BYTES, content_type=PDF)
def cards(asked: dict[str, Any]) -> Response:
    """Hazard cards for the wall."""
    shop, now = _shop(), now_ms()
    alloys, media = ([key.strip() for key in asked[name].split(",") if key.strip()] for name in ("alloys", "media"))
    wanted = cards_for(alloys, media, asked["process"], own_alloys(db.session()))
    size, on = "A4" if shop["units"] == "metric" else "Letter", shop_date(now, shop["time_zone"])
    authorities = chosen(shop)
    return _sent(
        PDF, "hazard-cards.pdf", lambda out: write_cards(out, wanted, authorities, shop["name"], size, on, now)
    )


@blueprint.get("/entries")
@owner_required
@blueprint.arguments(SpanIn, location="query")
@blueprint.response(200, _BYTES, content_type=ZIP)
def entries(asked: dict[str, Any]) -> Response:
    """A zip with a CSV file for each kind of entry."""
    _shop()
    session = db.session()
    span = span_of(session, asked.get("first"), asked.get("last"), now_ms())
    return _sent(ZIP, f"entries-{span.first}-{span.last}.zip", lambda out: write_tables(session, out, span))


@blueprint.get("/record")
@owner_required
@blueprint.response(200, _BYTES, content_type=LINES)
def record() -> Response:
    """The whole record as JSON Lines, with its chain and set-up."""
    _shop()
    lines = stream_with_context(record_lines(db.session(), now_ms()))
    response = Response(lines, content_type=LINES)
    response.headers["Content-Disposition"] = "attachment; filename=record.jsonl"
    response.headers["Cache-Control"] = "private, no-store"
    return response


@blueprint.get("/setup/<what>")
@owner_required
@blueprint.response(200, _BYTES, content_type=CSV)
def setup_sheet(what: str) -> Response:
    """Machines or tasks as a spreadsheet (CSV)."""
    out = io.BytesIO()
    setup_sheets.write_sheet(db.session(), out, what)
    response = Response(out.getvalue(), content_type=CSV)
    response.headers["Content-Disposition"] = f"attachment; filename={what}.csv"
    return response


@blueprint.post("/setup/<what>")
@owner_required
@blueprint.arguments(SheetIn)
@blueprint.response(200, SheetOut)
def bring_setup_sheet(sent: dict[str, Any], what: str) -> dict[str, Any]:
    """Bring such a spreadsheet back in: all of it, or nothing; with `dry_run` only what would change."""
    changes: list[setup_sheets.Change] = []
    try:
        with writing() as session:
            changes = setup_sheets.bring_in(session, what, sent["csv"], g.device.person)
            if sent["dry_run"]:
                raise setup_sheets.Undone
    except setup_sheets.Undone:
        pass
    return {"kept": not sent["dry_run"], "changes": [change.to_dict() for change in changes]}
