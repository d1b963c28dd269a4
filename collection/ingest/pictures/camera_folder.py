"""A camera's folder as rows of the sheet `pictures`: file, day, size, and what the file's name holds a code of.

A code counts where it stands by itself, exactly as it is written: between signs that are no letters or figures, and
without a further number behind it (`OHM-19-70` is no `OHM-19`). A slash, which no file's name can hold, may be - or _
there, or the step from a folder to a file. A code of figures alone counts
only as a folder's name or at the beginning of a name that goes on, because cameras number their pictures. Where two codes
fit, none is filled in.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from collection.ingest.package.sheets import Attached
from collection.ingest.pictures.date_taken import date_taken
from collection.ingest.pictures.image_files import picture_kind, picture_size
from collection.ingest.pictures.pictures import look_at
from collection.language.errors import CouldNot, WrongCommand
from collection.records.cells import file_refusal
from collection.records.sheets import Picture

FOLDER = "pictures"
MOST_TOLD = 20
RAW = frozenset(
    {".cr2", ".cr3", ".crw", ".nef", ".nrw", ".arw", ".sr2", ".dng", ".orf", ".rw2", ".raf", ".pef", ".srw", ".raw"}
)
PHONE = frozenset({".heic", ".heif", ".hif", ".avif"})
_CLUTTER = frozenset({"thumbs.db", "desktop.ini"})
_TWIN = "Another picture's name is the same but for its capitals: rename one of them."
_HOW = "Export it as JPEG or TIFF and run this again"


@dataclass(frozen=True, slots=True)
class Coded:
    """The codes that a file's name may hold: objects, and of an object its samples and places."""

    objects: tuple[str, ...] = ()
    inside: Callable[[str], Mapping[str, tuple[str, ...]]] = lambda code: {}
    handed_out: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Codes that the survey hands out, by column (sample, place), each with its object; blank = not known."""
    only: str | None = None
    """The one object that the survey is about."""


@dataclass(frozen=True, slots=True)
class CameraFolder:
    """The rows, without codes of their own yet; the files to be copied, by the name that the rows give them; and what a
    person has to be told, in sentences."""

    rows: tuple[Picture, ...]
    files: Mapping[str, Path]
    told: tuple[str, ...]


def camera_folder(folder: Path, out: Path, coded: Coded) -> CameraFolder:
    """The pictures of a folder and of the folders in it, in the order of their names.

    Files that lie below the folder of the workbook `out` are named where they are; others are to be copied.

    :raises WrongCommand: where there is no such folder, or no picture in it.
    :raises CouldNot: where the folder cannot be read.
    """
    if not folder.is_dir():
        raise WrongCommand(f"There is no folder {str(folder)!r} with pictures.")
    beside = out.parent.resolve() if out.suffix.lower() == ".xlsx" else None
    rows: list[Picture] = []
    copied: dict[str, Path] = {}
    left_out: dict[str, list[str]] = {}
    unsure: list[str] = []
    names: set[str] = set()
    for path in _files(folder):
        inner, name = _named(path, folder, beside)
        try:
            found = _looked_at(path, name) if name.casefold() not in names else _TWIN
        except OSError as error:
            found = f"It cannot be read ({error.strerror or error})."
        if isinstance(found, str):
            left_out.setdefault(found, []).append(inner)
            continue
        names.add(name.casefold())
        cells, doubts = _spoken_of(inner, coded)
        unsure += [f"{inner}: {sentence}" for sentence in doubts]
        if beside is None or not path.resolve().is_relative_to(beside):
            copied[name] = path
        rows.append(Picture.model_construct(None, **{**_BLANK, **found, **cells, "file": name}))
    told = [f"{_some(which)} left out. {why}" for why, which in left_out.items()]
    if not rows:
        raise WrongCommand(" ".join([f"There is no picture in {str(folder)!r} that can be taken.", *told]))
    if coded.only and any(row.object == coded.only for row in rows):
        told.append(f"Where a name holds no object's code, the object is {coded.only}, the survey's only one.")
    more = [f"… and {len(unsure) - MOST_TOLD} more names that hold two codes."] if len(unsure) > MOST_TOLD else []
    return CameraFolder(tuple(rows), copied, (*told, *unsure[:MOST_TOLD], *more))


def _named(path: Path, folder: Path, beside: Path | None) -> tuple[str, str]:
    """A file's name in its folder, and the one that a row gives it; one that lies beside the workbook stays there."""
    inner = path.relative_to(folder).as_posix()
    lies = path.resolve()
    name = lies.relative_to(beside).as_posix() if beside and lies.is_relative_to(beside) else f"{FOLDER}/{inner}"
    return unicodedata.normalize("NFC", inner), unicodedata.normalize("NFC", name)


def _some(names: list[str]) -> str:
    """`a.heic is`, `a.heic, b.heic, c.heic and 4 more are`."""
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"{', '.join(names[:3])}{more} {'is' if len(names) == 1 else 'are'}"


_BLANK: dict[str, Any] = dict.fromkeys(column.name for column in Picture.columns())


def _files(folder: Path) -> list[Path]:
    """Every file, links to folders not followed, as a person sorts them: 2 before 10."""

    def stop(error: OSError) -> None:
        raise CouldNot(f"The pictures' folder cannot be read: {error.strerror} ({error.filename}).") from error

    found = []
    for here, inside, names in os.walk(folder, onerror=stop):
        inside[:] = [name for name in inside if not name.startswith(".")]
        found += [
            Path(here, name)
            for name in names
            if not name.startswith(".") and name.lower() not in _CLUTTER and Path(here, name).is_file()
        ]
    return sorted(found, key=lambda path: [p.zfill(12) if p.isdigit() else p for p in re.split(r"(\d+)", str(path))])


def _looked_at(path: Path, name: str) -> dict[str, str | None] | str:
    """What a picture says of itself; or why it is left out, and what to do."""
    suffix = path.suffix.lower()
    if suffix in PHONE:
        return f"Pages cannot show a {suffix[1:].upper()}. {_HOW}, or set the camera to take JPEG."
    if suffix in RAW:
        return f"Pages cannot show a camera's raw data. {_HOW}; keep the raw file."
    with path.open("rb") as file:
        if picture_kind(file.read(12)) is None:
            return "Not a PNG, JPEG, TIFF, WebP or GIF."
        refused = file_refusal(name)
        faults = look_at(Attached(name, path, path.stat().st_size, "")).faults
        if refused or faults:
            return " ".join([*([refused] if refused else []), *faults])
        try:
            size = picture_size(file)
        except ValueError:
            return {"notes": "damaged: its size cannot be read"}
        return {"taken_on": date_taken(file), "notes": size and f"{size[0]} × {size[1]} pixels"}


def _spoken_of(inner: str, coded: Coded) -> tuple[dict[str, str], list[str]]:
    """Object, sample and place by the codes in a name; and sentences where two fit."""
    text = os.path.splitext(inner)[0]
    objects = _fitting(text, coded.objects)
    if len(objects) > 1:
        return {}, [_two("objects", objects)]
    own = objects[0] if objects else None
    left = text if own is None else _without(text, own)
    offered = {
        column: {code: known for code, known in codes.items() if own in (None, known) or not known}
        for column, codes in coded.handed_out.items()
    }
    own = own or coded.only
    inside = coded.inside(own) if own else {}
    codes = {column: (*inside.get(column, ()), *offered.get(column, ())) for column in ("sample", "place")}
    fitting = _fitting(left, (*codes["sample"], *codes["place"]))
    found = {column: [code for code in fitting if code in own_codes] for column, own_codes in codes.items()}
    both = set(found["sample"]) & set(found["place"])
    if both:
        return ({"object": own} if own else {}), [
            f"{', '.join(sorted(both))} is the code of a sample and of a place, so neither is filled in."
        ]
    cells = {column: fits[0] for column, fits in found.items() if len(fits) == 1}
    own = own or next((known for column, code in cells.items() if (known := offered[column].get(code))), None)
    unsure = [_two(f"{column}s", fits) for column, fits in found.items() if len(fits) > 1]
    return {**cells, **({"object": own} if own else {})}, unsure


def _two(what: str, codes: list[str]) -> str:
    return f"its name holds the codes of {len(codes)} {what} ({', '.join(codes)}), so none is filled in."


def _fitting(text: str, codes: Iterable[str]) -> list[str]:
    """The codes that stand in a text, without those that lie within a longer one that stands there."""
    # Of a large collection nearly every code stands nowhere in a name, so that is asked first.
    near = [code for code in codes if code in text or ("/" in code and any(w in text for w in _written(code)))]
    spans = {code: spans for code in dict.fromkeys(near) if (spans := _spans(text, code))}
    return [
        code
        for code, own in spans.items()
        if any(
            not any(a <= start and end <= b for other, wide in spans.items() if len(other) > len(code) for a, b in wide)
            for start, end in own
        )
    ]


def _spans(text: str, code: str) -> list[tuple[int, int]]:
    """Where a code stands by itself."""
    found = []
    for written in _written(code):
        for match in re.finditer(rf"(?<![^\W_]){re.escape(written)}(?![^\W_]|[-.]\d)", text):
            start, end = match.span()
            begins = start == 0 or text[start - 1] == "/"
            if not code.isdigit() or (begins and end < len(text)):
                found.append((start, end))
    return found


def _without(text: str, code: str) -> str:
    for start, end in _spans(text, code):
        text = text[:start] + " " * (end - start) + text[end:]
    return text


def _written(code: str) -> tuple[str, ...]:
    return (code,) if "/" not in code else tuple(code.replace("/", sign) for sign in "/_-")
