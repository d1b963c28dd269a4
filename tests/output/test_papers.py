"""The report and the tag of each object as files of the site: made at `publish`, offered on the object's page."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from urllib.parse import unquote

import packaged_rows as p
import pytest
from datasette.utils import tilde_encode
from site_answers import codes, get

from collection.cli import run
from collection.output.archive.static_pages import write_pages
from collection.output.site.checksums import read_checksums
from collection.output.site.papers import paper_name
from collection.output.site.publish import publish
from collection.records.sheets import Object, Survey
from collection.store.base import database, files
from collection.store.changes import collection_row, corrections

BY, WHY = "R. Registrar", "asked for"


@pytest.fixture(scope="module")
def made(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("papers")
    shutil.copy(filled_in, folder / "c.db")
    shutil.copytree(files.folder_of(filled_in), files.folder_of(folder / "c.db"))
    publish(folder / "c.db", folder / "site", papers=True)
    return folder


@pytest.fixture
def desk(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return tmp_path


def papers(site: Path) -> dict[str, str]:
    return {name: sha256 for name, sha256 in read_checksums(site).items() if name.startswith("papers/")}


def test_each_page_offers_the_very_papers_that_the_commands_write(made: Path, tmp_path: Path) -> None:
    known = codes(made / "site")
    assert len(papers(made / "site")) == 2 * len(known)
    code = known[0]
    own = f"/object/{tilde_encode(code)}"
    page, report, tag = get(made / "site", own, f"{own}/report.pdf", f"{own}/tag.pdf")
    assert f'href="{own}/report.pdf"' in page.text
    assert f'href="{own}/tag.pdf"' in page.text
    assert run(["report", str(made / "c.db"), code, str(tmp_path / "r.pdf"), "--audience", "public"]) == 0
    assert run(["tag", str(made / "c.db"), code, str(tmp_path / "t.pdf")]) == 0
    for answer, kind in ((report, "report"), (tag, "tag")):
        assert answer.content == (tmp_path / f"{kind[0]}.pdf").read_bytes()
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.headers["content-disposition"] == f'attachment; filename="{paper_name(code, kind)}"'


def test_where_none_were_made_none_is_offered(site: Path) -> None:
    own = f"/object/{tilde_encode(codes(site)[0])}"
    page, report = get(site, own, f"{own}/report.pdf")
    assert "report.pdf" not in page.text
    assert report.status_code == 404
    assert "No report of this object was made when the site was published" in report.text


def test_what_did_not_change_is_taken_over_with_its_papers(desk: Path) -> None:
    """After a correction of one object, that object's papers alone are others; after another contact all are."""
    before = papers(desk / "site")
    one, *others = codes(desk / "site")
    corrections.correct(desk / "c.db", "objects", one, {"title": "Another title"}, BY, WHY)
    report = publish(desk / "c.db", desk / "site", papers=True, replace=True)
    assert report.taken_over == len(others)
    after = papers(desk / "site")
    assert {name for name in before if before[name] != after[name]} == {
        f"papers/{paper_name(one, kind)}" for kind in ("report", "tag")
    }
    collection_row.state(desk / "c.db", {"contact": "the new registrar"}, BY, WHY)
    assert publish(desk / "c.db", desk / "site", papers=True, replace=True).taken_over == 0
    assert not set(papers(desk / "site").items()) & set(after.items())


def test_a_paper_that_somebody_altered_is_made_anew(desk: Path) -> None:
    before = papers(desk / "site")
    spoiled = desk / "site" / next(iter(before))
    spoiled.write_bytes(spoiled.read_bytes() + b"more")
    assert publish(desk / "c.db", desk / "site", papers=True, replace=True).taken_over == len(before) // 2 - 1
    assert papers(desk / "site") == before


def test_without_the_extra_the_command_says_which_to_install(
    filled_in: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    assert run(["publish", str(filled_in), str(tmp_path / "out")]) == 0
    assert "pip install 'firstcoat[report]'" in capsys.readouterr().out
    assert run(["publish", str(filled_in), str(tmp_path / "more"), "--papers"]) == 6
    assert "pip install 'firstcoat[report]'" in capsys.readouterr().err
    assert not (tmp_path / "more").exists()


def test_a_long_number_gets_a_name_that_every_disk_takes_and_is_found_by_it(tmp_path: Path) -> None:
    """80 signs that all need coding would make a name of 720, and a file system takes 255."""
    code, db = "漆" * 80, tmp_path / "c.db"
    database.create(db)
    p.store(
        db,
        "A",
        [Survey(code="A", title="trial", lead=p.LEAD, started="2024"), Object(object=code, title="a", kind="b")],
    )
    publish(db, tmp_path / "site", papers=True)
    own = f"/object/{tilde_encode(code)}"
    page, report = get(tmp_path / "site", own, f"{own}/report.pdf")
    assert f'href="{own}/report.pdf"' in page.text
    assert report.content.startswith(b"%PDF")
    write_pages(tmp_path / "site", tmp_path / "pages", name="A", day="2024-01-01")
    (copied,) = (tmp_path / "pages" / "object").glob("*/object.html")
    assert f"papers/{paper_name(code, 'tag')}" in unquote(copied.read_text("utf-8"))
