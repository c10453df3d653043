"""Looks at a page with axe-core: phone and desk, day and night."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.conftest import DESK, PHONE

NEEDS_AXE = "needs axe-core: pip install axe-playwright-python (it is in the [test] extra)"


class Audit:
    """Runs axe in a page and gathers what is serious or critical, once a kind and place."""

    def __init__(self, page: Any) -> None:
        axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason=NEEDS_AXE)
        self.page, self.axe = page, axe.Axe()
        self.found: list[str] = []

    def look(self, where: str) -> None:
        """In both sizes by day with every rule; by night only the colours differ."""
        for scheme, options in (("light", {}), ("dark", {"runOnly": ["color-contrast"]})):
            self.page.emulate_media(color_scheme=scheme)
            for size in (PHONE, DESK):
                self.page.set_viewport_size(size)
                answer = self.axe.run(self.page, options={"resultTypes": ["violations"]} | options).response
                self.found += [
                    f"{where}, {scheme}, {size['width']} wide: {one['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
                    for one in answer["violations"]
                    if one["impact"] in ("serious", "critical")
                    for node in one["nodes"][:2]
                ]
                over = self.page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
                if over > 0:
                    self.found.append(f"{where}: {over} px wider than a screen of {size['width']}")
