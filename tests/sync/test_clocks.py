"""Row 3 of the known sync failures: whose word counts where clocks disagree, and that the other's stays."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Shop
from webapp.core.instants import instant_text
from webapp.setup.ids import now_ms

YEAR = 365 * 86_400_000


def total(shop: Shop) -> Any:
    return shop.get("/sync/snapshot").get_json()["state"]["meters"][shop.spindle]["total"]


@pytest.mark.parametrize(
    "wrong_first", [True, False], ids=["the wrong clock sends first", "the wrong clock sends last"]
)
@pytest.mark.parametrize("years", [-1, 1], ids=["a year slow", "a year fast"])
def test_3_of_two_amendments_the_later_deed_counts_and_the_loser_stays(
    shop: Shop, years: int, wrong_first: bool
) -> None:
    """A phone a year off amended a minute ago, a true one just now: the true one's is later, however it arrives."""
    other, token = shop.enrol()
    entry = shop.added(2, at=instant_text(now_ms() - 120_000))
    shop.push(entry)
    off = years * YEAR

    def amended(amount: float, at: int, **over: Any) -> dict[str, Any]:
        body = {"meter": shop.spindle, "amount": amount}
        return shop.entry(
            "entry.amended",
            {"entry": entry["id"], "kind": "meter.added", "body": body, "why": "misread"},
            at=instant_text(at),
            **over,
        )

    wrong = amended(5, now_ms() + off - 60_000, device=other)
    true = amended(7, now_ms() - 1_000)

    def send_wrong() -> Any:
        return shop.push(wrong, token=token, sent_at=instant_text(now_ms() + off))

    answers = [send_wrong(), shop.push(true)] if wrong_first else [shop.push(true), send_wrong()]
    assert [answer.get_json()["results"][0]["outcome"] for answer in answers] == ["stored", "stored"]
    assert total(shop) == 7
    _, reader = shop.enrol("reader")
    rows = shop.get("/sync/changes", token=reader, limit=5000).get_json()["entries"]
    kept = {row["id"]: row for row in rows if row["kind"] == "entry.amended"}
    assert kept[wrong["id"]]["body"]["body"]["amount"] == 5, "the loser stays in the record"
    assert kept[wrong["id"]]["receipt"]["marked"] and "marked" not in kept[true["id"]]["receipt"]
