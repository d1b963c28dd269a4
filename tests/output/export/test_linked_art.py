"""`export --as linked-art`: a folder that stands by itself, and says the same as the site."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from datasette.utils import tilde_encode
from linked_graphs import Exported, graph
from published_secrets import SECRET, everything
from rdflib import RDF, URIRef
from site_answers import codes, get

from collection.cli import run
from collection.language.errors import WrongCommand
from collection.output.export.linked_art.context import OWN
from collection.output.export.linked_art.folder import export_linked_art
from collection.output.site.serve import make_datasette

HOST = "https://collection.example/"


def test_the_site_gives_the_very_documents_of_the_export(harbour_pages: Path, exported: Exported) -> None:
    served = make_datasette(harbour_pages, threads=0, address=HOST)
    known = codes(harbour_pages)
    found = get(harbour_pages, *(f"/object/{tilde_encode(code)}.jsonld" for code in known), datasette=served)
    for code, answer in zip(known, found, strict=True):
        assert answer.headers["content-type"].startswith("application/ld+json")
        assert answer.json() == json.loads(exported.texts[f"{tilde_encode(code)}.jsonld"]), code
    assert len(exported.texts) == len(known)


def test_without_an_address_ids_are_names_on_the_site_too(harbour_pages: Path, tmp_path: Path) -> None:
    export_linked_art(harbour_pages.parent / "harbour.db", tmp_path / "out")
    (answer,) = get(harbour_pages, "/object/OHM-1962-7.jsonld", datasette=make_datasette(harbour_pages, threads=0))
    document = json.loads((tmp_path / "out" / "objects" / "OHM-1962-7.jsonld").read_text("utf-8"))
    assert answer.json() == document
    assert document["id"].startswith("urn:uuid:")
    found = graph(json.dumps(document))
    assert all(
        str(each).startswith(("urn:uuid:", "http://vocab.getty.edu/"))
        for each in found.subjects()
        if isinstance(each, URIRef)
    )
    assert "urn:uuid" in (tmp_path / "out" / "README.txt").read_text("utf-8")


def test_the_index_names_every_object_and_its_file(exported: Exported) -> None:
    index = json.loads((exported.folder / "index.jsonld").read_text("utf-8"))
    assert {each["fc:document"].removeprefix("objects/") for each in index["@graph"]} == set(exported.texts)
    for each in index["@graph"]:
        document = json.loads((exported.folder / each["fc:document"]).read_text("utf-8"))
        assert (each["id"], each["_label"]) == (document["id"], document["_label"])
    found = graph((exported.folder / "index.jsonld").read_text("utf-8"))
    assert len(set(found.objects(None, URIRef(f"{OWN}document")))) == len(exported.texts)
    assert len(list(found.subjects(RDF.type, URIRef("http://www.cidoc-crm.org/cidoc-crm/E22_Human-Made_Object")))) > 10


def test_the_pictures_that_documents_name_lie_beside_them(exported: Exported) -> None:
    named = {
        each["fc:file"]
        for text in exported.texts.values()
        for shown in json.loads(text).get("representation", ())
        for each in shown.get("digitally_shown_by", ())
    }
    assert named
    assert named == {path.name for path in (exported.folder / "pictures").iterdir()}


def test_nothing_held_back_is_in_any_byte_of_the_public_export(filled_in: Path, tmp_path: Path) -> None:
    export_linked_art(filled_in, tmp_path / "out")
    assert sorted(set(SECRET.findall(everything(tmp_path / "out")))) == []
    assert b"aaashown" in everything(tmp_path / "out")


def test_names_are_in_it_where_they_are_asked_for_and_staff_have_everything(filled_in: Path, tmp_path: Path) -> None:
    export_linked_art(filled_in, tmp_path / "named", names=True)
    export_linked_art(filled_in, tmp_path / "staff", audience="staff", address=HOST)
    named, staff = everything(tmp_path / "named"), everything(tmp_path / "staff")
    assert b"PERSONAAA" in named
    assert b"PRIVATEAAA" not in named
    assert b"PERSONAAA" in staff
    assert b"PRIVATEAAA" in staff
    assert b"staff only" in (tmp_path / "staff" / "README.txt").read_bytes()


def test_the_command_says_what_was_written(harbour_pages: Path, tmp_path: Path, capsys: Any) -> None:
    db = str(harbour_pages.parent / "harbour.db")
    assert run(["export", db, str(tmp_path / "out"), "--as", "linked-art", "--address", HOST]) == 0
    said = capsys.readouterr().out
    assert "14 objects as JSON-LD" in said
    assert HOST in said
    assert run(["export", db, str(tmp_path / "out"), "--as", "linked-art"]) == 2
    assert "already" in capsys.readouterr().err


@pytest.mark.parametrize("more", [["--audience", "public"], ["--names"], ["--address", HOST]])
def test_the_other_forms_are_always_whole(harbour_pages: Path, tmp_path: Path, capsys: Any, more: list[str]) -> None:
    """Nobody should take a whole export for a public one because it was asked to be."""
    db = str(harbour_pages.parent / "harbour.db")
    assert run(["export", db, str(tmp_path / "out"), "--as", "csv", *more]) == 2
    assert "--as linked-art" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_what_is_no_address_is_refused(harbour_pages: Path, tmp_path: Path) -> None:
    with pytest.raises(WrongCommand, match="https://host/"):
        export_linked_art(harbour_pages.parent / "harbour.db", tmp_path / "out", address="collection.example")
    assert not (tmp_path / "out").exists()
