"""Names of people in texts that are published without names: told where, and counted; nothing is promised."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from site_answers import get
from site_packages import database_of, object_rows, write_package

from collection.cli import run
from collection.output.published.people import People
from collection.output.site.publish import publish
from collection.store.base import database

SURVEY = {"code": "S1", "title": "A survey", "lead": "Berta Quill", "started": "2019-05-01"}


def of_door(folder: Path, title: str, treated_by: str = "Ansgar Holm") -> Path:
    """A database of one object whose treatment was done by somebody, and whose source has a title."""
    texts = {("sources", "title"): title, ("treatments", "treated_by"): treated_by}
    rows = object_rows("D1", lambda sheet, column, kind: texts.get((sheet, column), "plain words"))
    return database_of(folder / "a.db", write_package(folder / "p", SURVEY, rows))


CASES = {
    "Letter of Ansgar Holm to the owner": True,
    "Ansgar Holm's letter": True,
    "Letter of Ansgar Holmes": False,
    "Letter of ansgar holm": False,
    "Letter by hand": False,
}
"""A source's title, and whether it names Ansgar Holm, who stands in the treatment as the one who did it."""


@pytest.mark.parametrize("title", CASES)
def test_a_known_name_is_found_as_whole_words(tmp_path: Path, title: str) -> None:
    told = publish(of_door(tmp_path, title), tmp_path / "out").names_in_text
    wanted = {"object": "D1", "sheet": "sources", "record": "D1/Q1", "column": "title", "name": "Ansgar Holm"}
    assert told == {"count": 1, "found": [wanted]} if CASES[title] else {"count": 0, "found": []}


def test_one_word_alone_counts_only_within_a_sentence(tmp_path: Path) -> None:
    """`Joiner` who repaired it is also the first word of `Joiner's bill`; `the bill of Joiner` names him."""
    path = of_door(tmp_path, "x", treated_by="Joiner; Karin Vale")
    with database.opened(path, write=False) as connection:
        people = People(connection)
    assert people.in_text("Joiner's bill") == []
    assert people.in_text("Paid. Joiner was here") == []
    assert people.in_text("the bill of Joiner, 1950") == ["Joiner"]
    assert people.in_text("Karin Vale and the joiner") == ["Karin Vale"]


def test_publish_says_where_and_how_to_mend_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = of_door(tmp_path, "Letter of Ansgar Holm")
    assert run(["publish", str(path), str(tmp_path / "out"), "--no-papers"]) == 0
    said = capsys.readouterr().out
    assert "1 published text holds one" in said
    assert "Ansgar Holm: sources D1/Q1, title" in said
    assert "`correct`" in said
    assert run(["publish", str(path), str(tmp_path / "again"), "--json", "--no-papers"]) == 0
    assert json.loads(capsys.readouterr().out)["names_in_text"]["count"] == 1
    assert run(["publish", str(path), str(tmp_path / "named"), "--names", "--json", "--no-papers"]) == 0
    assert json.loads(capsys.readouterr().out)["names_in_text"] is None


def test_many_are_counted_and_few_are_listed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = object_rows("D1", lambda sheet, column, kind: "Ansgar Holm" if kind != "public" else "by Ansgar Holm")
    path = database_of(tmp_path / "a.db", write_package(tmp_path / "p", SURVEY, rows))
    assert run(["publish", str(path), str(tmp_path / "out"), "--no-papers"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len([line for line in lines if line.startswith("    Ansgar Holm: ")]) == 10
    assert any("more; --json lists up to" in line for line in lines)


def test_the_page_says_what_was_looked_for_and_promises_nothing(tmp_path: Path) -> None:
    publish(of_door(tmp_path, "Letter of Ansgar Holm"), tmp_path / "out")
    (page,) = get(tmp_path / "out", "/about")
    assert "people's names" not in page.text.partition("not in this site's file")[0].rpartition("<p>")[2]
    assert "2 names" in page.text
    assert "1 text holds one of them" in page.text
