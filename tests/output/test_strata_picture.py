"""The pictures of an object's sequence, and the commands that draw them."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections import defaultdict
from pathlib import Path
from typing import Any

import networkx as nx
import objects as o
import pytest
from large_object import BUILD_UP, large_object
from site_packages import database_of

from collection.cli import run
from collection.compute.build_up.readings import layers_by_sample
from collection.compute.case import Case
from collection.compute.stratigraphy.strata import strata
from collection.output.drawings.matrix_picture import branches, dot
from collection.output.drawings.matrix_picture import draw as matrix_picture
from collection.output.drawings.strata_picture import side_by_side
from collection.records.facts import Facts
from collection.records.sheets import Layer, Scheme
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


def drawn(facts: Facts) -> str:
    case = Case(facts)
    layers = layers_by_sample(case)
    return side_by_side(
        strata(case).as_json(),
        [vars(row) for row in facts.samples],
        [vars(row) for row in facts.schemes],
        lambda sample: [vars(row) for row in layers[sample]],
        lambda place: place,
    )


def door_of(*rows: Any) -> ET.Element:
    return ET.fromstring(drawn(o.facts(o.door(*rows))))


def texts(picture: ET.Element) -> list[str]:
    return ["".join(text.itertext()) for text in picture.iter(f"{SVG}text")]


def paths(picture: ET.Element, **wanted: str) -> list[str]:
    return [
        path.get("d", "")
        for path in picture.iter(f"{SVG}path")
        if all(path.get(name.replace("_", "-")) == value for name, value in wanted.items())
    ]


def measured(code: str, *coats: o.Coat, thick: dict[int, float], **more: Any) -> list[Any]:
    """A section with the thickness of its coats by position."""
    return [
        row.model_copy(update={"thickness_um": thick.get(row.position)}) if isinstance(row, Layer) else row
        for row in o.section(code, *coats, **more)
    ]


BOTH = (o.RED, o.GREEN)
THICK = {1: 40.0, 2: 20.0}


def test_a_campaign_is_named_once_and_marked_in_every_sample() -> None:
    """The door's two schemes by name, the maker's with its bar; each is marked with its code in each of two samples."""
    picture = door_of(*measured("S1", *BOTH, thick=THICK), *measured("S2", *BOTH, thick=THICK))
    said = texts(picture)
    assert said[:2] == ["2 repaint · later", "1 maker's red · maker's finish, with the bar beside it"]
    assert said.count("1") == said.count("2") == 2


def test_a_campaign_that_lies_on_no_other_stands_where_its_rank_puts_it() -> None:
    """Brass of the maker's time (rank 1) was read by itself: it stands below the repaint of rank 2, not above it."""
    brass = Scheme(object=o.OBJ, scheme="1b", name="lacquered brass", period="original", rank=1)
    apart = o.section("S3", ("1b", "varnish", "gold", "intact"))
    picture = door_of(brass, *measured("S1", *BOTH, thick=THICK), *apart)
    assert [line.split(" ")[0] for line in texts(picture)[:3]] == ["2", "1b", "1"]


def test_bands_are_as_high_as_their_coats_are_thick() -> None:
    """20 µm of green over 40 µm of red: the band above is half as high as that below it."""
    picture = door_of(*measured("S1", *BOTH, thick=THICK))
    heights = {
        path.get("fill"): float(re.findall(r"v([\d.]+)", path.get("d", ""))[0])
        for path in picture.iter(f"{SVG}path")
        if re.fullmatch("#[0-9a-f]{6}", path.get("fill", "")) and path.get("fill-opacity") is None
    }
    assert len(heights) == 2
    low, high = sorted(heights.values())
    assert high == pytest.approx(2 * low, rel=0.01)


def test_only_neighbours_are_joined() -> None:
    """Three samples: the red is in all, so two joins; the green is in the outer two, which are no neighbours: none."""
    rows = [
        *measured("S1", *BOTH, thick=THICK),
        *measured("S2", o.RED, thick=THICK),
        *measured("S3", *BOTH, thick=THICK),
    ]
    joins = paths(door_of(*rows), fill_opacity="0.45")
    assert [join.count("M") for join in joins] == [2]


def test_the_makers_finish_has_a_bar_beside_it() -> None:
    """One bar in each sample that has it, as long as its band."""
    rows = [*measured("S1", *BOTH, thick=THICK), *measured("S2", o.GREEN, thick={1: 20.0})]
    _, *bars = paths(door_of(*rows), stroke_width="3")
    assert [bar.count("M") for bar in bars] == [1], "S2 has none"
    (high,) = re.findall(r"v([\d.]+)", bars[0])
    assert float(high) == pytest.approx(200, abs=0.2), "40 of 60 µm, which are drawn 300 high"


def test_samples_go_on_below_in_rows_and_count_as_people_do() -> None:
    """Forty samples of one place: S2 before S10, in rows that are no wider than a page."""
    rows = [row for n in range(1, 41) for row in measured(f"S{n}", *BOTH, thick=THICK)]
    picture = door_of(*rows)
    codes = [text for text in texts(picture) if re.fullmatch(r"S\d+", text)]
    assert codes == [f"S{n}" for n in range(1, 41)]
    assert float(picture.get("width", "")) <= 1080


def test_a_sample_that_stops_short_ends_in_a_wave() -> None:
    whole = door_of(*measured("S1", *BOTH, thick=THICK))
    short = door_of(*measured("S1", *BOTH, thick=THICK, reaches="no"))
    assert "Wave: the sample stops here; nobody looked deeper." in texts(short)
    assert "Wave: the sample stops here; nobody looked deeper." not in texts(whole)


def test_the_picture_of_a_large_object_stays_small() -> None:
    """120 samples with seventeen coats each, by the design's bar for pages."""
    rows = large_object()
    layers: dict[str, list[Any]] = defaultdict(list)
    for row in rows["layers"]:
        layers[row["sample"]].insert(0, row)
    # Every coat as the surveyor would place it: correlating them is tried elsewhere.
    coats = [
        {
            "sample": row["sample"],
            "position": row["position"],
            "campaign": int(scheme) if scheme else None,
            "chance": 1.0,
        }
        for row in rows["layers"]
        for scheme in [BUILD_UP[min(row["position"] - 1, len(BUILD_UP) - 1)][1]]
    ]
    found = {"object": "BIG-1", "samples": [row["sample"] for row in rows["samples"]], "units": [], "coats": coats}
    svg = side_by_side(found, rows["samples"], rows["schemes"], layers.__getitem__, lambda place: place)
    assert len(svg) < 100_000
    assert svg.count("@/sample/") == 120


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
    assert "<script>" not in matrix_picture(odd)
    ET.fromstring(matrix_picture(odd))
    named = galloper.__class__(
        **{
            **{field: getattr(galloper, field) for field in galloper.__dataclass_fields__},
            "schemes": tuple(row.model_copy(update={"name": "<script>"}) for row in galloper.schemes),
        }
    )
    assert "<script>" not in drawn(named)
    ET.fromstring(drawn(named))


def test_a_plain_sequence_needs_no_matrix() -> None:
    """Red under green in two samples is a list; a blue in one of them and a white in the other lie beside each other."""
    plain = o.door(*o.section("S1", *BOTH), *o.section("S2", *BOTH))
    assert not branches(strata(Case(o.facts(plain))).matrix.rows)
    blue, white = ("3", "body colour", "blue", "intact"), ("4", "body colour", "white", "intact")
    schemes = [Scheme(object=o.OBJ, scheme=code, name=code, period="later", basis="seen") for code in "34"]
    forked = o.door(*schemes, *o.section("S1", o.RED, blue, o.GREEN), *o.section("S2", o.RED, white, o.GREEN))
    assert branches(strata(Case(o.facts(forked))).matrix.rows)


def test_strata_tells_and_draws(harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command prints the sequence, writes the drawings once, and answers in JSON."""
    names = [tmp_path / name for name in ("a.svg", "b.svg", "c.dot")]
    options = ["--svg", str(names[0]), "--matrix", str(names[1]), "--dot", str(names[2])]
    assert run(["strata", str(harbour), "OHM-1974-21", *options]) == 0
    assert "metal leaf" in capsys.readouterr().out
    assert all(name.stat().st_size > 500 for name in names)
    assert "href" not in names[0].read_text("utf-8"), "a file that stands alone links to nothing"
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
