"""The cells of a list that no column took: on the site for staff, and nowhere in the public one."""

from __future__ import annotations

from pathlib import Path

import pytest
from mapped_lists import PLAIN, report_of, write
from published_secrets import document_of, everything, rows_of
from site_answers import get

from collection.output.site.publish import publish
from collection.store.base import database

LIST = f"""\
No,Title,Kind,Remarks,Shelf
T1,Sign,sign,"XQremark <b>green</b>,
holds arsenic",XQshelf
T2,Case,case,{"long " * 100}XQhidden {"talk " * 100},
"""


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("listed")
    database.create(folder / "c.db")
    report_of(folder / "c.db", write(folder / "a", LIST, PLAIN))
    report_of(folder / "c.db", write(folder / "b", LIST.replace("XQremark", "XQnewer"), PLAIN, name="b.csv"))
    publish(folder / "c.db", folder / "public")
    publish(folder / "c.db", folder / "staff", staff=True)
    return folder / "public", folder / "staff"


def test_no_cell_nor_word_of_it_is_in_the_public_site(sites: tuple[Path, Path]) -> None:
    """Not in any byte of any file: tables, documents, search index, metadata; nor a table that is meant for it."""
    public, staff = sites
    for word in (b"XQ", b"arsenic", b"Remarks", b"Shelf", b"unmapped_cells"):
        assert word not in everything(public), word
        assert word in everything(staff), word
    assert "listed" not in document_of(public, "T1")
    terms = "SELECT count(*) FROM search_fts WHERE search_fts MATCH 'arsenic'"
    assert (rows_of(public, terms), rows_of(staff, terms)) == ([(0,)], [(1,)])
    page, found, data = get(public, "/object/T1", "/?q=arsenic", "/object/T1.json")
    assert not any("arsenic" in answer.text for answer in (page, data))
    assert "No published object" in found.text


def test_staff_read_them_on_the_objects_page(sites: tuple[Path, Path]) -> None:
    (page,) = get(sites[1], "/object/T1")
    section = page.text.partition('id="listed"')[2].partition("</section>")[0]
    assert "for staff only" in section
    for text in ("<dt>Remarks</dt>", "XQnewer &lt;b&gt;green&lt;/b&gt;,\nholds arsenic", "<dt>Shelf</dt><dd>XQshelf"):
        assert text in section
    assert "before (list.csv, row 2, " in section
    assert section.index("b.csv, row 2") < section.index("XQshelf"), "newest first"
    assert document_of(sites[1], "T1")["listed"][0]["earlier"][0]["text"].startswith("XQremark")
    assert rows_of(
        sites[1], 'SELECT "key", "row", list FROM unmapped_cells WHERE object = \'T1\' ORDER BY heading'
    ) == [("T1/list-1/Remarks", 2, "b.csv"), ("T1/list-1/Shelf", 2, "list.csv")]


def test_staff_find_them_by_search(sites: tuple[Path, Path]) -> None:
    """By the newest content, with the words of the records; the reason leads to the cells."""
    found, earlier, both = get(sites[1], "/?q=arsenic", "/?q=XQremark", "/?q=sign+XQshelf")
    assert "cell of a list that no column took whole, Remarks:" in found.text
    assert "<mark>arsenic</mark>" in found.text
    assert 'href="/object/T1#listed"' in found.text
    assert "No published object" in earlier.text
    assert "1 object for “sign XQshelf”" in both.text
    (long,) = get(sites[1], "/?q=XQhidden")
    assert "…" in long.text
    assert "<mark>XQhidden</mark>" in long.text, "of a long cell the part around the word"
