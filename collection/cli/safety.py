"""`safety`: how dangerous a proposal's liquids are to people, as far as is known."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collection.cli.options import AS_JSON, DATABASE, say
from collection.cli.proposals import split_proposal
from collection.cli.text.assessment import wrap
from collection.compute.case import Case

if TYPE_CHECKING:
    from collection.compute.safety import LiquidSafety, Safety


@click.command()
@DATABASE
@click.argument("proposal", metavar="PROPOSAL")
@AS_JSON
def safety(db: Path, proposal: str, as_json: bool) -> int:
    """The liquids of a proposal: fire, exposure limits and who set them, hazards, and what is not known.

    PROPOSAL is OBJECT/CODE. Facts and cautions only: safety data sheets, local codes and licensed practice decide.
    """
    from collection.compute.safety import safety as facts_of
    from collection.store.base import database, read

    object_code, code = split_proposal(proposal)
    connection = database.connect(db, write=False)
    try:
        found = facts_of(
            Case(read.facts_rows(connection, object_code)), read.load_proposal(connection, object_code, code)
        )
    finally:
        database.close(connection)
    if as_json:
        say(found.as_json())
    else:
        click.echo("\n".join(lines(found)))
    return 0


def lines(found: Safety) -> list[str]:
    """One block per liquid, then the object's own dangers, the cautions, and where the figures are from."""
    sources: list[str] = []
    shown = [f"{found.proposal}: liquids and dangers", ""]
    shown += [wrap(f"CAUTION  {text}", "") for text in found.cautions]
    for liquid in found.liquids:
        shown += ["", *_liquid(liquid, sources)]
    if not found.liquids:
        shown += ["", "No liquid is named."]
    if found.additives:
        shown += [
            "",
            wrap(
                f"ADDITIVES  {', '.join(found.additives)}: see their safety data sheets; the tables have none of them."
            ),
        ]
    shown += ["", "ON THE OBJECT", *(wrap(f"- {text}", "  ") for text in found.dangers)]
    if sources:
        shown += ["", "SOURCES", *(wrap(f"[{number}] {text}", "  ") for number, text in enumerate(sources, 1))]
    return shown


def _liquid(liquid: LiquidSafety, sources: list[str]) -> list[str]:
    from collection.compute.safety import H_WORDS

    def cite(source: str | None, status: str | None) -> str:
        if source is None:
            return ""
        text = f"{source} ({status})"
        if text not in sources:
            sources.append(text)
        return f" [{sources.index(text) + 1}]"

    shown = [f"{liquid.name.upper()}  ({'; '.join(liquid.used_as)})"]
    row = liquid.row
    if row is not None:
        fire = [
            f"flash point {row.flash:g} °C" if row.flash is not None else "",
            f"burns in air from {row.lower_limit:g} %" + (f" to {row.upper_limit:g} %" if row.upper_limit else "")
            if row.lower_limit is not None
            else "",
        ]
        if any(fire):
            said = ", ".join(part for part in fire if part)
            shown.append(wrap(f"Fire: {said}{cite(row.fire_source, row.fire_status)}", "  "))
        for kind in dict.fromkeys(limit.kind for limit in liquid.limits):
            said = "; ".join(
                f"{limit.body}{f' {limit.year}' if limit.year else ''} {limit.value:,g} {limit.unit}"
                f"{cite(limit.source, limit.status)}"
                for limit in liquid.limits
                if limit.kind == kind
            )
            shown.append(wrap(f"{kind[0].upper()}{kind[1:]}: {said}", "  "))
        if row.h_statements:
            said = "; ".join(f"{code} {H_WORDS[code]}" if code in H_WORDS else code for code in row.h_statements)
            shown.append(wrap(f"Hazards: {said}{cite(row.h_source, row.h_status)}", "  "))
    if liquid.missing:
        shown.append(
            wrap(f"Not known here: {', '.join(liquid.missing)}. Take it from the supplier's safety data sheet.", "  ")
        )
    return shown
