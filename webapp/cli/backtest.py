"""`wayround backtest`: how often the forecast's range held, on the past of a shop and on invented ones."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from statistics import median

import click

import seed_demo
from webapp.cli.common import opened, read_settings, require_shop
from webapp.database import db
from webapp.setup.definitions import shop_zone
from webapp.setup.ids import now_ms
from webapp.upkeep import history, simulated
from webapp.upkeep.shop import load
from webapp.upkeep.trial import Score, Story, stories_of, try_out

WEEKS = (2.0, 4.0, 8.0)
"""How far ahead, in weeks of mean use."""
FROM, TO = 0.75, 0.85
"""Where the share must lie of what a range of 80 % held."""
DEMO_DAY = date(2027, 3, 2)
YEAR = 53 * 7
LEARN_WEEKS = 8
"""Weeks of a record that go by before it is tried."""


@click.command()
@click.option("--data", type=click.Path(file_okay=False), metavar="DIR", help="Try it on the shop in this folder.")
@click.option("--seed", default=2027, metavar="N", help="Which invented shops. Default: 2027.")
@click.option(
    "--meters", type=click.IntRange(1, 1000), default=240, metavar="N", help="Meters a pattern. Default: 240."
)
def backtest(data: str | None, seed: int, meters: int) -> None:
    """Forecast from many mornings of the past, and count how often the day that came lay in the 80 % range.

    Without --data: on the demo's year and on invented shops of four patterns; ends with 1 when any of them held
    less than 75 or more than 85 in a hundred.
    """
    click.echo(f"{'':14} weeks  forecasts   held  before  after  days wide  open")
    if data is not None:
        _own(data)
        return
    shares = [_demo()]
    for pattern in simulated.PATTERNS:
        made = simulated.stories(pattern, meters, seed)
        shares.append(_tell(pattern, try_out(made, _mornings(pattern), WEEKS)))
    if not all(FROM <= share <= TO for share in shares):
        raise click.ClickException("A range that is said to hold 80 in a hundred held fewer than 75 or more than 85.")


def _mornings(pattern: str) -> list[date]:
    """A new machine is tried in its first six weeks, the others over a year after a year."""
    days: Iterable[int] = range(4, 43, 3) if pattern == "new machine" else range(YEAR, YEAR + 364, 23)
    return [simulated.FIRST + timedelta(days=day) for day in days]


def _tell(name: str, scores: dict[float, Score]) -> float:
    """Print a line a horizon, and one for all; the share that held."""
    whole = Score()
    for weeks, score in scores.items():
        whole.join(score)
        _line(name, f"{weeks:g}", score)
    _line(name, "all", whole)
    return whole.coverage


def _line(name: str, weeks: str, score: Score) -> None:
    if not score.tried:
        click.echo(f"{name:14} {weeks:>5} {0:>10}   too few data")
        return
    before, after = score.before / score.tried, score.after / score.tried
    click.echo(
        f"{name:14} {weeks:>5} {score.tried:>10} {score.coverage:>6.1%} {before:>7.1%} {after:>6.1%}"
        f" {median(score.widths):>10.0f} {score.open:>5}"
    )


def _own(data: str) -> None:
    """The record of a real shop. Nothing is demanded of it: it may be too short to say."""
    with opened(read_settings(data=Path(data))):
        require_shop(db.session())
        _tell("own record", _record(now_ms()))


def _demo() -> float:
    """The demo's year, written into a database as `wayround demo` does, and thrown away."""
    with tempfile.TemporaryDirectory(prefix="wayround-backtest-") as folder:
        settings = replace(read_settings().with_data(Path(folder)), database="", photos="", demo=True)
        with opened(settings, make=True) as app:
            seed_demo.seed(app, lambda _percent, _told: None, DEMO_DAY)
            zone = shop_zone(db.session())
            share = _tell("demo", _record(history.day_start_ms(DEMO_DAY, zone, history.NOON)))
            db.session.remove()
            db.engine.dispose()
    return share


def _record(at_ms: int) -> dict[float, Score]:
    """Try the forecast on every meter of the record, from its ninth week on."""
    session = db.session()
    shop = load(session, at_ms)
    first = history.beginning(session, shop.zone) or shop.today
    past = history.past(session, first, shop.today, shop.zone, shop.docs)
    scores = {weeks: Score() for weeks in WEEKS}
    by_first: dict[date, list[Story]] = {}
    for story in stories_of(shop, past, first):
        by_first.setdefault(story.first, []).append(story)
    for begun, stories in by_first.items():
        mornings = [begun + timedelta(weeks=week) for week in range(LEARN_WEEKS, (shop.today - begun).days // 7)]
        for weeks, score in try_out(stories, mornings, WEEKS, one_shop=True).items():
            scores[weeks].join(score)
    return scores
