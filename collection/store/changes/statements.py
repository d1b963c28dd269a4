"""Statements about codes: that two codes are one thing, or that a thing has a new code.

Neither alters a record. A statement is a row of `same_things` under a change of its own; from then on readers use the
present code instead of the stored one (`collection.store.base.names`). Taking a statement back adds another row. A
statement is refused where the two records contradict each other, because nobody could tell what is true.
"""

from __future__ import annotations

import difflib
import sqlite3

from collection.language.errors import BadValue, Fault, InputRefused, NotFound
from collection.records import cells
from collection.records.codes import CODE_COLUMN, OWN_CODES, PLACES, fold
from collection.records.sheets import BY_SHEET
from collection.store.base import names
from collection.store.base.names import Names, Node, node_of, text_of
from collection.store.changes.change import Where, change, refused, transaction

MERGED = ("objects", "components", "zones", "schemes", "samples", "decorations", "tests", "hazards", "sources")
"""Kinds of which two codes can turn out to be one thing."""
_WHY_NOT = {
    "survey": "Two surveys are two campaigns, and every record names the one that brought it.",
    "proposals": "Two proposals were each decided for themselves: withdraw the one that is not to be done.",
    "treatments": "Two treatments were each carried out: withdraw the one that is recorded twice.",
    "pictures": "Two pictures are two files: withdraw the one that is there twice.",
    "drawings": "Two drawings are two files with zones of their own: withdraw the one that is there twice.",
}
_UNMERGED = "Withdraw the record that is there twice; it stays readable."


def same(db: Where, sheet: str, first: str, second: str, by: str, why: str, *, holds: bool = True) -> int:
    """State that two codes are one thing, which goes by the first; with `holds` False take that back. Returns the
    change.

    Records stay as they are. Everything computed reads the rows of both under the first code.

    :raises InputRefused: for kinds that are never one, unknown keys or such out of account, codes that are one thing
        already, things of two objects, and records that say different things; nothing is changed.
    """
    if sheet not in MERGED:
        raise refused(sheet, second, f"{_WHY_NOT.get(sheet, _UNMERGED)} One thing can be said of {', '.join(MERGED)}.")
    with transaction(db) as connection:
        known = names.load(connection) or Names((), {})
        one, two = (_node(connection, known, sheet, text) for text in (first, second))
        if holds:
            _may_be_one(connection, known, one, two)
            stated = (two, one)
        else:
            stated = _as_stated(known, one, two)
        subject = f"{sheet} {text_of(one)} {text_of(two)}" + ("" if holds else " (taken back)")
        with change(connection, by, why, names.SAME, subject) as made:
            _state(connection, sheet, *stated, holds, made.number)
            made.touch(objects_about(connection, known, one, two))
        return made.number


def rename(db: Where, sheet: str, key: str, code: str, by: str, why: str) -> int:
    """Give a thing another code from now on. Returns the change.

    Its records, and all that names it, stay under the stored code and can be found and handed in under either.
    Renaming it to the stored code takes every renaming back.

    :raises InputRefused: for kinds without a code of their own, unknown keys, and codes that are not free.
    """
    if sheet not in OWN_CODES:
        raise refused(
            sheet,
            key,
            "The code of a survey stands with every record that it brought, and stays: "
            "mend its title with `firstcoat correct`."
            if sheet == "survey"
            else f"A record in {sheet} has no code of its own: rename the thing that it belongs to. "
            f"Renamed can be {', '.join(OWN_CODES)}.",
        )
    record = BY_SHEET[sheet]
    with transaction(db) as connection:
        known = names.load(connection) or Names((), {})
        node = _node(connection, known, sheet, key)
        node = known.first.get(node, node)
        try:
            value = cells.read_cell(record.column(CODE_COLUMN[sheet]), code)
            if not isinstance(value, str):
                raise BadValue("Write the new code.")
        except BadValue as fault:
            raise InputRefused([Fault(f"{sheet} {key}", sheet, None, None, code, str(fault), fault.nearest)]) from fault
        other: Node = (sheet, value, "") if sheet == "objects" else (sheet, node[1], value)
        before = known.called.get(node, node[2] or node[1])
        if value == before:
            raise refused(sheet, key, f"It is called {value} already; nothing was changed.")
        if other != node:
            _is_free(connection, known, node, other, value)
        with change(connection, by, why, names.RENAME, f"{sheet} {text_of(node)} {value}") as made:
            if other == node:
                for each in known.statements:
                    if each.action == names.RENAME and each.node == node:
                        _state(connection, sheet, node, each.other, False, made.number)
            else:
                _state(connection, sheet, node, other, True, made.number)
            made.touch(objects_about(connection, known, node, other))
        return made.number


def touched_by(db: sqlite3.Connection, sheet: str, *keys: str) -> list[str]:
    """The stored numbers of the objects that a statement about some keys is about.

    :raises InputRefused: for an unknown key, or a kind without codes.
    """
    if sheet not in OWN_CODES:
        return []
    known = names.load(db) or Names((), {})
    found = {own for key in keys for own in known.objects(_node(db, known, sheet, key)[1])}
    return sorted(found | _parts_of(db, found) if sheet == "objects" else found)


def told(db: sqlite3.Connection, sheet: str, key: str) -> list[str]:
    """What was stated about a code, in sentences: what it is called now, and what it is one thing with."""
    known = names.load(db)
    if known is None:
        return []
    node = node_of(sheet, key)
    found = []
    stored = known.stored_as.get(node, node)
    for made in known.statements:
        others = {made.node, made.other}
        when = f"{made.by}, {made.at[:10]}: {made.why}"
        if made.action == names.RENAME and stored == made.node:
            found.append(f"{text_of(made.node)} was renamed {made.other[2] or made.other[1]} ({when}).")
        elif made.action == names.SAME and stored in others:
            found.append(f"{text_of(made.node)} is one thing with {text_of(made.other)} ({when}).")
    return found


def _node(db: sqlite3.Connection, known: Names, sheet: str, text: str) -> Node:
    """The stored node that a key means, in stored, present or former codes."""
    record = BY_SHEET[sheet]
    _, object_code, code = node_of(sheet, text)
    if sheet == "objects":
        meant = [(own, "") for own in (object_code, *known.objects(object_code))]
        where = "object = ?"
    else:
        meant = [(object_code, code), *known.codes(sheet, object_code, code)]
        where = f"object = ? AND {record.key[1]} = ?"
    for own, stored in meant:
        values = (own,) if sheet == "objects" else (own, stored)
        if db.execute(f"SELECT 1 FROM {record.table} WHERE {where} LIMIT 1", values).fetchone() is not None:
            return (sheet, own, stored)
    shown = {
        text_of((sheet, own, code))
        for own, code in db.execute(
            f"SELECT DISTINCT object, {repr('') if sheet == 'objects' else record.key[1]} FROM {record.table} "
            "WHERE object = ? OR ? LIMIT 20000",
            (object_code, sheet == "objects"),
        )
    }
    close = difflib.get_close_matches(text, sorted(shown), n=1, cutoff=0.5)
    form = "OBJECT" if sheet == "objects" else "OBJECT/CODE"
    raise NotFound(
        [
            Fault(
                "the database",
                sheet,
                None,
                None,
                f"{sheet} {text}",
                f"There is no such thing in {sheet}. Write {form}.",
                close[0] if close else None,
            )
        ]
    )


def _may_be_one(db: sqlite3.Connection, known: Names, one: Node, two: Node) -> None:
    sheet = one[0]
    if known.first.get(one, one) == known.first.get(two, two):
        raise refused(
            sheet, text_of(two), f"{text_of(one)} and {text_of(two)} are one thing already; nothing was changed."
        )
    if sheet != "objects" and known.object(one[1]) != known.object(two[1]):
        raise refused(
            sheet,
            text_of(two),
            f"{one[1]} and {two[1]} are two objects. Where they are one, say that first: firstcoat same DB objects.",
        )
    record = BY_SHEET[sheet]
    for node in (one, two):
        code = "" if sheet == "objects" else f" AND {record.key[1]} = ?"
        if (
            db.execute(
                f"SELECT 1 FROM live_{record.table} WHERE object = ?{code} LIMIT 1",
                node[1:2] if sheet == "objects" else node[1:],
            ).fetchone()
            is None
        ):
            raise refused(
                sheet, text_of(node), "It is out of account, so nothing is read of it. Have it reinstated first."
            )


def _as_stated(known: Names, one: Node, two: Node) -> tuple[Node, Node]:
    for made in known.statements:
        if made.action == names.SAME and {made.node, made.other} == {one, two}:
            return made.node, made.other
    mine = [made for made in known.statements if made.action == names.SAME and {one, two} & {made.node, made.other}]
    by_way = "; ".join(f"{text_of(made.other)} {text_of(made.node)}" for made in mine)
    raise refused(
        one[0],
        text_of(two),
        f"Nobody said of {text_of(one)} and {text_of(two)} that they are one "
        + (f"thing; said was {by_way}." if by_way else "thing."),
    )


def _is_free(db: sqlite3.Connection, known: Names, node: Node, other: Node, code: str) -> None:
    """Refuse a code that is taken. A code that was ever given keeps its meaning, so that no old list, tag or decision
    names another thing."""
    sheet = node[0]
    for kind in PLACES if sheet in PLACES else (sheet,):
        record = BY_SHEET[kind]
        if kind == "objects":
            taken = [(kind, str(own), "") for (own,) in db.execute("SELECT object FROM objects")]
        else:
            column = record.key[1]
            taken = [
                (kind, own, str(stored))
                for own in known.objects(node[1])
                for (stored,) in db.execute(f"SELECT DISTINCT {column} FROM {record.table} WHERE object = ?", (own,))
            ]
        given = {
            name: thing
            for name, thing in known.stored_as.items()
            if name[0] == kind and (kind == "objects" or name[1] in known.objects(node[1]))
        }
        for name, thing in [*((each, each) for each in taken), *given.items()]:
            written = name[1] if kind == "objects" else name[2]
            own_thing = known.first.get(thing, thing) == node
            if written == code and not (own_thing and thing == node):
                raise refused(
                    sheet,
                    text_of(node),
                    f"{text_of(other)} is the code of "
                    + (
                        "the same thing already: firstcoat same says which of two is read."
                        if own_thing
                        else f"another record in {kind}. Where both are one thing, "
                        "firstcoat same says so; else choose another code."
                    ),
                )
            if written != code and not own_thing and fold(written) == fold(code):
                raise refused(
                    sheet,
                    text_of(node),
                    f"{code} differs from {written} only in case, blanks, width "
                    "or leading zeros. Choose a code that differs more.",
                )


def _state(db: sqlite3.Connection, sheet: str, node: Node, other: Node, holds: bool, change: int) -> None:
    db.execute(
        'INSERT INTO same_things (sheet, "key", same_as, holds, change) VALUES (?, ?, ?, ?, ?)',
        (sheet, text_of(node), text_of(other), int(holds), change),
    )


def objects_about(db: sqlite3.Connection, before: Names, *nodes: Node) -> list[str]:
    """Every number, stored or present, under which anything of the objects was or is derived."""
    after = names.load(db)
    assert after is not None
    codes = {node[1] for node in nodes}
    if nodes[0][0] == "objects":
        codes |= _parts_of(db, {own for known in (before, after) for code in codes for own in known.objects(code)})
    return sorted(
        {
            number
            for known in (before, after)
            for code in codes
            for number in (code, known.object(code), *known.objects(code))
        }
    )


def _parts_of(db: sqlite3.Connection, codes: set[str]) -> set[str]:
    """The stored numbers of objects recorded as parts of these, because their records name them."""
    marks = ", ".join("?" * len(codes))
    return {
        code for (code,) in db.execute(f"SELECT object FROM live_objects WHERE part_of IN ({marks})", sorted(codes))
    }
