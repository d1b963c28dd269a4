"""`export --as linked-art`: a folder with one JSON-LD document per object, an index, our own terms, and the pictures.

Objects are read, told and written one at a time.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar

from datasette.utils import tilde_encode

from collection import __version__
from collection.language.errors import WrongCommand
from collection.language.sentences import counted
from collection.output.export.linked_art.context import CONTEXT, OWN, Json
from collection.output.export.linked_art.document import linked_object
from collection.output.export.linked_art.ids import Ids
from collection.output.export.linked_art.questions import QUESTIONS
from collection.output.export.linked_art.shapes import COMPUTED_NOT_CARRIED, NOT_CARRIED
from collection.output.export.linked_art.vocabulary import vocabulary
from collection.output.export.new_folder import new_folder
from collection.output.published import stored_objects
from collection.output.published.audience import Audience, rows_for
from collection.output.published.documents import object_document
from collection.output.published.published_pictures import PublishedPictures
from collection.store.base import database, files
from collection.store.changes import collection_row
from collection.store.derive import HowFar
from collection.values.spoken_dates import in_words

OBJECTS, PICTURES, ASKED = "objects", "pictures", "questions"
INDEX, TERMS, README = "index.jsonld", "terms.jsonld", "README.txt"
LONGEST_NAME = 200
"""Signs of a file's name before its ending; file systems take 255 bytes."""
FOR_STAFF = "Private columns, notes, records for staff and the names of people are in it: it is for staff."
FREE_TEXT = "Free text is as it was written: publish tells where a person's name stands in one."


@dataclass(frozen=True)
class LinkedArtReport:
    """What was exported: how many objects and pictures, for whom, and from what their ids are made."""

    folder: str
    objects: int
    pictures: int
    audience: str
    names: bool
    address: str | None
    damaged: ClassVar[bool] = False

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self)}

    def sentences(self) -> list[str]:
        whose = f"Ids are addresses below {self.address}." if self.address else NO_ADDRESS
        return [
            f"{self.folder}: {counted(self.objects, 'object')} as JSON-LD, {counted(self.pictures, 'picture')}.",
            f"  {FOR_STAFF if self.audience == 'staff' else FREE_TEXT}",
            f"  {whose}",
        ]


NO_ADDRESS = (
    "Ids are names (urn:uuid), made from the collection's code and the objects' numbers, because no address is known: "
    "name one with --address, or say it once with collection DB address=URL."
)


def export_linked_art(
    db_path: Path,
    out: Path,
    *,
    audience: str = "public",
    names: bool = False,
    address: str | None = None,
    progress: HowFar | None = None,
) -> LinkedArtReport:
    """Write every object as JSON-LD to a new folder.

    :param audience: `public`, or `staff` with private columns, notes, names and records for staff.
    :param names: with people's names, which staff always have.
    :param address: where the site stands or will, as `https://host/`; for the public otherwise the collection's own.
    :raises WrongCommand: where something of that name is there already, or the address is not one.
    :raises CouldNot: where the database cannot be read or the folder cannot be written; no folder is left.
    :raises DamageFound: when a picture's file is no longer what was stored.
    """
    if address is not None and not collection_row.ADDRESS.fullmatch(address):
        raise WrongCommand(f"{address} is not the address of a site. Write it as https://host/ or https://host/path/.")
    for_whom = Audience(audience, names)
    with new_folder(out, db_path) as folder, database.opened(db_path, write=False) as db:
        db.execute("BEGIN")  # one snapshot, whoever writes meanwhile
        files.need_folder(db)
        whose = collection_row.present(db)
        address = address or (None if for_whom.is_staff else whose.address)
        about = {
            "program": f"firstcoat {__version__}",
            **{f"collection_{name}": text for name, text in whose.as_json().items() if text},
        }
        newest = stored_objects.newest_change(db)
        on = newest["at"][:10] if newest else ""
        (folder / OBJECTS).mkdir()
        total = 0
        with (folder / INDEX).open("w", encoding="utf-8", newline="\n") as index:
            index.write(f'{{"@context": {_json(CONTEXT)},\n"@graph": [')
            codes = stored_objects.objects_for(for_whom, db)
            for document in _documents(db, codes, db_path, folder / PICTURES, for_whom, on):
                ids = Ids(document["object"], address, whose.code or whose.name or "")
                told = linked_object(document, ids, about)
                name = f"{OBJECTS}/{file_name(document['object'])}"
                (folder / name).write_text(_json(told) + "\n", encoding="utf-8", newline="\n")
                index.write(",\n" if total else "\n")
                index.write(_json(_entry(told, name)))
                total += 1
                if progress:
                    progress(total, len(codes))
            index.write("\n]}\n")
        (folder / ASKED).mkdir()
        for name, question in QUESTIONS.items():
            (folder / ASKED / f"{name}.rq").write_text(question.text(), encoding="utf-8", newline="\n")
        (folder / TERMS).write_text(json.dumps(vocabulary(), ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
        made = LinkedArtReport(
            str(out), total, len(list(folder.glob(f"{PICTURES}/*"))), for_whom.word, for_whom.names, address
        )
        (folder / README).write_text(_readme(made, about, on), encoding="utf-8", newline="\n")
    return made


def _documents(
    db: sqlite3.Connection, codes: list[str], db_path: Path, pictures: Path, audience: Audience, on: str
) -> Iterator[Json]:
    """The published document of each object, as the site has it; the image files go into a folder."""
    everyone = frozenset(codes)
    surveys = {row["code"]: row for row in stored_objects.surveys(db)}
    images = PublishedPictures(db_path, pictures, audience)
    for stored in stored_objects.objects(db, codes):
        public = rows_for(audience, stored.rows, everyone)
        shown, drawn = images.publish(stored, public), images.publish_drawings(stored, public)
        yield object_document(stored, public, surveys, shown, drawn, audience=audience, on=on)


def file_name(code: str) -> str:
    """The file of an object: its number as in addresses, or where that is too long for a file's name its beginning and a
    part of its SHA-256."""
    written = tilde_encode(code)
    if len(written) > LONGEST_NAME:
        written = f"{written[: LONGEST_NAME - 17]}-{hashlib.sha256(code.encode()).hexdigest()[:16]}"
    return f"{written}.jsonld"


def _entry(told: Json, name: str) -> Json:
    """An object's line in the index: enough to find its document."""
    kept = ("id", "type", "_label", "identified_by", "part_of")
    return {**{each: told[each] for each in kept if each in told}, "fc:document": name}


def _json(found: Json) -> str:
    return json.dumps(found, ensure_ascii=False)


def _readme(made: LinkedArtReport, about: dict[str, str], on: str) -> str:
    whose = about.get("collection_name")
    ids = (
        f"Ids are addresses below {made.address}: they last as long as the site stands there, and as names longer."
        if made.address
        else "Ids are names (urn:uuid) and lead nowhere: each is made from the collection's code and the object's number "
        "(a UUID of version 5), so that the same object has the same id in every export."
    )
    left = [f"- {sheet}.{column}: {why}" for (sheet, column), why in NOT_CARRIED.items()]
    left += [f"- {name}: {why}" for name, why in COMPUTED_NOT_CARRIED.items()]
    lines = [
        f"What is recorded of {counted(made.objects, 'object')}{f' of {whose}' if whose else ''}, as linked data.",
        f"Written by {about['program']}{f', records as of {in_words(on)}' if on else ''}.",
        f"For {'staff only: private columns, notes and names are in it' if made.audience == 'staff' else 'the public'}."
        + ("" if made.names else " People's names are left out of the columns for them."),
        *([f"The records may be used under: {about['collection_licence']}."] if "collection_licence" in about else []),
        "",
        f"{OBJECTS}/     one JSON-LD document for each object; its file is named by the object's number",
        f"{INDEX}   all objects with the file of each",
        f"{TERMS}   our own terms, each with a sentence",
        f"{ASKED}/   questions in SPARQL 1.1 to ask of all documents together",
        f"{PICTURES}/    the pictures, under the names that the documents give (fc:file)",
        "",
        "Read the documents as they are with any program for JSON-LD 1.1 or, being JSON, with any text editor. No network is",
        "needed: each holds its context, that is what its words mean. Words are those of Linked Art (linked.art), which",
        "stand for terms of the CIDOC Conceptual Reference Model (ISO 21127). What begins with fc: is our own:",
        f"  {OWN}",
        "",
        "An object was modified_by campaigns of finishing, treatments and tests; fc:samples are the places where its",
        "build-up was read, their coats being their parts, in the order of fc:position, counted from the end that",
        "fc:counted_from names (from the support where it is not said). Who says so: every record names the survey",
        "that brought it (fc:recorded_in) and the source that reports it (documented_in). What survives was computed",
        "by the program from these records, and says so (fc:computed_by). Dates are given as they were written",
        "(EDTF, ISO 8601-2), with the earliest and the latest day that they can mean.",
        "Words have a number of the Getty Art & Architecture Thesaurus where an exact match is known; most have none.",
        "",
        ids,
        "",
        "Not in it:",
        *left,
    ]
    return "\n".join(lines) + "\n"
