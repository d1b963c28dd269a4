"""A thing is called invented where the sheet of its survey says so, and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest
from site_answers import all_paths, get
from site_packages import database_of, object_rows, write_package

from collection.output.site.publish import publish

INVENTED = "Invented demonstration data"
SOME = "Some surveys here are invented"


def survey(code: str, **more: str) -> dict[str, str]:
    return {"code": code, "title": f"Survey {code}", "lead": "L. Eader", "started": "2019-05-01", **more}


def rows(code: str) -> dict[str, list[dict[str, str]]]:
    return object_rows(code, lambda sheet, column, kind: "plain words")


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A real collection of machines, whose scope, title and method all hold the word."""
    folder = tmp_path_factory.mktemp("real")
    said = survey("S1", title="Machines invented here", scope="what was invented before 1900", method="invented by us")
    publish(database_of(folder / "a.db", write_package(folder / "p", said, rows("R1"))), folder / "out")
    return folder / "out"


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """R1 of a real survey, I1 of an invented one."""
    folder = tmp_path_factory.mktemp("mixed")
    packages = (
        write_package(folder / "p", survey("S1"), rows("R1")),
        write_package(folder / "q", survey("S2", invented="yes"), rows("I1")),
    )
    publish(database_of(folder / "a.db", *packages), folder / "out")
    return folder / "out"


def pages(site: Path) -> dict[str, str]:
    paths = [path for path in all_paths(site) if "." not in path and not path.startswith("/manual")]
    return {path: answer.text for path, answer in zip(paths, get(site, *paths), strict=True)}


def test_a_real_collection_that_holds_the_word_is_not_called_invented(real: Path) -> None:
    assert [path for path, text in pages(real).items() if INVENTED in text or SOME in text] == []


def test_an_invented_collection_says_so_on_every_page(harbour: Path) -> None:
    kinds = ["/", "/?q=tram", "/at-risk", "/about", "/survey/H24", "/compare/H14/H24", "/object/OHM-1962-7"]
    for path, answer in zip(kinds, get(harbour, *kinds), strict=True):
        assert INVENTED in answer.text, path


def test_of_a_mixed_collection_only_what_is_invented_is_called_so(mixed: Path) -> None:
    found = pages(mixed)
    for path, text in found.items():
        assert (INVENTED in text) == (path.startswith("/object/I1") or path == "/survey/S2"), path
        assert SOME in text, path
    assert any(path.startswith("/object/R1/place") for path in found)


def test_an_object_of_both_kinds_of_survey_says_which_brought_what(tmp_path: Path) -> None:
    own = rows("R1")
    later = {"hazards": [{**own["hazards"][0], "hazard": "H2"}]}
    packages = (
        write_package(tmp_path / "p", survey("S1"), own),
        write_package(tmp_path / "q", survey("S2", invented="yes"), later),
    )
    publish(database_of(tmp_path / "a.db", *packages), tmp_path / "out")
    (page,) = get(tmp_path / "out", "/object/R1")
    assert "Some of this is invented for a demonstration" in page.text
    assert 'href="/survey/S2">Survey S2</a> brought' in page.text
    assert INVENTED not in page.text
