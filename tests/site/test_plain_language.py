"""No page shows what only the program's own people know: dates in EDTF, column names, command lines.

The manual is for those who run the program, and shows its commands.
"""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from site_answers import Page, all_paths, get
from site_packages import WORDS, database_of, object_rows, write_package

from collection.output.site.publish import publish
from collection.records.sheets import SHEETS

ODD = {
    "objects": {"": {"made": "1910~/1912"}},
    "components": {"BODY": {"observed_on": "2018-05-02"}},
    "schemes": {"1": {"made": "190X"}, "2": {"made": "[1939..1991]"}},
    "decorations": {"D1": {"observed_on": "2018-XX"}},
    "samples": {"S1": {"taken_on": "2017-05?"}},
    "tests": {"T1": {"tested_on": "2017-05-02"}},
    "conditions": {"K1": {"observed_on": "2018-21"}},
    "treatments": {"W1": {"started": "19XX", "ended": "1950~"}},
    "advice": {"V1": {"given_on": "2018-07", "until": "2035-05"}},
    "pictures": {"B1": {"taken_on": "2018-05-02"}},
    "proposals": {"P1": {"proposed_on": "2020-01-01", "planned_for": "2021/.."}},
    "sources": {"Q1": {"dated": "1911/1914"}},
}
"""Dates in every form, by sheet and code, over those of the object that every test of publishing uses."""
EDTF = re.compile(
    r"(?<![\w/.:-])(?:[0-9]{3}X|[0-9]{2}XX|[0-9]{4}(?:-[0-9X]{2}){0,2}[~?%](?!\w)|[0-9]{4}(?:-[0-9X]{2}){1,2}"
    r"|[0-9]{4}[~?%]?/(?:[0-9]{4}|\.\.)|\.\./[0-9]{4}|\[(?:\.\.)?[0-9]{4})(?![\w/-])"
)
COLUMNS = sorted({column.name for record in SHEETS for column in record.columns() if "_" in column.name})
INSIDE = re.compile(rf"\b(?:{'|'.join(COLUMNS)})\b|\bfirstcoat [a-z]+\b|`[^`]+`")


def seen(text: str) -> str:
    """What a reader sees of a page, or is read aloud, addresses aside."""
    page = Page(text)
    said = [attrs.get(name) or "" for _, attrs in page.tags for name in ("alt", "aria-label", "title")]
    return re.sub(r"https?://\S+", "", " ".join([page.words, *said]))


def written(site: Path) -> list[str]:
    """What people wrote with such a date in it, which stands as they wrote it."""
    with sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True) as db:
        texts = [
            str(text)
            for record in SHEETS
            for column in record.columns()
            if column.kind == "text" and not column.private and column.name != "notes"
            for (text,) in db.execute(f'SELECT DISTINCT "{column.name}" FROM {record.table}')
            if text
        ]
    return [" ".join(text.split()) for text in texts if EDTF.search(text)]


def faults(site: Path, paths: list[str]) -> dict[str, list[str]]:
    pages = [path for path in paths if not re.search(r"\.\w+(\?|$)|^/manual|^/picture|^/-", path)]
    found, by_hand = {}, written(site)
    for path, answer in zip(pages, get(site, *pages), strict=True):
        text = seen(answer.text)
        for own in by_hand:
            text = text.replace(own, "")
        assert answer.status_code == 200, path
        if told := [*EDTF.findall(text), *INSIDE.findall(text)]:
            found[path] = told
    return found


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One object, looked at twice, with a date of every form."""
    folder = tmp_path_factory.mktemp("odd")
    rows = object_rows("D1", lambda sheet, column, kind: "plain words")
    for sheet, cells in ODD.items():
        for own, row in zip(WORDS[sheet], rows[sheet], strict=True):
            row |= cells.get(own, {})
    again: dict[str, list[dict[str, Any]]] = {"conditions": [{**rows["conditions"][0], "observed_on": "2023~"}]}
    surveys = ({"started": "2017/2018"}, {"started": "2023-05-01", "ended": "2023-06"})
    packages = [
        write_package(folder / code, {"code": code, "title": "A survey", "lead": "L. Eader", **said}, own)
        for code, said, own in zip("AB", surveys, (rows, again), strict=True)
    ]
    publish(database_of(folder / "a.db", *packages), folder / "out")
    return folder / "out"


def test_the_forms_are_told_from_words() -> None:
    """What the search for them finds, and what it leaves alone."""
    for text in (
        "in 2004~.",
        "1910/1912",
        "19XX",
        "190X,",
        "(2014-05-07)",
        "2014-05",
        "[1939..1991]",
        "1931/..",
        "../1931",
    ):
        assert EDTF.search(text), text
    for text in ("about 2004", "OHM-1952-11", "1910 to 1912", "pH 8.5", "2004?x", "1/2", "A4/1900x"):
        assert not EDTF.search(text), text


def test_a_made_object_with_odd_dates_shows_them_in_words(odd: Path) -> None:
    assert faults(odd, all_paths(odd)) == {}


@pytest.mark.slow
def test_the_pages_of_some_objects_are_in_plain_language(harbour: Path) -> None:
    some = re.compile(r"^/(?!object/)|^/object/(?:OHM-1962-7|OHM-1949~2F1)(?:/|$)")
    assert faults(harbour, [path for path in all_paths(harbour) if some.match(path)]) == {}


@pytest.mark.slow
def test_every_page_is_in_plain_language(harbour: Path) -> None:
    assert faults(harbour, all_paths(harbour)) == {}


def test_each_page_of_the_manual_says_whom_it_is_for(harbour: Path) -> None:
    """Commands stand there, which readers of the site can do nothing with."""
    for page in get(harbour, "/manual/registrar", "/manual/future-staff"):
        assert "To read this site nobody needs them" in Page(page.text).words


def test_two_areas_of_one_place_are_told_apart(harbour: Path) -> None:
    """The left side has 5.2 m², of which 0.584 m² lie beside the places marked out on it; the latter is what counts."""
    (page,) = get(harbour, "/object/OHM-1962-7")
    assert "0.584 m² beside the places marked out on it, 5.2 m² in all" in Page(page.text).words
