"""The pictures of an object's sequence, and the commands that draw them."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections import defaultdict
from pathlib import Path

import networkx as nx
import pytest
from site_packages import database_of

from collection.cli import run
from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.output.drawings.strata_picture import HATCHES, dot, letter, matrix_picture, side_by_side
from collection.records.facts import Facts
from collection.store.base import database, read
from collection.values.resources import sample_folder

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database of the invented sample survey."""
    folder = Path(str(sample_folder() / "harbour"))
    return database_of(tmp_path_factory.mktemp("strata") / "harbour.db", folder / "2014", folder / "2024")


@pytest.fixture(scope="module")
def galloper(harbour: Path) -> Facts:
    with database.opened(harbour, write=False) as connection:
        return read.load_facts(connection, "OHM-1974-21")


def bands(picture: str) -> dict[str, ET.Element]:
    """Each coat's rectangle, by its name in the title before the colon."""
    found = {}
    for rect in ET.fromstring(picture).iter(f"{SVG}rect"):
        title = rect.find(f"{SVG}title")
        if title is not None and title.text:
            found[title.text.split(":")[0]] = rect
    return found


def test_every_coat_is_drawn_to_one_scale(galloper: Facts) -> None:
    """Each coat that was placed is a rectangle; heights of measured coats are as their thicknesses."""
    found = strata(Case(galloper))
    drawn = bands(side_by_side(galloper, found))
    assert set(drawn) == {f"{p.sample}/{p.position}" for p in found.placings}
    heights = defaultdict(list)
    for layer in galloper.layers:
        rect = drawn.get(f"{layer.sample}/{layer.position}")
        if rect is not None and layer.thickness_um and float(rect.get("height")) > 2:
            heights[round(float(rect.get("height")) / layer.thickness_um, 2)].append(layer)
        if rect is not None:
            assert (rect.get("stroke-dasharray") is None) == bool(layer.thickness_um)
    # Heights are written to a tenth of a unit.
    assert max(heights) - min(heights) <= 0.03


def test_the_key_works_without_colour(galloper: Facts) -> None:
    """Campaigns are told apart by letter and hatching; hatchings differ from each other, and joins use no colour."""
    picture = side_by_side(galloper, strata(Case(galloper)))
    assert len(set(HATCHES)) == len(HATCHES)
    joins = [path.get("fill") for path in ET.fromstring(picture).iter(f"{SVG}path") if path.get("fill")]
    assert any(fill.startswith("url(#h") for fill in joins)
    assert all(fill.startswith("url(#h") or fill in ("none", "#cfc4b0") for fill in joins)
    for campaign in {u.campaign for u in strata(Case(galloper)).units if u.campaign}:
        assert f">{letter(campaign)}  " in picture


def test_letters_go_on_after_z() -> None:
    """The 27th campaign is AA, and what belongs to none is a dash."""
    assert [letter(n) for n in (1, 26, 27, 53, 0)] == ["A", "Z", "AA", "BA", "–"]


def test_the_matrix_holds_the_reduced_relations(galloper: Facts) -> None:
    """The drawing has a box for each unit, and a line for each relation; in DOT the same, as networkx counts them."""
    found = strata(Case(galloper))
    picture = ET.fromstring(matrix_picture(found))
    assert len(list(picture.iter(f"{SVG}rect"))) == len(found.units)
    assert len(list(picture.iter(f"{SVG}path"))) == len(found.matrix.relations)
    edges = re.findall(r'"([^"]+)" -> "([^"]+)";', dot(found))
    graph = nx.DiGraph(edges)
    assert nx.is_directed_acyclic_graph(graph)
    assert set(nx.transitive_reduction(graph).edges) == set(edges)


def test_hostile_codes_stay_text(galloper: Facts) -> None:
    """Signs that mean something in SVG or DOT are written out."""
    found = strata(Case(galloper))
    odd = type(found)(**{**found.__dict__, "object": '<script>"&'})
    assert "<script>" not in side_by_side(galloper, odd) + matrix_picture(odd)
    ET.fromstring(side_by_side(galloper, odd))


def test_strata_tells_and_draws(harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command prints the sequence, writes the drawings once, and answers in JSON."""
    names = [tmp_path / name for name in ("a.svg", "b.svg", "c.dot")]
    options = ["--svg", str(names[0]), "--matrix", str(names[1]), "--dot", str(names[2])]
    assert run(["strata", str(harbour), "OHM-1974-21", *options]) == 0
    assert "metal leaf" in capsys.readouterr().out
    assert all(name.stat().st_size > 500 for name in names)
    assert run(["strata", str(harbour), "OHM-1974-21", *options]) == 2
    capsys.readouterr()
    assert run(["strata", str(harbour), "OHM-1974-21", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {"format", "object", "units", "coats", "matrix", "one_sided", "questions"} <= set(answer)


def test_sampling_says_where_and_why(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command names places in order, each with its reasons, and what would then be left."""
    assert run(["sampling", str(harbour), "OHM-1962-7", "-n", "2"]) == 0
    told = capsys.readouterr().out
    assert "nobody has looked here" in told
    assert run(["sampling", str(harbour), "OHM-1962-7", "-n", "2", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert len(answer["samples"]) == 2
    widths = [answer["width_m2"], *(s["width_after_m2"] for s in answer["samples"])]
    assert widths == sorted(widths, reverse=True)


def test_an_object_nobody_knows_has_no_sequence(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An object without samples is answered with a sentence, not an empty table."""
    assert run(["strata", str(harbour), "OHM-1952-11"]) == 0
    assert "no sequence" in capsys.readouterr().out
