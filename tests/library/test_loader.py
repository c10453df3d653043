"""A bad library file is refused with its place and its mend; a good one is read once."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from webapp import library
from webapp.library.reading import load

GOOD = """
key = "press"
name = "Arbor press"
family = "other"
notes = "Invented."
checklists = [
  { key = "start_up", name = "Start-up", form = "start-up", checks = [
    { key = "ram", text = "Look at the ram", how = "By eye.", why = "It falls.", source = "common practice, no source" } ] },
]
tasks = [
  { key = "daily", name = "Round", rule = { each = "start-up" }, checklist = "start_up", minutes = 1, why = "So.", source = "common practice, no source" },
]
"""

PART = "{ key = 'ram', kind = 'ram', name = 'Ram'"
FLUID = "{ key = 'oil', kind = 'oil', name = 'Oil', capacity = 1, unit = 'L', source = 'none'"


def write(folder: Path, text: str, name: str = "press.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_good_file_is_read(tmp_path: Path) -> None:
    starter = library.read_machine(write(tmp_path, GOOD))
    assert (starter.key, starter.checklists[0].checks[0].stop, starter.tasks[0].minutes) == ("press", False, 1)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('notes = "Invented."', "", "press.toml.notes: is missing"),
        ('why = "It falls."', 'wy = "It falls."', r"checklists\[0\].checks\[0\].wy: is not known"),
        ("minutes = 1", 'minutes = "1"', r"tasks\[0\].minutes: is '1'; write a number"),
        ("minutes = 1", "minutes = true", "minutes: is True; write a number"),
        ('family = "other"', 'family = "press"', "family: is 'press'; use one of mill"),
        ('how = "By eye."', 'how = " "', "how: is empty"),
        ('how = "By eye."', 'how = "By eye.", stop = 1', "stop: is 1; write true or false"),
        ('how = "By eye."', 'how = "By eye.", caution = "dragons"', "'dragons' is none of the cautions"),
        ('how = "By eye."', 'how = "By eye.", choices = "yes"', "choices: is 'yes'; write a list"),
        ('how = "By eye."', 'how = "By eye.", band = 3', "band: is 3; write a table"),
        ('checklist = "start_up"', 'checklist = "weekly"', "'weekly' is none of the checklists"),
        ('{ each = "start-up" }', '{ meter = "cuts", every = 5 }', "'cuts' is none of the meters"),
        ('{ each = "start-up" }', '"daily"', r"rule: is 'daily'; write a table"),
        (
            '{ each = "start-up" }',
            '{ first_of = [{ every = { days = 1 } }, { after = "part.changed", part = "blade", days = 1 }] }',
            "'blade' is none of the kinds of part",
        ),
        (
            '{ each = "start-up" }',
            '{ after = "fluid.changed", fluid = "oil", days = 1 }',
            "'oil' is none of the kinds of f",
        ),
        ('{ each = "start-up" }', '{ when = { reading = "ph", below = 8 } }', "'ph' is none of the quantities"),
        ('notes = "Invented."', 'notes = "I."\ncautions = ["dragons"]', "'dragons' is none of the cautions"),
        ("minutes = 1", 'minutes = 1, cautions = ["dragons"]', "'dragons' is none of the cautions"),
        ('notes = "Invented."', f"notes = 'I.'\nparts = [{PART}, item = 'ram' }}]", "'ram' is none of the items"),
        ('notes = "Invented."', f"notes = 'I.'\nparts = [{PART}, meter = 'cuts' }}]", "'cuts' is none of the meters"),
        ('notes = "Invented."', f"notes = 'I.'\nfluids = [{FLUID}, quantity = 'ph' }}]", "'ph' is none of the quant"),
        ('key = "press"', 'key = "vice"', "key is 'vice'; call it 'press'"),
        ('key = "press"', 'key = "press', "is no valid TOML"),
    ],
)
def test_a_bad_file_is_refused_with_its_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in GOOD
    with pytest.raises(library.LibraryError, match=said):
        library.read_machine(write(tmp_path, GOOD.replace(old, new, 1)))


def test_a_key_given_twice_is_refused(tmp_path: Path) -> None:
    line = GOOD[GOOD.index('  { key = "daily"') : GOOD.rindex("]")]
    with pytest.raises(library.LibraryError, match="tasks has 'daily' twice"):
        library.read_machine(write(tmp_path, GOOD.replace(line, line * 2)))


def test_a_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    with pytest.raises(library.LibraryError, match=r"gone\.toml: cannot be read"):
        load(tmp_path / "gone.toml")


@pytest.mark.parametrize("key", ["anvil", "../cautions", "", "cnc mill"])
def test_an_unknown_machine_is_refused(key: str) -> None:
    with pytest.raises(library.LibraryError, match="is not in the library"):
        library.machine(key)


def test_files_are_read_once() -> None:
    assert library.machine("cnc_mill") is library.machine("cnc_mill")
    assert library.cautions() is library.cautions()


def test_every_caution_ends_with_the_deference_line_once() -> None:
    assert library.DEFERENCE == (
        "The machine's manual, the safety data sheet, local codes and a licensed or competent person come first."
    )
    for caution in library.cautions().values():
        assert caution.text.endswith(f". {library.DEFERENCE}")
        assert caution.text.count("come first") == 1


def test_the_phone_can_read_the_cautions_line_by_line() -> None:
    """static/src/kit/cautions.js reads the same file without a TOML parser."""
    path = Path(library.__file__).with_name("cautions.toml")
    for line in path.read_text(encoding="utf-8").splitlines():
        assert re.fullmatch(r'(#.*)?|\[[a-z_]+\]|[a-z_]+ = "[^"\\]*"', line), line


def test_the_summary_counts_what_is_there() -> None:
    mill = next(one for one in library.starters() if one.key == "cnc_mill")
    starter = library.machine("cnc_mill")
    assert mill.checks == sum(len(one.checks) for one in starter.checklists)
    assert (mill.tasks, mill.items, mill.family) == (len(starter.tasks), len(starter.items), "mill")
    assert mill.minutes == 1.5
    names = [one.name for one in library.starters()]
    assert names == sorted(names)
