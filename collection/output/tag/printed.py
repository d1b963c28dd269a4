"""A tag on paper: A6, or a sheet of four with eight small labels for an inside panel, a crate, a frame."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from collection.output.drawings.marked import draw_marked
from collection.output.published.published_object import PublishedObject
from collection.output.tag.told import chosen_view, marks_of, tag_told
from collection.output.tell.pdf import can_print, pdf

Json = dict[str, Any]
MODULE_MM, BORDER = 0.8, 4
"""The side of a module of the code, and the white around it in modules: read from prints blurred by a quarter of a
millimetre. Border from ISO/IEC 18004, from memory."""
_LONGEST = {
    "title": 90,
    "name": 44,
    "beside": 150,
    "words": 90,
    "why": 190,
    "not_examined": 170,
    "hazards": 120,
    "ask": 130,
}
"""So many signs of each text go on a tag; what is cut ends in a mark."""


def tag_pdf(
    published: PublishedObject, about: Mapping[str, str | None], *, sheet: bool = False, pictures: Path | None = None
) -> bytes:
    """The tag of an object as PDF/A-2a and PDF/UA-1.

    :param about: as for `tag_told`.
    :param sheet: four tags on A4 and, on a second page, eight small labels, with marks to cut along.
    :param pictures: the folder of the published pictures, from which the drawing comes; without it the places are drawn in a
        frame.
    :raises CouldNot: where the extra `report` is not installed.
    """
    told = tag_told(published, about)
    return pdf("tag/tag.typ", as_printed(published, told, sheet, pictures), day=told["day"], pictures=pictures)


def as_printed(published: PublishedObject, told: Json, sheet: bool, pictures: Path | None) -> Json:
    """What the template takes: the texts of a tag, cut to their room, its drawing and its code."""
    ask = told["ask"]
    whom = ", ".join(part for part in (ask["name"], ask["contact"]) if part)
    return {
        "heading": f"Tag of {told['title']} ({told['object']})",
        "author": ask["name"] or "",
        "sheet": sheet,
        "main": told["main"],
        "title": _cut(told["title"], "title"),
        "object": told["object"],
        "places": [{**row, "name": _cut(row["name"], "name")} for row in told["places"]],
        "more": told["more_places"],
        "beside": [_cut(each, "beside") for each in told["beside"]],
        "not_examined": _cut(told["not_examined"] or "", "not_examined"),
        "donts": [{"words": _cut(row["words"], "words"), "why": _cut(row["why"], "why")} for row in told["donts"]],
        "hazards": " ".join(_cut(each, "hazards") for each in told["hazards"]),
        "ask": _cut(whom, "ask"),
        "address": told["address"] or "",
        "invented": told["invented"] or "",
        "date": told["date"],
        "drawing": _drawing(published, told, pictures),
        "code": _code(told),
    }


def _drawing(published: PublishedObject, told: Json, pictures: Path | None) -> Json | None:
    marks = marks_of(told)
    view = chosen_view(published, list(marks))
    if view is None or told["drawing"] is None:
        return None
    svg = draw_marked(view, marks, name="tag", background=pictures is not None)
    return {"svg": svg, "alt": told["drawing"]["alt"], "wide": view.box[2] / view.box[3]}


def _code(told: Json) -> Json | None:
    """The QR code of the address: level Q, for dirt and scratches, its modules large enough for a telephone."""
    if not told["code"] or not can_print():
        return None
    import segno

    made = segno.make(told["address"], error="q", boost_error=False, micro=False)
    out = io.BytesIO()
    made.save(out, kind="svg", border=BORDER, xmldecl=False, svgclass=None, lineclass=None, omitsize=True)
    side = (made.symbol_size(border=BORDER)[0]) * MODULE_MM
    return {"svg": out.getvalue().decode(), "alt": f"Code to scan: {told['address']}", "mm": round(side, 2)}


def _cut(text: str, what: str) -> str:
    room = _LONGEST[what]
    return text if len(text) <= room else text[: room - 1].rstrip(" ,;·") + "…"
