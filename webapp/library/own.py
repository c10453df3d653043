"""A shop's own alloy, from the mill certificate that its definition holds (DEVELOPERS.md, Definitions, `alloy`).

Its figures are the certificate's; how its chips and dust behave, and what the certificate does not name, is taken from
the alloy of the library that it is handled like.

Twin: `ownCard` in static/src/core/certificates.js, held to tests/vectors/own_alloys.json.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from webapp.core.alloys import Alloy, Constituent, Density, mattering
from webapp.core.certificates import Line, assumed, composed, density_by_parts
from webapp.core.sources import Source
from webapp.library.alloys import alloys, behaviours, densities, elements

# The family of an alloy that is like none of the library.
FAMILY = "other metal"


def own_alloy(row: Mapping[str, Any]) -> Alloy:
    """The alloy of a definition, its `id` the key; AlloyError as `composed` has it."""
    like = alloys().get(row.get("like") or "")
    cited = certificate_source(row)
    lines = [Line(**line) for line in row["composition"]]
    found = composed(row["base"], lines, cited)
    added = assumed(row["base"], lines, like, elements().values()) if like else ()
    made = Alloy(
        key=row["id"],
        name=row["name"],
        base=row["base"],
        family=like.family if like else FAMILY,
        composition=(*found, *added),
        chips=like.chips if like else behaviours("chips")["unknown"],
        dust=like.dust if like else behaviours("dust")["unknown"],
        scrap=behaviours("scrap")["own"],
        uns=row.get("uns") or None,
        density=_density(row, like, found, cited),
        notes=row.get("notes") or None,
        certificate=row["certificate"]["number"],
        like=like.key if like else None,
        assumed=tuple(part.element for part in added),
    )
    beyond = _beyond(made, like)
    # What matters beyond the card must not end in the bin of that card's alloy.
    scrap = row.get("scrap") or (like.scrap.key if like and not beyond else "own")
    return replace(made, beyond=beyond, scrap=behaviours("scrap").get(scrap, made.scrap))


def certificate_source(row: Mapping[str, Any]) -> Source:
    """The certificate as a source: its number, what it says of whose it is, its date."""
    said = row["certificate"]
    return Source(
        row["id"], f"Mill certificate {said['number']}: {said['source']}", "kept by the shop", said["dated"], "seen"
    )


def _beyond(own: Alloy, like: Alloy | None) -> tuple[str, ...]:
    if like is None:
        return ()
    known = {element.symbol for element, _ in mattering(like, elements().values())}
    return tuple(one.symbol for one, _ in mattering(own, elements().values()) if one.symbol not in known)


def _density(
    row: Mapping[str, Any], like: Alloy | None, composition: Sequence[Constituent], cited: Source
) -> Density | None:
    """As the certificate says, else that of the alloy it is like, else by the elements; said to be so."""
    if said := row.get("density"):
        return Density(said["value"], said["unit"], cited, origin="from the certificate")
    if like and like.density:
        return replace(like.density, origin=f"of {like.key}, the nearest in the library")
    weights, source = densities()
    found = density_by_parts(composition, weights)
    return Density(found, "g/cm3", source, origin="worked out from its elements, to a few per cent") if found else None
