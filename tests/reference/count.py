"""How many separate check values from published sources each area has: the table in DEVELOPERS.md.

    python -m tests.reference.count

Each collected test here is one value, or one worked case, with its source beside it.
"""

from __future__ import annotations

from collections import Counter
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest


class _Counted:
    """A pytest plug-in that counts what is collected, by file."""

    def __init__(self) -> None:
        self.found: Counter[str] = Counter()

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        self.found.update(Path(item.path).stem.removeprefix("test_").replace("_", " ") for item in items)


def count() -> Counter[str]:
    """Area -> values."""
    counted = _Counted()
    with redirect_stdout(StringIO()):  # pytest lists what it collects
        pytest.main(["--collect-only", "-qqq", str(Path(__file__).parent)], [counted])
    return counted.found


def main() -> None:
    found = count()
    print("| area | values |\n| --- | --- |")
    for area, number in sorted(found.items()):
        print(f"| {area} | {number} |")
    print(f"| all | {found.total()} |")


if __name__ == "__main__":
    main()
