"""`wayround feed`: meters that machines count themselves, over the open MTConnect standard."""

from __future__ import annotations

from typing import Any

import click

from webapp.cli.common import opened, owner_id, with_settings
from webapp.cli.meter_file import the_one
from webapp.config import Settings
from webapp.database import db, writing
from webapp.feeds import mtconnect
from webapp.feeds.faults import FeedFault
from webapp.feeds.fetching import check_url, fetch
from webapp.feeds.polling import standings
from webapp.records.faults import Refused
from webapp.setup import definitions
from webapp.setup.names import namer

_KEPT_APART = ("id", "revision", "retired")


@click.group()
def feed() -> None:
    """Let a machine's agent count one of its meters."""


@feed.command("items")
@click.argument("url")
@with_settings
def items(url: str, settings: Settings) -> None:
    """List what the MTConnect agent at URL offers that a meter can count: id, type, name and value now.

    It needs no shop; --data is taken as everywhere and not used.
    """
    del settings
    try:
        base = check_url(url)
        for item in mtconnect.countable(fetch, base):
            seen = mtconnect.current(fetch, base, item.id).observations
            value = "UNAVAILABLE" if not seen or seen[-1].value is None else seen[-1].value
            type_ = f"{item.type} {item.sub_type}".strip()
            click.echo(f"{item.id:<20}  {type_:<36}  {item.name:<20}  {value}")
    except ValueError as error:
        raise click.UsageError(f"URL {error}: write it like http://192.168.1.20:5000") from None
    except FeedFault as fault:
        raise click.ClickException(str(fault)) from None


@feed.command("set")
@click.argument("machine")
@click.argument("meter")
@click.argument("url")
@click.argument("data_item", metavar="ITEM")
@with_settings
def set_(machine: str, meter: str, url: str, data_item: str, settings: Settings) -> None:
    """Let ITEM of the agent at URL count METER of MACHINE (names or ids). The server begins within a minute."""
    with opened(settings):
        try:
            item = mtconnect.probe(fetch, check_url(url), data_item)
            named = _change(machine, {"kind": "mtconnect", "url": url, "data_item": item.id}, meter)
        except ValueError as error:
            raise click.ClickException(str(error)) from None
        except FeedFault as fault:
            raise click.ClickException(f"{fault} Nothing was changed.") from None
        except Refused as refusal:
            told = "; ".join(f"{fault.field} {fault.problem}: {fault.mend}" for fault in refusal.faults)
            raise click.ClickException(told) from None
    click.echo(f"{named}: {item.type} «{item.id}» counts it from now on.")


@feed.command("remove")
@click.argument("machine")
@with_settings
def remove(machine: str, settings: Settings) -> None:
    """Count MACHINE by hand again; what was counted stays."""
    with opened(settings):
        try:
            named = _change(machine, None, None)
        except ValueError as error:
            raise click.ClickException(str(error)) from None
    click.echo(f"{named} is counted by hand again.")


@feed.command("list")
@with_settings
def list_(settings: Settings) -> None:
    """List the feeds: machine, meter, when the agent last answered, hours counted, and what is wrong."""
    with opened(settings):
        session = db.session()
        name = namer(session)
        for row in standings(session):
            hours = row["counted_seconds"] / 3600
            told = f"{name(row['machine'])}, {name(row['meter'])}: {row['data_item']}"
            click.echo(f"{told}, answered {row['seen_at'] or 'never'}, {hours:.2f} h counted")
            if row["problem"]:
                click.echo(f"  {row['problem']}")


def _change(wanted: str, feed_: dict[str, Any] | None, meter: str | None) -> str:
    """Set or take away a machine's feed; the machine's name. Raises ValueError for what is not there, Refused."""
    with writing() as session:
        machines = [row for row in definitions.list_all(session, "machine") if not row["retired"]]
        found = the_one(wanted, machines, ("id", "name"), "machine")
        body = {key: value for key, value in found.items() if key not in (*_KEPT_APART, "feed")}
        if feed_ is not None and meter is not None:
            counted = the_one(meter, found["meters"], ("id", "name", "kind"), "meter")
            body["feed"] = feed_ | {"meter": counted["id"]}
        owner = owner_id(session)
        if owner is None:
            raise ValueError("Nobody is the owner yet: set the shop up first.")
        definitions.update(session, "machine", found["id"], body, found["revision"], owner)
        return str(found["name"])
