"""Checks the pictures and drawings of a package by their bytes: what they are, and whether they are accepted."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from collection.ingest.package.faults import Faults
from collection.ingest.package.sheets import Attached, Sheet, Source
from collection.ingest.pictures import drawings
from collection.ingest.pictures.drawings import Box
from collection.ingest.pictures.image_files import (
    LONGEST_SIDE,
    MOST_PIXELS,
    SUFFIXES,
    absurd_size,
    has_more_frames,
    picture_kind,
    picture_size,
)
from collection.language.errors import Fault
from collection.records.cells import points
from collection.records.sheets import BY_SHEET
from collection.store.stage.checks import named_files
from collection.store.stage.stage import Stage
from collection.store.stage.warnings import drawn_outlines, drawn_points

OVERSHOOT = 0.01
"""Share of a drawing's size by which an outline may cross its edge; common practice, no published source."""

_DRAWN = ("pictures", "drawings")
_LOOKED_AT = 4096
_RASTER = {suffix: kind for kind, suffixes in SUFFIXES.items() for suffix in suffixes}
_GZIP = b"\x1f\x8b"
_BLANKS = b"\xef\xbb\xbf \t\r\n"


@dataclass(frozen=True, slots=True)
class Look:
    """What was found in one file: faults, warnings, and the box of its units."""

    faults: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    box: Box | None = None


def picture_faults(stage: Stage, source: Source, faults: Faults) -> list[tuple[Fault, int | None]]:
    """Adds faults for files that are refused; returns warnings for those that cannot be shown, or drawn outside."""
    doubts: list[tuple[Fault, int | None]] = []
    held = {sheet.record.sheet: sheet for sheet in source.sheets}
    looks: dict[str, Look] = {}
    for sheet in _DRAWN:
        if sheet not in held:
            continue
        for row, column, name in named_files(stage, BY_SHEET[sheet]):
            if name not in source.files:
                continue
            if name not in looks:
                looks[name] = look_at(source.files[name])
            for said, is_fault in _said(looks[name], sheet):
                fault = Fault(held[sheet].file, sheet, held[sheet].row_of(row, column), column, name, said)
                if is_fault:
                    faults.add(fault)
                else:
                    doubts.append((fault, row))
    boxes = {name: look.box for name, look in looks.items() if look.box is not None}
    return [*doubts, *_drawn_outside(stage, held, boxes)]


def look_at(file: Attached) -> Look:
    """Checks a picture or drawing by its content, not by its name."""
    suffix = os.path.splitext(file.name)[1].lower()
    with open(file.path, "rb") as read:
        start = read.read(_LOOKED_AT)
        if suffix in (".svg", ".svgz") and start[:2] == _GZIP:
            return Look(("This drawing is compressed, so it cannot be looked at. Save it as plain SVG.",))
        if _is_markup(start) or (suffix == ".svg" and picture_kind(start) is None):
            if file.size > drawings.LARGEST_DRAWING:
                return Look(
                    (
                        f"This drawing has {file.size:,} bytes; at most {drawings.LARGEST_DRAWING:,} are taken. "
                        "Simplify its lines, or hand its photographs in as pictures of their own.",
                    )
                )
            read.seek(0)
            return _look_at_drawing(read.read(), suffix)
        try:
            size = picture_size(read)
        except ValueError:
            return Look(
                doubts=(
                    "This picture is damaged: its size cannot be read. It is kept as it is; hand in a "
                    "sound one if there is one.",
                )
            )
        if size is None:
            return Look(
                doubts=(
                    "This is not a PNG, JPEG, TIFF, WebP, GIF or SVG, so nobody will see it in the pages; it is kept.",
                )
            )
        absurd = absurd_size(size)
        if absurd is not None:
            return Look(
                (
                    f"This picture says that it has {absurd}; at most {MOST_PIXELS // 1_000_000} million and "
                    f"{LONGEST_SIDE} on a side are taken. Save it smaller, or check where it comes from.",
                )
            )
        if not size[0] or not size[1]:
            return Look(("This picture has no pixels. Save it again from the program or camera that made it.",))
        doubts = []
        kind = picture_kind(start)
        if kind is not None and suffix not in SUFFIXES[kind] and (suffix in _RASTER or suffix == ".svg"):
            doubts.append(
                f"This is a {kind} under the name of another kind, so some programs will not open it. It is "
                f"kept; {SUFFIXES[kind][0]} would be its ending."
            )
        if has_more_frames(read):
            doubts.append(
                "This file holds several pictures, and only the first will be seen. Hand the others in as "
                "files of their own."
            )
        return Look(doubts=tuple(doubts), box=(0.0, 0.0, float(size[0]), float(size[1])))


def _is_markup(start: bytes) -> bool:
    return start.lstrip(_BLANKS)[:1] == b"<" or (start[:2] in (b"\xff\xfe", b"\xfe\xff") and b"<" in start[2:4])


def _look_at_drawing(content: bytes, suffix: str) -> Look:
    seen = drawings.look_at(content)
    if not seen.is_svg:
        return Look(
            (
                "This file is a web page or another kind of XML, and neither a picture nor an SVG drawing. Hand "
                "in the picture itself, or name the file in sources.",
            )
        )
    if seen.faults:
        return Look(seen.faults)
    if suffix in _RASTER:
        return Look(
            (f"This is an SVG drawing under the name of a {_RASTER[suffix]} picture. Give it the ending .svg.",)
        )
    doubts = []
    if len(content) > drawings.LARGEST_SHOWN:
        doubts.append(
            f"This drawing has {len(content):,} bytes, and the published pages leave out what is over "
            f"{drawings.LARGEST_SHOWN:,}. Simplify it if people are to see it."
        )
    return Look(doubts=tuple(doubts), box=seen.box)


def _said(look: Look, sheet: str) -> Iterator[tuple[str, bool]]:
    yield from ((said, True) for said in look.faults)
    yield from ((said, False) for said in look.doubts)
    if sheet == "drawings" and look.box is None and not look.faults and not look.doubts:
        yield (
            (
                "This drawing gives no size in drawing units (a viewBox, or width and height without a unit), so no "
                "outline can be placed on it."
            ),
            False,
        )


def _drawn_outside(
    stage: Stage, held: Mapping[str, Sheet], boxes: Mapping[str, Box]
) -> Iterator[tuple[Fault, int | None]]:
    """Warnings about outlines and sample points outside the drawing that they belong to."""
    for row, file, outline in drawn_outlines(stage):
        if file in boxes:
            beyond = _first_beyond(boxes[file], points(outline))
            if beyond is not None:
                yield _outside(held["zones"], row, "outline", beyond, file, boxes[file], "corner"), row
    for row, file, x, y in drawn_points(stage):
        if file in boxes and _first_beyond(boxes[file], [(x, y)]) is not None:
            yield _outside(held["samples"], row, "x", (x, y), file, boxes[file], "point"), row


def _first_beyond(box: Box, corners: Iterable[tuple[float, float]]) -> tuple[float, float] | None:
    left, top, width, height = box
    wide, high = width * OVERSHOOT, height * OVERSHOOT
    for x, y in corners:
        if not (left - wide <= x <= left + width + wide and top - high <= y <= top + height + high):
            return x, y
    return None


def _outside(sheet: Sheet, row: int, column: str, corner: tuple[float, float], file: str, box: Box, what: str) -> Fault:
    left, top, width, height = box
    return Fault(
        sheet.file,
        sheet.record.sheet,
        sheet.row_of(row, column),
        column,
        f"{corner[0]:g},{corner[1]:g}",
        f"This {what} lies outside of the drawing {file}, which reaches from {left:g},{top:g} to "
        f"{left + width:g},{top + height:g}. Correct the figures, or name the drawing that they belong to.",
    )
