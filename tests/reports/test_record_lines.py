"""The record out and back: the same chain and the same fold; every spoilt line is found; the guide's verifier agrees."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.cli.conftest import Run, folder, run  # noqa: F401  (fixtures)
from tests.conftest import Shop, set_up
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.append import head
from webapp.records.folding import stored
from webapp.records.verify import verify
from webapp.reports.record_lines import LineFault, bring_in, record_lines
from webapp.setup import definitions
from webapp.setup.ids import now_ms

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"


def exported(app: Flask) -> list[str]:
    with app.app_context():
        lines = list(record_lines(db.session(), now_ms()))
        db.session.remove()
    return lines


def brought(app: Flask, lines: list[str]) -> None:
    with app.app_context(), writing() as session:
        bring_in(session, lines)


def standing(app: Flask) -> tuple[Any, ...]:
    """Everything that must come back: head, states, set-up with its revisions."""
    with app.app_context():
        session = db.session()
        at = head(session)
        rows = [definitions.list_all(session, type_) for type_ in definitions.TYPES]
        past = [definitions.revisions(session, row["id"]) for found in rows for row in found]
        found = (at.position, at.chain, at.server_seq, at.definitions_at, stored(session), rows, past)
        assert verify(session).whole and not definitions.faults(session)
        db.session.remove()
    return found


@pytest.fixture
def busy(shop: Shop) -> Shop:
    """A shop with every way in which an entry can come: late, amended, voided, corrected, of set-up edited."""
    note, wrong, twice = shop.note('первая — «запись» \\ " \u2028 🔧'), shop.added(480), shop.added(3)
    day_ago = instant_text(now_ms() - 86_400_000)
    shop.push(
        note, wrong, twice, shop.added(2.5, at=day_ago), shop.entry("meter.read", {"meter": shop.spindle, "value": 500})
    )
    amended = {
        "entry": wrong["id"],
        "kind": "meter.added",
        "body": {"meter": shop.spindle, "amount": 48},
        "why": "typo",
    }
    shop.push(shop.entry("entry.amended", amended), shop.entry("entry.voided", {"entry": twice["id"], "why": "twice"}))
    with shop.app.app_context(), writing() as session:
        now = definitions.get(session, "machine", shop.mill)
        body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, "machine", shop.mill, body | {"maker": "Ёж & Söhne"}, 1, shop.owner, retired=True)
    return shop


def test_what_comes_back_is_what_went_out(busy: Shop, new_app: Callable[[], Flask]) -> None:
    other = new_app()
    lines = exported(busy.app)
    brought(other, lines)
    assert standing(other) == standing(busy.app)
    assert exported(other)[1:] == lines[1:]


def test_a_record_brought_in_goes_on(busy: Shop, new_app: Callable[[], Flask]) -> None:
    """The next entry of the server, of an old device's id and of a new device find their places."""
    other = new_app()
    brought(other, exported(busy.app))
    with other.app_context(), writing() as session:
        definitions.create(session, "bay", {"name": "New"}, busy.owner)
        before = head(session).epoch
    with busy.app.app_context():
        assert head(db.session()).epoch != before
    assert standing(other)[0] == standing(busy.app)[0] + 1


AMOUNTS = st.floats(0.001, 1e6) | st.integers(1, 10**6)
TEXTS = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), min_size=1, max_size=60).filter(
    str.strip
)


@st.composite
def entries(draw: st.DrawFn) -> list[tuple[str, Any]]:
    """What happens in a random shop: (what, its amount or text, ms ago)."""
    one = st.one_of(
        st.tuples(st.just("added"), AMOUNTS, st.integers(0, 10**9)),
        st.tuples(st.just("note"), TEXTS, st.integers(0, 10**9)),
        st.tuples(st.just("part"), TEXTS, st.integers(0, 10**9)),
        st.tuples(st.sampled_from(["void", "amend"]), st.integers(0, 30), st.integers(0, 10**9)),
    )
    return draw(st.lists(one, min_size=1, max_size=25))


@given(plan=entries())
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_random_records_come_back_the_same(plan: list[Any], new_app: Callable[[], Flask]) -> None:
    shop, other = set_up(new_app()), new_app()
    shop.push(*made(shop, plan))
    lines = exported(shop.app)
    brought(other, lines)
    assert standing(other) == standing(shop.app)


def made(shop: Shop, plan: list[Any]) -> Iterator[dict[str, Any]]:
    sent: list[dict[str, Any]] = []
    for what, value, ago in plan:
        at = instant_text(now_ms() - ago)
        if what == "added":
            sent.append(shop.added(value, at=at))
        elif what == "note":
            sent.append(shop.note(value[:60], at=at))
        elif what == "part":
            body = {"part": shop.blade, "reason": value[:60]}
            sent.append(shop.entry("part.changed", body, machine=shop.saw, at=at))
        elif sent:
            target = sent[value % len(sent)]
            if what == "void":
                sent.append(
                    shop.entry("entry.voided", {"entry": target["id"], "why": "no"}, machine=target["machine"], at=at)
                )
            elif target["kind"] not in ("entry.voided", "entry.amended"):
                body = {"entry": target["id"], "kind": target["kind"], "body": target["body"], "why": "so"}
                sent.append(shop.entry("entry.amended", body, machine=target["machine"], at=at))
        else:
            continue
        yield sent[-1]


def spoilt(lines: list[str], change: Callable[[list[dict[str, Any]]], None]) -> list[str]:
    rows = [json.loads(line) for line in lines]
    change(rows)
    return [json.dumps(row, ensure_ascii=False) + "\n" for row in rows]


def altered(rows: list[dict[str, Any]]) -> None:
    whole = rows[-3]["entry"]
    rows[-3]["entry"] = whole.replace('"at":"2', '"at":"1', 1)
    assert rows[-3]["entry"] != whole


def dropped(rows: list[dict[str, Any]]) -> None:
    del rows[len(rows) // 2]


def swapped(rows: list[dict[str, Any]]) -> None:
    rows[3], rows[5] = rows[5], rows[3]


def cut_short(rows: list[dict[str, Any]]) -> None:
    del rows[-4:]


def redefined(rows: list[dict[str, Any]]) -> None:
    told = next(row["definition"] for row in rows if "definition" in row and row["definition"]["type"] == "machine")
    told["body"] = told["body"].replace("Mill 1", "Mill 2")


def undefined(rows: list[dict[str, Any]]) -> None:
    rows.remove(next(row for row in rows if "definition" in row))


SPOILING = [altered, dropped, swapped, cut_short, redefined, undefined]


@pytest.mark.parametrize("change", SPOILING)
def test_a_spoilt_file_is_refused_and_nothing_is_kept(change: Any, busy: Shop, new_app: Callable[[], Flask]) -> None:
    other = new_app()
    lines = spoilt(exported(busy.app), change)
    with pytest.raises(LineFault) as fault:
        brought(other, lines)
    assert fault.value.problem and fault.value.mend
    with other.app_context():
        assert head(db.session()).position == 0 and not definitions.list_all(db.session(), "machine")
        db.session.remove()


@pytest.mark.parametrize(
    "lines",
    [[], ["no json\n"], ["[]\n"], ['{"wayround": "record"}\n'], ['{"wayround":"record","format":2,"position":0,"chain":""}\n'],
     ['{"wayround":"record","format":1,"position":1,"chain":"x"}\n', '{"position":1,"chain":"x","entry":7}\n'],
     ['{"wayround":"record","format":1,"position":"x","chain":"x"}\n'],
     ['{"wayround":"record","format":1,"position":1,"chain":"x"}\n', '{"definition": []}\n'],
     ['{"wayround":"record","format":1,"position":1,"chain":"x"}\n', "[" * 100_000]],
)  # fmt: skip
def test_what_is_no_record_is_refused(lines: list[str], app: Flask) -> None:
    with pytest.raises(LineFault):
        brought(app, lines)


def test_a_record_is_never_brought_in_on_top_of_another(busy: Shop) -> None:
    with pytest.raises(LineFault, match="already"):
        brought(busy.app, exported(busy.app))


# The commands, and the guide's own verifier


@pytest.fixture
def verifier(tmp_path: Path) -> Path:
    """The program as it stands in the guide."""
    section = GUIDE.read_text("utf-8").partition("### A verifier that stands alone")[2]
    program = re.search(r"```python\n(.*?)```", section, re.S)
    assert program
    path = tmp_path / "verifier.py"
    path.write_text(program.group(1), "utf-8")
    assert len(program.group(1).splitlines()) <= 36, "about 30 lines"
    assert set(re.findall(r"^import (\w+)", program.group(1), re.M)) == {"hashlib", "json", "sys"}
    return path


def checked(verifier: Path, file: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-I", str(verifier), str(file), *more], capture_output=True, text=True)


def test_the_guides_verifier_passes_what_is_whole_and_nothing_else(verifier: Path, busy: Shop, tmp_path: Path) -> None:
    lines, file = exported(busy.app), tmp_path / "record.jsonl"
    file.write_text("".join(lines), "utf-8")
    chain = json.loads(lines[0])["chain"]
    good = checked(verifier, file, "3")
    assert good.returncode == 0 and f"The chain ends in {chain}" in good.stdout
    third = [json.loads(line) for line in lines if '"entry"' in line[:120]][2]
    assert f"at position 3 the chain stood at {third['chain']}" in good.stdout
    for change in SPOILING:
        file.write_text("".join(spoilt(lines, change)), "utf-8")
        assert checked(verifier, file).returncode == 1, change.__name__


def test_export_wipe_import_by_command(run: Run, busy: Shop, tmp_path: Path, folder: Path, verifier: Path) -> None:  # noqa: F811
    file, data = tmp_path / "record.jsonl", busy.app.config["WAYROUND"].data
    out = run("export", "record", file, data=data)
    assert out.exit_code == 0, out.output
    assert checked(verifier, file).returncode == 0
    back = run("import", "record", file)
    assert back.exit_code == 0, back.output
    chain = json.loads(file.read_text("utf-8").splitlines()[0])["chain"]
    assert chain in out.output and chain in back.output
    assert chain in run("verify").output
    assert run("refold", "--check").exit_code == 0
    again = run("import", "record", file)
    assert again.exit_code == 1 and "already" in again.stderr
    file.write_text(file.read_text("utf-8").replace("Mill 1", "Mill 9"), "utf-8")
    spoiled = run("import", "record", file, data=folder.with_name("other"))
    assert spoiled.exit_code == 1 and "line " in spoiled.stderr and "Nothing was brought in" in spoiled.stderr
