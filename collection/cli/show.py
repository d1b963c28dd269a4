"""`show`: what is known of one object, read only."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collection.cli.options import AS_JSON, DATABASE, TEXT, say
from collection.compute.case import Case
from collection.language.errors import InputRefused
from collection.records.sheets import BY_SHEET

if TYPE_CHECKING:
    import sqlite3

    from collection.records.facts import Facts
    from collection.records.sheets import ProposalStep
    from collection.store.base.named_records import OutOfAccount


@click.command()
@DATABASE
@click.argument("name", type=TEXT, metavar="OBJECT[/CODE]")
@click.option("--history", is_flag=True, help="Who changed what, when and why, cell by cell.")
@click.option("--listed", is_flag=True, help="Cells of lists that no column took whole, as they were written.")
@click.option("--all", "everything", is_flag=True, help="Show everything in full.")
@AS_JSON
def show(db: Path, name: str, history: bool, listed: bool, everything: bool, as_json: bool) -> int:
    """Everything known of one object, on one screen.

    OBJECT/CODE shows one of its zones, parts, samples, schemes or other records with its build-up and evidence.
    """
    from collection.store.base import named_records, read
    from collection.store.base.database import opened
    from collection.store.base.listed_cells import listed_cells
    from collection.store.changes.history import changes_of
    from collection.store.decide.decisions import standing

    with opened(db, write=False) as connection:
        try:
            facts, records = named_records.named(connection, name)
        except InputRefused:
            gone = named_records.out_of_account(connection, name)
            if not gone:
                raise
            _say_withdrawn(connection, gone, history, everything, as_json)
            return 0
        code = facts.object.object
        if as_json:
            proposals = [key for key in read.proposal_keys(connection) if key[0] == code]
            decided = [standing(connection, *key) for key in proposals]
            document: dict[str, Any] = {
                "format": 1,
                "facts": facts.document(),
                "decisions": [d.as_json() for d in decided if d is not None],
            }
            if conditions := named_records.listed_conditions(connection, code):
                document["listed_conditions"] = conditions
            if noted := named_records.noted_on(connection, code):
                document["warnings"] = [asdict(each) for each in noted]
            if records:
                document["records"] = [{"kind": sheet, "record": row} for sheet, row in records]
            if history:
                document["history"] = read.object_history(connection, code)
            if history or listed:
                document["listed"] = [cell.as_json() for cell in listed_cells(connection, code, withdrawn=True)]
            say(document)
        elif listed:
            from collection.cli.text.listed import listed_lines

            cells = listed_cells(connection, code, withdrawn=True)
            click.echo("\n".join([f"{code}  {facts.object.title}", *listed_lines(cells)]))
        elif history:
            from collection.cli.text.history import history_lines

            click.echo(
                "\n".join(
                    [
                        f"{code}  {facts.object.title}",
                        *history_lines(changes_of(connection, code), everything=everything),
                    ]
                )
            )
        elif records:
            click.echo("\n\n".join("\n".join(_record(connection, facts, *record)) for record in records))
        else:
            click.echo("\n".join(_screen(connection, facts, everything)))
    return 0


def _say_withdrawn(
    connection: sqlite3.Connection, found: list[OutOfAccount], history: bool, everything: bool, as_json: bool
) -> None:
    """Records that were withdrawn stay readable: what they say, marked as out of account."""
    from collection.cli.text.history import history_lines
    from collection.cli.text.record import withdrawn_lines
    from collection.store.base import read
    from collection.store.changes.history import changes_of

    code = str(found[0].row["object"])
    if as_json:
        records = [{"kind": each.sheet, "record": each.row, "withdrawn": each.by.as_json()} for each in found]
        document: dict[str, Any] = {"format": 1, "out_of_account": records}
        say(document | ({"history": read.object_history(connection, code)} if history else {}))
        return
    lines = withdrawn_lines(found)
    if history:
        lines += ["", *history_lines(changes_of(connection, code), everything=everything)]
    click.echo("\n".join(lines))


def _record(connection: sqlite3.Connection, facts: Facts, sheet: str, row: dict[str, Any]) -> list[str]:
    from collection.cli.text.assessment import wrap
    from collection.cli.text.record import decided_lines, record_lines
    from collection.records.facts import row_values
    from collection.records.row import key_text
    from collection.store.base import named_records, names, read
    from collection.store.changes import statements
    from collection.store.decide.decisions import decisions
    from collection.store.search.evidence import evidence_of

    def find(other: str, column: str, code: str) -> dict[str, Any] | None:
        return next((row_values(each) for each in getattr(facts, other) if getattr(each, column) == code), None)

    found = evidence_of(connection, facts.object.object, sheet, row, find, names.load(connection))
    stated = statements.told(connection, sheet, f"{row['object']}/{row[BY_SHEET[sheet].key[1]]}")
    steps: tuple[ProposalStep, ...] = ()
    made: list[str] = []
    if sheet == "proposals":
        steps = read.load_proposal(connection, row["object"], row["proposal"]).steps
        made = decided_lines(decisions(connection, row["object"], row["proposal"]))
    own = key_text(sheet, [row.get(name) for name in BY_SHEET[sheet].key])
    noted = [each for each in named_records.noted_on(connection, row["object"]) if each.of(sheet, own)]
    return [
        *record_lines(facts, sheet, row, found.text, steps),
        *made,
        *(f"  {sentence}" for sentence in stated),
        *(wrap(f"Warning from when it came in: {each.sentence()}", "  ") for each in noted),
    ]


def _screen(connection: sqlite3.Connection, facts: Facts, everything: bool) -> list[str]:
    from datetime import date

    from collection.cli.text.object import LINES, Standing, decided_text, screen
    from collection.compute.survival.survival import object_survival
    from collection.rules.assess import assess
    from collection.rules.track_record import outturn
    from collection.store.base import named_records, read
    from collection.store.base.listed_cells import listed_cells
    from collection.store.changes import statements
    from collection.store.decide.decisions import standing

    case, code = Case(facts), facts.object.object
    proposals = []
    for key in read.proposal_keys(connection):
        if key[0] == code:
            asked = read.load_proposal(connection, *key)
            assessed = assess(case, asked)
            decision = standing(connection, *key, assessed=assessed)
            said = None if decision is None else decided_text(decision.decision, stale=decision.stale, at=decision.at)
            answers = () if decision is None else tuple((each.advice, each.reason) for each in decision.answers)
            proposals.append(Standing(asked.proposal, assessed.outcome, said, outturn(case, key[1], assessed), answers))
    shown = screen(
        facts,
        object_survival(case),
        proposals,
        noted=[noted.sentence() for noted in named_records.noted_on(connection, code)],
        listed=len(listed_cells(connection, code)),
        listed_conditions=named_records.listed_conditions(connection, code),
        lines=None if everything else LINES,
        today=date.today().isoformat(),
    )
    return [*shown, *statements.told(connection, "objects", code)]
