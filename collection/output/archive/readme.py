"""The README of an archive: in plain words, for somebody who has the folder and has never heard of this program."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from collection.language import cautions
from collection.language.sentences import counted
from collection.output.archive.questions import NO_EXAMPLE, Example, questions

WIDTH = 78
NO_PAPERS = (
    "No papers are in it: the program that made it lacked what PDF files are made with. "
    "`pip install 'firstcoat[report]'` adds that; then archive again."
)
PUBLIC = (
    "It was made from what is published for the public: it holds no history, no private cells, no survey packages and "
    "no columns with people's names. It can be shown to anybody, and no database can be made of it again."
)
FOR_STAFF = (
    "It is for staff: private notes, owners, stores and the names of people are in it. For anybody else make one with "
    "--audience public."
)
SOME = (
    "It holds some objects of a collection, as they are published for those who may read it, to go along with a loan or "
    "a transfer. It holds no history and nothing of other objects, and no database can be made of it again."
)
WHOLE = "It holds the whole collection with all its history, and the database can be made of it again."


@dataclass(frozen=True)
class Told:
    """What the README tells of an archive.

    :ivar objects: the codes, where it holds only some of a collection's; else None.
    :ivar left_in_the_file: tables that others made, which stand in the SQLite file alone.
    """

    collection: str
    state: str
    whole: bool
    public: bool
    objects: tuple[str, ...] | None
    many: int
    papers: int
    example: Example
    left_in_the_file: tuple[str, ...] = ()

    def what_it_is(self) -> str:
        """What it holds and for whom, in sentences."""
        kind = PUBLIC if self.public else FOR_STAFF
        return f"{WHOLE} {kind}" if self.whole else f"{SOME} {kind}" if self.objects else kind

    def strangers(self) -> list[str]:
        """A sentence on tables of others, where there are any."""
        if not self.left_in_the_file:
            return []
        return [f"Tables that other programs made stand in the SQLite file alone: {', '.join(self.left_in_the_file)}."]

    @property
    def lacks_papers(self) -> bool:
        """Whether there are no papers although there are objects."""
        return self.many > 0 and self.papers == 0

    @property
    def database(self) -> str:
        return "database/collection.db" if self.whole else "published/collection.db"


def readme(told: Told) -> str:
    """The whole text, lines of at most 78 signs but for the questions in SQL."""
    return "\n".join(_sections(told))


def _sections(told: Told) -> Iterator[str]:
    title = f"{told.collection}: what survives of its first finishes"
    yield f"{title}\n{'=' * len(title)}\n"
    yield _told(
        f"This folder is an archive of the record of painted finishes of {told.collection}, {told.state}, with "
        f"{counted(told.many, 'object')}. Painted, varnished and gilded objects have often been repainted, and their "
        "maker's own finish may survive beneath. Here stands what is known of that, who found it and how, what was "
        "advised, tried, done and decided.",
        told.what_it_is(),
        *([f"The objects: {', '.join(told.objects)}."] if told.objects else []),
        "Please read it before you clean, strip, sand or repaint any of these objects. A maker's finish that was taken "
        "off cannot be put back.",
    )
    yield from _section("What is in this folder", (told.whole and _whole(told)) or _part(told))
    yield from _section("Read it with a web browser", list(_browser(told)))
    yield from _section("Read it on paper", list(_paper(told)))
    yield from _section("Read the tables in a spreadsheet", list(_spreadsheet(told)))
    yield from _section("Ask it in SQL", list(_sql(told)))
    yield from _asked(told)
    if told.whole:
        yield from _section("Bring it back with firstcoat", list(_back()))
        yield from _section("Where the SQLite file is damaged", list(_again()))
    yield from _section("See whether it is whole", list(_checksums(told)))
    yield from _section(
        "What work on old finishes can do to people", [_told(cautions.SOLVENT, cautions.DUST, cautions.HEAT)]
    )


def _section(title: str, parts: list[str]) -> Iterator[str]:
    yield f"{title}\n{'-' * len(title)}\n"
    yield from parts


def _told(*paragraphs: str) -> str:
    return "\n".join(
        f"{textwrap.fill(each, WIDTH, break_long_words=False, break_on_hyphens=False)}\n" for each in paragraphs
    )


def _steps(*steps: str) -> str:
    return "".join(
        textwrap.fill(
            step,
            WIDTH,
            initial_indent=f"  {number}. ",
            subsequent_indent="     ",
            break_long_words=False,
            break_on_hyphens=False,
        )
        + "\n"
        for number, step in enumerate(steps, start=1)
    )


def _listed(*rows: tuple[str, str]) -> str:
    return "".join(
        f"  {name}\n{textwrap.fill(text, WIDTH, initial_indent='      ', subsequent_indent='      ')}\n"
        for name, text in rows
    )


_TABLES = (
    "tables/",
    "every table as a text file (CSV, UTF-8), one line a record; datapackage.json and csv-metadata.json say what each "
    "column means, of which kind it is and how it leads to other tables",
)
_PAGES = ("pages/", "the pages of the collection's site, for a web browser; they need no network")
_PAPERS = ("papers/", "for each object a report and a tag to hang on it, as PDF, to print")


def _whole(told: Told) -> list[str]:
    rows = [
        _PAGES,
        *([_PAPERS] if told.papers else []),
        _TABLES,
        (
            "database/collection.db, database/collection.db.files/",
            "the database, one SQLite file, and beside it the pictures, drawings and survey packages as they were handed "
            "in, each named by its checksum (SHA-256); the table `files` says what each was called",
        ),
        (
            "database/schema.sql, database/guards.sql, database/load_tables.py",
            "what makes the database again from the tables",
        ),
    ]
    left = [_told(sentence) for sentence in told.strangers()]
    return [_told("Below `data`, beside this file:"), _listed(*rows), *_without_papers(told), *left]


def _part(told: Told) -> list[str]:
    rows = [
        _PAGES,
        *([_PAPERS] if told.papers else []),
        _TABLES,
        ("published/collection.db", "the same records in one SQLite file; its table `dictionary` says what they mean"),
    ]
    return [_told("Below `data`, beside this file:"), _listed(*rows), *_without_papers(told)]


def _without_papers(told: Told) -> list[str]:
    return [_told(NO_PAPERS)] if told.lacks_papers else []


def _browser(told: Told) -> Iterator[str]:
    yield _told(
        "“What survives under the green on the left door, who says so, and what must nobody do?” With nothing but a browser:"
    )
    yield _steps(
        "Open data/pages/index.html. Choose a list: by number, name, kind, maker, or by what survives.",
        "Open the object. Its page says first what survives of its maker's finish, and below “Advice in force” what "
        "nobody must do, who said that, and when.",
        f"Find the place, {'such as the left door' if told.example == NO_EXAMPLE else _place(told)}, below “Where it "
        "survives”, and follow its name. It says what is left there, and at how many readings it was found.",
        "It names the samples taken there, each with its day and its survey. Follow one: it is told coat by coat, from the "
        "surface down to the support, so that you read what lies under the green, whose finish that is, and who took the "
        "sample. That is who says so.",
        "Look there as well for tests that harmed, and on the object's page below “Must stay untouched” for what was set "
        "aside. That is to be let alone too.",
    )


def _place(told: Told) -> str:
    return f"such as {told.example.name} of {told.example.object}"


def _paper(told: Told) -> Iterator[str]:
    coded = (
        "Files are named by the number of the object. Signs other than letters, figures, _ and - are written as ~ "
        "and two hexadecimal figures: OHM-1949~2F1 stands for OHM-1949/1, and + for a space."
    )
    if not told.papers:
        yield _told("No papers are in this archive. Any page of data/pages can be printed.")
        return
    yield _steps(
        "Find the object's report in data/papers, NUMBER-report.pdf, and open or print it.",
        "Its first page says what survives and shows where. The advice in force stands next.",
        "The sections show the coats from the surface down; the table of samples says who took each and when.",
        "NUMBER-tag.pdf is for the object itself: print it and hang it where people will work.",
    )
    yield _told(coded)


def _spreadsheet(told: Told) -> Iterator[str]:
    states = "survival_places.csv" if told.whole else "places.csv"
    counting = (
        [
            "Keep only rows whose column `withdrawn` is blank: others were taken out of account. The same holds for "
            "the survey that they name, in surveys.csv."
        ]
        if told.whole
        else []
    )
    yield _told(
        "Open the files of data/tables in a spreadsheet as text (UTF-8, commas). Choose “text” for every column, or "
        "codes and dates may be altered and a text that begins with = may be computed."
    )
    yield _steps(
        "zones.csv: filter the column `name` for a word, such as door. Note `object` and `zone`.",
        *counting,
        f"{states}: filter `object` and `place` for the two. `state` and `share_…` say what survives.",
        "samples.csv: filter `object` and `place`. Note each `sample`, and who took it, when, and `source`.",
        "layers.csv: filter `object` and `sample`, and sort by `position`: 1 lies lowest. schemes.csv says whose finish "
        "each `scheme` is. Coats of the period `original` are the maker's.",
        "surveys.csv: the `survey` of the sample, and who led it. sources.csv: `object` and `source`, where a row names "
        "one. Those say so.",
        "advice.csv, tests.csv with responses.csv, reserves.csv, hazards.csv: filter `object`. What was advised "
        "against, what harmed, what has to stay, and what can hurt people.",
    )
    yield _told(
        "What a blank cell means is said column by column in datapackage.json under `blank`: nothing recorded (NULL), or "
        "an empty text where \\N is nothing recorded."
    )


def _sql(told: Told) -> Iterator[str]:
    yield _told(
        "Any program for SQLite opens the file; its own (https://sqlite.org, in the public domain) so, in the folder that "
        "holds `data`:"
    )
    yield f"    sqlite3 -readonly data/{told.database}\n"
    yield _told(
        "`SELECT * FROM dictionary;` explains every table and column."
        + (" Views whose name begins with live_ hold the rows that count." if told.whole else ""),
        f"These questions ask after the object {told.example.object} and its place {told.example.place}; put others in "
        "their place.",
    )


def _asked(told: Told) -> Iterator[str]:
    for words, sql in questions(told.example, published=not told.whole, people=not told.public):
        yield f"{_told(words)}"
        yield textwrap.indent(sql, "    ") + "\n"


def _back() -> Iterator[str]:
    yield _told(
        "`firstcoat restore ARCHIVE NEW.db` makes the database again, with its files beside it, equal row by row to the "
        "one that was archived, history and checksums included. By hand it is the same: copy database/collection.db and "
        "database/collection.db.files together, and make them writable.",
        "Where a newer firstcoat says that the database is of an older version, `firstcoat migrate NEW.db` brings it up "
        "to date and keeps a copy of the old one.",
    )


def _again() -> Iterator[str]:
    yield _told(
        "The tables hold every row once more. With Python's standard library alone, of version 3.11 or later, "
        "`python data/database/load_tables.py ARCHIVE NEW.db` makes the database of them. Without Python: run "
        "schema.sql, take in each table in the order of datapackage.json, with what stands for nothing as NULL, then run "
        "guards.sql. `firstcoat restore` does so by itself where the SQLite file is what is damaged."
    )


def _checksums(told: Told) -> Iterator[str]:
    yield _told(
        "This folder is a bag as BagIt 1.0 has it (RFC 8493). manifest-sha256.txt and manifest-sha512.txt beside `data` "
        "hold a checksum of every file, a line each, in the form that common tools read. In the folder that holds `data`:"
    )
    yield "    sha256sum -c --quiet manifest-sha256.txt\n    sha256sum -c --quiet tagmanifest-sha256.txt\n"
    yield _told(
        "On a Mac `shasum -a 256 -c` does the same. They say nothing of files that were added. `firstcoat check ARCHIVE` "
        "does, and looks through the database as well."
        if told.whole
        else "On a Mac `shasum -a 256 -c` does the same. They say nothing of files that were added; `firstcoat check ARCHIVE` "
        "does.",
        "Files are named by ASCII letters, so that every disk keeps them. Copy the folder as a whole; change nothing in it.",
    )
