"""`archive`: a collection as one folder that outlives this program: a bag of pages, papers, tables and the database.

The folder is built beside its place and put there when it is whole. The same database gives the same bytes: its day is
that of the newest change.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from collection import __version__
from collection.language.errors import CouldNot, WrongCommand
from collection.language.sentences import counted
from collection.output.archive import bag, contents
from collection.output.archive.questions import NO_EXAMPLE, Example
from collection.output.archive.readme import NO_PAPERS, Told, readme
from collection.output.export.new_folder import new_folder
from collection.output.site.publish import publish
from collection.output.site.site_contents import About, about
from collection.store.base import database, unfinished
from collection.store.base.named_records import named
from collection.store.derive import HowFar
from collection.store.whole_tables import telling_place

Progress = Callable[[str], HowFar]
README, LABEL = "README.txt", "Firstcoat-Archive"
WHOLE, SOME, PUBLIC, SOME_PUBLIC = "whole", "some objects", "public", "public, some objects"


@dataclass(frozen=True)
class ArchiveReport:
    """What was archived: of which state, how many objects, tables, pages, papers and files, and how many bytes.

    `kind` is one of the four above; `objects` are the codes where only some were asked for. `names_in_text` is what
    publishing for the public says of names in texts. `leftovers` are what killed work had left in the same folder.
    """

    source: str
    folder: str
    kind: str
    state: str
    on: str | None
    objects: tuple[str, ...] | None
    object_count: int
    tables: int
    rows: int
    pages: int
    papers: int
    files: int
    bytes: int
    left_in_the_file: tuple[str, ...]
    names_in_text: dict[str, Any] | None
    notes: tuple[str, ...]
    leftovers: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self)}

    def sentences(self) -> list[str]:
        """What a registrar reads."""
        return [
            f"{self.folder} is an archive of {self.source}, {self.state}: {counted(self.object_count, 'object')}, "
            f"{counted(self.pages, 'page')}, {counted(self.papers, 'paper')}, {counted(self.tables, 'table')} with "
            f"{counted(self.rows, 'row')}; {counted(self.files, 'file')}, {self.bytes / 1e6:.1f} MB.",
            *(f"  {note}" for note in self.notes),
            f"  Begin with data/{README} in it. `firstcoat check {self.folder}` tells at any time whether it is whole.",
            *(f"  Removed what a killed run had left: {name}" for name in self.leftovers),
        ]


def archive(
    db_path: Path | str,
    out: Path | str,
    *,
    audience: str = "staff",
    objects: Sequence[str] = (),
    papers: bool = False,
    processes: int | None = None,
    progress: Progress = lambda what: bag.quiet,
) -> ArchiveReport:
    """Archive a collection, or some objects of it, in a new folder.

    For staff and without `objects` everything goes in, with all history, and `restore` makes the database again. Else it is
    made of what is published for the audience, and holds nothing else.

    :param papers: each object's report and tag too, which needs the extra `report`.
    :param processes: how many processes compute; by itself one for each core.
    :param progress: given what is counted, what is told how many of how many are done.
    :raises WrongCommand: where something stands at `out`, or an object is not published for the audience.
    :raises NotFound: when there is no such object; the nearest are named.
    :raises DamageFound: when the database or a file of it is damaged: an archive of it would not be whole.
    :raises CouldNot: when the database cannot be read, or the folder cannot be written. Nothing is left.
    """
    db_path, out = Path(db_path), Path(out)
    whole = audience == "staff" and not objects
    leftovers = unfinished.clean(out.parent)
    with new_folder(out, db_path, "archived") as folder:
        data, site = folder / bag.PAYLOAD, folder.parent / "site"
        data.mkdir()
        with database.opened(db_path, write=False) as db:
            codes = tuple(_object(db, code) for code in objects) or None
            source = contents.put_database(db, db_path, data, progress) if whole else db_path
        with _spoken_of(out):
            published = publish(
                source,
                site,
                staff=audience == "staff",
                papers=papers,
                processes=processes,
                objects=codes,
                progress=progress("objects published"),
            )
        said = about(site)
        _need(codes, said, audience)
        writing = progress("tables written")
        if whole:
            held = contents.put_tables(source, data, said, writing)
        else:
            held = contents.put_published(site, data, said, writing)
        name = said.collection.name or "a collection"
        pages, printed = contents.put_pages(site, data, name, said.on or "", progress("objects on pages"))
        with closing(database.open_still(data / (contents.DATABASE if whole else contents.PUBLISHED))) as db:
            told = Told(
                name,
                said.state,
                whole,
                audience == "public",
                codes,
                len(said.codes),
                printed,
                _example(db, whole=whole),
                held.left_in_the_file,
            )
        (data / README).write_text(readme(told), encoding="utf-8", newline="\n")
        kind = WHOLE if whole else {"staff": SOME, "public": SOME_PUBLIC if codes else PUBLIC}[audience]
        bag.seal(folder, _info(said, told, kind), progress("files sealed"))
        sizes = [path.stat().st_size for path in folder.rglob("*") if path.is_file()]
    return ArchiveReport(
        str(db_path),
        str(out),
        kind,
        said.state,
        said.on,
        codes,
        len(said.codes),
        held.tables,
        held.rows,
        pages,
        printed,
        len(sizes),
        sum(sizes),
        held.left_in_the_file,
        published.names_in_text,
        (told.what_it_is(), *([NO_PAPERS] if told.lacks_papers else []), *told.strangers()),
        leftovers,
    )


def _object(db: sqlite3.Connection, text: str) -> str:
    """The present code of an object by any of its codes."""
    facts, records = named(db, text)
    if records:
        raise WrongCommand(
            f"{text} is a record of {facts.object.object}: an archive takes whole objects. Name the object."
        )
    return facts.object.object


@contextmanager
def _spoken_of(out: Path) -> Iterator[None]:
    """Says of the archive what kept its pages from being written, and not of the folder in which it is built."""
    try:
        yield
    except CouldNot as error:
        if not isinstance(cause := error.__cause__, OSError | sqlite3.Error):
            raise
        why = "the disk is full" if database.is_of_no_room(cause) else str(cause)
        raise CouldNot(f"{out} could not be written: {why}. Nothing was archived.") from cause


def _need(codes: tuple[str, ...] | None, said: About, audience: str) -> None:
    missing = sorted(set(codes or ()) - set(said.codes))
    if missing:
        raise WrongCommand(
            f"Nothing of {', '.join(missing)} is published for {'the public' if audience == 'public' else audience}. "
            "Leave it out, or archive it for staff."
        )


def _example(db: sqlite3.Connection, *, whole: bool) -> Example:
    """The place that the README asks its questions of, and a word of its name."""
    states, live = ("survival_places", "live_") if whole else ("places", "")
    found = telling_place(db, states, f"{live}tests", f"{live}zones")
    if found is None:
        return NO_EXAMPLE
    code, place, name = found
    words = [word for word in "".join(sign if sign.isalnum() else " " for sign in name).split() if len(word) > 2]
    return Example(code, place, name, "door" if "door" in name.lower() else max(words, key=len, default=""))


def _info(said: About, told: Told, kind: str) -> list[tuple[str, str]]:
    """What the bag says of itself, in the words of RFC 8493 where it has some."""
    whose = said.collection
    labels = [
        ("Source-Organization", whose.name),
        ("Contact-Name", whose.contact),
        ("External-Identifier", whose.code),
        (
            "External-Description",
            f"The record of painted finishes of {told.collection}, {told.state}. {told.what_it_is()}",
        ),
        # The day of the newest change, not of today, so that the same database gives the same bag.
        ("Bagging-Date", said.on),
        ("Bag-Software-Agent", f"firstcoat {__version__}"),
        (LABEL, kind),
    ]
    return [(label, text) for label, text in labels if text]
