"""README.md and DEVELOPERS.md say what the code does, no more and no less."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import click
import pytest
from flask import Flask
from marshmallow import Schema
from marshmallow.fields import Nested

from webapp.cli import main
from webapp.config import Settings, known_variables
from webapp.records.kinds import KINDS
from webapp.setup.schemas import SCHEMAS

ROOT = Path(__file__).parents[1]
README, GUIDE = ROOT / "README.md", ROOT / "DEVELOPERS.md"
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "webapp", "static", "migrations", "tests", "seed_demo"}


def section(name: str) -> str:
    """A section of the guide, from its heading to the next of its rank."""
    found = re.search(rf"^## {re.escape(name)}.*?\n(.*?)(?=^## |\Z)", GUIDE.read_text("utf-8"), re.S | re.M)
    assert found, name
    return found.group(1)


def rows(text: str) -> Iterator[list[str]]:
    """The cells of every row of the tables in a text, headings and rules aside."""
    for line in text.splitlines():
        if line.startswith("|") and not set(line) <= set("|- "):
            yield [cell.strip().replace("\\|", "|") for cell in re.split(r"(?<!\\)\|", line.strip("|"))]


def quoted(cell: str) -> list[str]:
    return re.findall(r"`([^`]+)`", cell)


def tracked() -> list[str]:
    """Every file that git knows here."""
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("needs git and a clone: the tree as it is tracked is looked at")
    return [name for name in listed.stdout.split("\0") if name]


# Settings


def test_every_setting_stands_in_the_guide_with_its_words_and_default() -> None:
    defaults = {spec.metadata["variable"]: spec for spec in fields(Settings) if spec.metadata}
    table = {quoted(row[0])[0]: row[1:] for row in rows(section("Settings")) if quoted(row[0])}
    assert set(table) == set(known_variables())
    for variable, (_, help_text) in known_variables().items():
        told, default = table[variable]
        assert told == help_text, variable
        if callable(defaults[variable].default_factory):
            continue  # it differs from platform to platform
        wanted = defaults[variable].default
        said = {True: "yes", False: "no"}[wanted] if isinstance(wanted, bool) else str(wanted or "empty").strip("()")
        assert default == (said or "empty"), variable


def test_no_setting_is_spoken_of_that_does_not_exist() -> None:
    of_tests = {
        name
        for folder in ("tests", ".ci")
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix in (".py", "") and path != Path(__file__)
        for name in re.findall(r"WAYROUND_TEST_[A-Z_]+", path.read_text("utf-8", "replace"))
    }
    for page in (README, GUIDE):
        spoken = set(re.findall(r"WAYROUND_[A-Z][A-Z_]*", page.read_text("utf-8")))
        assert spoken <= set(known_variables()) | of_tests, page.name
    assert of_tests <= set(re.findall(r"WAYROUND_[A-Z_]+", GUIDE.read_text("utf-8"))), "what the tests read is told too"


# Wire


def test_every_call_stands_in_the_wire_table_and_no_other(app: Flask) -> None:
    def plain(path: str) -> str:
        return re.sub(r"<[^>]*>|\{[^}]*\}", "{}", path.partition("?")[0])

    there = {
        (method, plain(rule.rule))
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    calls = [name for row in rows(section("Wire")) for name in quoted(row[0]) if re.match(r"[A-Z]+ /", name)]
    told = [(name.split()[0], plain(name.split()[1])) for name in calls]
    assert len(told) == len(set(told)), "each once"
    assert set(told) == there, set(told) ^ there


# Kinds and definitions


def test_every_kind_and_each_of_its_fields_stands_in_the_entries_table() -> None:
    table = {quoted(row[0])[0]: row[1] for row in rows(section("Entries")) if quoted(row[0])}
    assert set(table) == set(KINDS)
    for name, kind in KINDS.items():
        told = set(re.findall(r"[a-z_0-9]+", " ".join(quoted(table[name]))))
        assert set(names(kind.schema)) <= told, name
        needed = {field for field, about in kind.schema.fields.items() if about.required}
        optional = set(re.findall(r"([a-z_]+)\?", table[name]))
        assert not needed & optional, (name, "what is needed bears no question mark")


def names(schema: Schema) -> Iterator[str]:
    """Every field of a schema and of those within it."""
    for name, field in schema.fields.items():
        yield name
        field = getattr(field, "inner", field)
        if isinstance(field, Nested):
            yield from names(field.schema)


def test_every_type_of_definition_and_each_of_its_fields_is_told() -> None:
    bullets = re.split(r"^\* ", section("Definitions"), flags=re.M)[1:]
    told = {quoted(bullet)[0]: " ".join(quoted(bullet)) for bullet in bullets}
    assert set(told) == set(SCHEMAS)
    anywhere = set(re.findall(r"[a-z_0-9]+", " ".join(told.values())))
    for type_, schema in SCHEMAS.items():
        lacking = set(schema.fields) - set(re.findall(r"[a-z_0-9]+", told[type_])) | set(names(schema)) - anywhere
        assert not lacking, (type_, lacking)


# Commands


def leaves(command: click.Command, path: tuple[str, ...]) -> Iterator[tuple[str, click.Command]]:
    if isinstance(command, click.Group):
        for name, inner in command.commands.items():
            yield from leaves(inner, (*path, name))
    else:
        yield " ".join(path), command


def test_every_command_stands_in_the_table_and_no_other() -> None:
    there = dict(leaves(main, ("wayround",)))
    table = {quoted(row[0])[0]: " ".join(row[1:]) for row in rows(section("Commands")) if quoted(row[0])}
    assert set(table) == set(there)
    for name, told in table.items():
        options = {option for param in there[name].params for option in param.opts}
        assert set(re.findall(r"--[a-z-]+", told)) <= options, name
        assert "--data" in options, "the guide says that each takes it"


def test_no_command_is_spoken_of_that_does_not_exist() -> None:
    there = dict(leaves(main, ("wayround",)))
    words = {name for full in there for name in (full, full.rpartition(" ")[0])}
    for page in (README, GUIDE):
        for quote in re.findall(r"(?:`|bin/)(wayround [a-z][^`\n]*)", page.read_text("utf-8")):
            said = re.match(r"wayround(?: [a-z_]+)*", quote)
            assert said and any(
                said.group() == word or said.group().startswith(f"{word} ") for word in words - {"wayround"}
            ), quote


# Links and the tree


@pytest.mark.parametrize("page", [README, GUIDE], ids=lambda page: str(page.name))
def test_relative_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text("utf-8")):
        if not re.match(r"[a-z]+:", target):
            assert (ROOT / target).exists(), target


def test_paths_that_the_guide_names_exist() -> None:
    files = set(tracked())
    folders = {str(parent) for name in files for parent in Path(name).parents}
    for path in re.findall(r"`((?:webapp|static|tests|migrations|seed_demo|\.ci)/[\w./-]+)`", GUIDE.read_text("utf-8")):
        assert path.rstrip("/") in files | folders | {"static/dist"}, path


def test_the_top_level_is_as_the_house_says() -> None:
    top = {name.partition("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


def test_the_house_names_every_folder_of_the_server() -> None:
    told = set(re.findall(r"^  (\w+)/ ", section("The house"), re.M))
    there = {name.split("/")[1] for name in tracked() if re.match(r"webapp/\w+/", name)}
    assert told == there
