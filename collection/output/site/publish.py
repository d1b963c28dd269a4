"""`publish`: a new folder that holds the read-only site: one SQLite file, pictures, metadata, checksums.

Nothing is copied that is not on the allow-list of `collection.output.published.audience`. The folder is built under another
name beside its place and renamed when it is complete, so that after a kill there is the whole site or none, or where
one is replaced the old one or the new. Free text
is published as it was written: a name typed into a public text column is public.
"""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Collection, Iterable
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from collection import __version__
from collection.compute.risk.watch import Moved
from collection.language.errors import CouldNot, WrongCommand
from collection.output.published import stored_objects
from collection.output.published.audience import Audience, Row
from collection.output.published.documents import is_invented
from collection.output.published.people import MOST_TOLD, People
from collection.output.report.about import about_papers
from collection.output.site.checksums import CHECKSUMS, read_checksums, write_checksums
from collection.output.site.computed_objects import Task, program_checksum, state_of
from collection.output.site.hours_of_work import hours_of_work
from collection.output.site.old_site import PICTURES
from collection.output.site.papers import PAPERS
from collection.output.site.ranking import Ranking
from collection.output.site.site_file import FILE_NAME, SiteFile
from collection.output.site.workers import computed
from collection.output.tell.pdf import need_press
from collection.records.policy import default_policy
from collection.records.sheets import SHEETS
from collection.store.base import database, files, unfinished
from collection.store.changes import collection_row
from collection.store.derive import HowFar
from collection.store.watch import watched
from collection.values.spoken_dates import in_words

METADATA = "metadata.json"
_TABLES = {record.sheet: record.table for record in SHEETS if record.sheet != "survey"}
TITLE = "What survives"
NEWS_DAYS = 90
"""For so long a threat is new or worse, in the feed of the site; common practice, no published source."""


@dataclass(frozen=True)
class PublishReport:
    """What was published: rows by sheet, how many were held back, and why pictures were left out; how many objects were
    taken over from the replaced site, because nothing about them had changed; and where people's names stand in texts
    although names are not published (None where they are)."""

    folder: str
    audience: str
    objects: int
    taken_over: int
    rows: dict[str, int]
    withheld: dict[str, int]
    pictures: int
    papers: int
    pictures_left_out: dict[str, str]
    names_in_text: dict[str, Any] | None
    bytes: int
    leftovers: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self), "leftovers": list(self.leftovers)}


def publish(
    db_path: Path,
    out_folder: Path,
    *,
    names: bool = False,
    allow_sql: bool = False,
    staff: bool = False,
    address: str | None = None,
    replace: bool = False,
    papers: bool = False,
    processes: int | None = None,
    objects: Collection[str] | None = None,
    progress: HowFar = lambda done, whole: None,
) -> PublishReport:
    """Write the public site of a database, or the one for staff, to a new folder.

    :param names: publish the columns that hold people's names; the site for staff always does.
    :param staff: every record in account, with private columns, notes and pictures without rights.
    :param address: where the site will stand, as `https://host/`, for lasting links and the site map; for a public site
        otherwise the collection's own, and at last the one that the replaced site has.
    :param allow_sql: let readers of the site browse the tables and ask their own read-only SQL.
    :param replace: publish anew over a site of ours for the same audience, in one step when the new one is whole.
        What was computed there from the same records is taken over.
    :param papers: make each object's report and tag too, which needs the extra `report`.
    :param processes: how many processes compute; by itself one for each core, and none beside this one for few objects.
    :param objects: publish these alone, by their present codes, and no survey that brought nothing of them.
    :param progress: told how many of how many objects are done.
    :raises DamageFound: when a picture's file is no longer what was stored, or all of them are missing.
    :raises WrongCommand: when the folder exists and is not to be replaced, or may not be; or the address is not one.
    :raises CouldNot: when the database cannot be read, or the folder cannot be written. Nothing new is left.
    """
    db_path, out_folder = Path(db_path), Path(out_folder)
    if address is not None and not collection_row.ADDRESS.fullmatch(address):
        raise WrongCommand(f"{address} is not the address of a site. Write it as https://host/ or https://host/path/.")
    audience = Audience("staff" if staff else "public", names)
    parent = out_folder.parent
    if not parent.is_dir():
        raise CouldNot(f"There is no folder {parent} to publish into. Make it first.")
    if papers:
        need_press()
    try:
        leftovers = unfinished.clean(parent)
        old_address = _old_site(out_folder, audience, replace)
        with unfinished.unfinished(out_folder) as folder:
            made = folder / out_folder.name
            made.mkdir()
            with database.opened(db_path, write=False) as connection:
                connection.execute("BEGIN")  # one snapshot, whoever writes meanwhile
                files.need_folder(connection)
                report = _build(
                    connection,
                    db_path,
                    made,
                    audience,
                    address,
                    old_address,
                    out_folder if out_folder.exists() else None,
                    allow_sql=allow_sql,
                    papers=papers,
                    processes=processes,
                    objects=objects,
                    progress=progress,
                )
            files.sync_tree(made)
            size = sum(p.stat().st_size for p in made.rglob("*") if p.is_file())
            if out_folder.exists():
                unfinished.put_over(folder, out_folder)
            else:
                unfinished.put_in_place(folder, out_folder)
    except (OSError, sqlite3.Error) as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
            raise database.sentence(error, db_path) from error  # type: ignore[arg-type]
        why = "the disk is full" if database.is_of_no_room(error) else str(error)
        raise CouldNot(f"The site could not be written to {out_folder}: {why}. Nothing was published.") from error
    return PublishReport(str(out_folder), bytes=size, leftovers=leftovers, **report)


def _old_site(folder: Path, audience: Audience, replace: bool) -> str | None:
    """The address that the site which is to be replaced says it has; None where none stands there.

    :raises WrongCommand: when something stands there that may not be replaced.
    """
    if not folder.exists() and not folder.is_symlink():
        return None
    if not replace:
        raise WrongCommand(
            f"{folder} exists already. Name a new folder; a site that firstcoat published is published anew with --replace."
        )
    try:
        said = json.loads((folder / METADATA).read_text("utf-8"))["plugins"]["firstcoat_site"]
        listed = {*read_checksums(folder), CHECKSUMS}
        ours = not folder.is_symlink() and isinstance(said, dict)
    except (OSError, ValueError, KeyError, TypeError):
        ours = False
    if not ours:
        raise WrongCommand(f"{folder} is no site that firstcoat published, and was left as it is. Name a new folder.")
    more = sorted(
        name
        for path in folder.rglob("*")
        if (name := path.relative_to(folder).as_posix()) not in listed | {PICTURES, PAPERS}
    )
    if more:
        raise WrongCommand(
            f"{folder} holds what firstcoat did not publish ({', '.join(more[:5])}{' …' if len(more) > 5 else ''}), and "
            "was left as it is. Take that out first, or name a new folder."
        )
    if said["audience"] != audience.word:
        raise WrongCommand(
            f"{folder} is the site for {'staff' if said['audience'] == 'staff' else 'the public'}, and what is published "
            f"here is for {'staff' if audience.is_staff else 'the public'}. It was left as it is: name another folder, or "
            f"add --audience {said['audience']}."
        )
    address: str | None = said["address"]
    return address


def _build(
    connection: sqlite3.Connection,
    db_path: Path,
    folder: Path,
    audience: Audience,
    address: str | None,
    old_address: str | None,
    old: Path | None,
    *,
    allow_sql: bool,
    papers: bool,
    processes: int | None,
    objects: Collection[str] | None,
    progress: HowFar,
) -> dict[str, Any]:
    codes = stored_objects.objects_for(audience, connection)
    if objects is not None:
        codes = [code for code in codes if code in objects]
    surveys = {row["code"]: row for row in stored_objects.surveys(connection)}
    whose = collection_row.present(connection)
    address = address or (None if audience.is_staff else whose.address) or old_address
    rows: Counter[str] = Counter()
    withheld: Counter[str] = Counter()
    left_out: dict[str, str] = {}
    taken_over = 0
    unfinished = folder / "unfinished.db"
    people = None if audience.names else People(connection)
    site = SiteFile(unfinished, surveys, audience, every_survey=audience.is_staff and objects is None)
    site.number_objects(codes)
    newest = stored_objects.newest_change(connection)
    on = newest["at"][:10] if newest else ""
    task = Task(
        db_path.resolve(),
        (folder / PICTURES).resolve(),
        audience,
        frozenset(codes),
        state_of(connection),
        on,
        program_checksum(),
        None if old is None else old.resolve(),
        about_papers(connection, audience, address) if papers else None,
    )
    ranked = Ranking(audience)
    for done, found in enumerate(computed(connection, task, codes, processes), start=1):
        rows.update({sheet: len(own) for sheet, table in _TABLES.items() if (own := found.rows.get(table))})
        withheld.update(found.withheld)
        left_out |= found.left_out
        taken_over += found.taken_over
        if people is not None:
            people.look(found.code, found.rows)
        site.add_object(found)
        ranked.add(found)
        progress(done, len(codes))
    if people is not None:
        people.look_at_surveys(site.used_surveys)
    about = {
        "title": f"{TITLE}: {whose.name}" if whose.name else TITLE,
        "program": f"firstcoat {__version__}",
        "format": "1",
        "state": "no change yet" if newest is None else f"change {newest['number']} of {in_words(on)}",
        **({"as_of": on} if on else {}),
        "objects": str(len(codes)),
        "audience": audience.word,
        "names": "published" if audience.names else "not published",
        **({"names_known": str(len(people.names)), "names_found": str(len(people.found))} if people else {}),
        "invented": _invented(site.used_surveys),
        **{f"collection_{name}": text for name, text in whose.as_json().items() if text},
    }
    metadata = site.finish(
        folder / FILE_NAME,
        about,
        ranked.written(
            _moved(connection, on),
            lambda code: next(stored_objects.objects(connection, [code])).changed_on,
            hours_of_work(connection) if audience.is_staff else None,
        ),
    )
    for leftover in folder.glob("unfinished.db*"):
        leftover.unlink()
    metadata["databases"]["collection"]["allow_sql"] = allow_sql
    metadata["plugins"] = {
        "firstcoat_site": {"database": "collection", "tables": allow_sql, "audience": audience.word, "address": address}
    }
    (folder / METADATA).write_text(json.dumps(metadata, indent=1, ensure_ascii=False) + "\n", "utf-8")
    write_checksums(folder)
    return {
        "audience": audience.word,
        "objects": len(codes),
        "taken_over": taken_over,
        "rows": dict(rows),
        "withheld": dict(withheld),
        "pictures": _pictures(folder / FILE_NAME),
        "papers": 2 * len(codes) if papers else 0,
        "pictures_left_out": left_out,
        "names_in_text": None if people is None else {"count": len(people.found), "found": people.found[:MOST_TOLD]},
    }


def _moved(connection: sqlite3.Connection, on: str) -> Iterable[Moved]:
    """What is new or worse since some time before the newest change; nothing where nothing was recorded before."""
    if not on:
        return ()
    since = (date.fromisoformat(on) - timedelta(days=NEWS_DAYS)).isoformat()
    found = watched(connection, default_policy(), since, on)
    return () if found.first else found.moved


def _invented(surveys: list[Row]) -> str:
    """Whether all surveys are invented for a demonstration (yes), some, or none (no)."""
    found = [is_invented(survey) for survey in surveys]
    return "no" if not any(found) else "yes" if all(found) else "some"


def _pictures(file: Path) -> int:
    """How many image files are published, small ones not counted."""
    with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
        sql = "select count(*) from (select file from pictures union select file from drawings) where file is not null"
        (number,) = connection.execute(sql).fetchone()
    return int(number)
