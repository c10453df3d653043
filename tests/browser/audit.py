"""Looks at a page with axe-core: phone and desk, day and night."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import DESK, PHONE

NEEDS_AXE = "needs axe-core: pip install axe-playwright-python (it is in the [test] extra)"


RUN = "options => axe.run(document, options).then(({ violations }) => violations)"


class Audit:
    """Runs axe in a page and gathers what is serious or critical, once a kind and place."""

    def __init__(self, page: Any) -> None:
        package = pytest.importorskip("axe_playwright_python", reason=NEEDS_AXE)
        self.page = page
        self.script = (Path(package.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
        self.found: list[str] = []

    def look(self, where: str) -> None:
        """In both sizes by day with every rule; by night only the colours differ."""
        for scheme, options in (("light", {}), ("dark", {"runOnly": ["color-contrast"]})):
            self.page.emulate_media(color_scheme=scheme)
            for size in (PHONE, DESK):
                self.page.set_viewport_size(size)
                if not self.page.evaluate("() => 'axe' in window"):
                    self.page.evaluate(self.script)
                violations = self.page.evaluate(RUN, {"resultTypes": ["violations"]} | options)
                self.found += [
                    f"{where}, {scheme}, {size['width']} wide: {one['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
                    for one in violations
                    if one["impact"] in ("serious", "critical")
                    for node in one["nodes"][:2]
                ]
                over = self.page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
                if over > 0:
                    self.found.append(f"{where}: {over} px wider than a screen of {size['width']}")
