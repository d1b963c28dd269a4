"""The sample's notebooks: the packages come out of them byte for byte, the pictures out of the packages, and
between them they hold what a sample of a collection has to hold."""

from __future__ import annotations

import csv
import json
import struct
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
import zlib
from collections import Counter
from pathlib import Path

import pytest

from collection.ingest.load import ingest
from collection.language.errors import DifferenceRefused
from collection.records.sheets import BY_SHEET, DATED_STATES
from collection.store.base import database
from collection.store.changes import corrections
from collection.values.dates import bounds

ROOT = Path(__file__).resolve().parents[2] / "sample_db"
HARBOUR = ROOT / "harbour"
YEARS = ("2014", "2024")
MEGABYTE = 1_000_000


def program(name: str, *words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(ROOT / name), *map(str, words)], capture_output=True, text=True, check=False
    )


def rows(sheet: str, *years: str) -> list[dict[str, str]]:
    found = []
    for year in years or YEARS:
        path = HARBOUR / year / f"{sheet}.csv"
        if path.exists():
            with path.open(encoding="utf-8", newline="") as handle:
                found += [{**row, "year": year} for row in csv.DictReader(handle)]
    return found


def keys(sheet: str, *years: str) -> set[tuple[str, ...]]:
    return {tuple(row.get(name, "") for name in BY_SHEET[sheet].key) for row in rows(sheet, *years)}


def chunks(path: Path) -> dict[bytes, bytes]:
    """A PNG's chunks (ISO/IEC 15948), each kind joined."""
    found: dict[bytes, bytes] = {}
    content, at = path.read_bytes(), 8
    while at < len(content):
        (length,), kind = struct.unpack(">I", content[at : at + 4]), content[at + 4 : at + 8]
        found[kind] = found.get(kind, b"") + content[at + 8 : at + 8 + length]
        at += 12 + length
    return found


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("written")
    done = program("write_packages.py", "--no-pictures", out)
    assert (done.returncode, done.stderr) == (0, "")
    return out


# --- from notebook to package to picture -------------------------------------------------------------------------


def test_the_packages_are_what_the_notebooks_say(written: Path) -> None:
    """Sheets, survey files, drawings and planned outcomes come out byte for byte, and nothing else lies there."""

    def listed(folder: Path) -> dict[str, bytes]:
        return {
            path.relative_to(folder).as_posix(): path.read_bytes()
            for path in sorted(folder.rglob("*"))
            if path.is_file() and path.suffix != ".png"
        }

    fresh, kept = listed(written), listed(HARBOUR)
    assert sorted(fresh) == sorted(kept)
    assert [name for name in fresh if fresh[name] != kept[name]] == []


def test_each_picture_is_named_by_a_row_and_each_row_has_its_picture() -> None:
    for year in YEARS:
        named = {row["file"] for row in rows("pictures", year)}
        there = {path.relative_to(HARBOUR / year).as_posix() for path in (HARBOUR / year).rglob("*.png")}
        assert there == named
        assert len(named) == len(rows("pictures", year))


def test_the_same_records_draw_the_same_pictures(written: Path) -> None:
    """One of each kind, pixel for pixel; the bytes may differ with another zlib."""
    files = [
        "pictures/tram-S06-n.png",
        "pictures/pump-S01-u.png",
        "pictures/galloper-G-NECK-r.png",
        "pictures/crane-Q-STRIPE-n-tests.png",
        "pictures/nameboard-all-n.png",
    ]
    done = program("draw_pictures.py", written, *files)
    assert (done.returncode, done.stderr) == (0, "")
    drawn = sorted(written.rglob("*.png"))
    assert len(drawn) == len(files)
    for path in drawn:
        fresh, kept = chunks(path), chunks(HARBOUR / path.relative_to(written))
        assert fresh[b"IHDR"] == kept[b"IHDR"]
        assert fresh[b"PLTE"] == kept[b"PLTE"]
        assert zlib.decompress(fresh[b"IDAT"]) == zlib.decompress(kept[b"IDAT"])


def test_the_sample_stays_small_enough_to_ship() -> None:
    files = [path for path in ROOT.rglob("*") if path.is_file() and "__pycache__" not in path.parts]
    assert sum(path.stat().st_size for path in files) < 2.5 * MEGABYTE


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("part LID | Lid | in TRAY | of pine | broad", "the cell 'broad' says nothing that the sheet components knows"),
        ("zone Q on TRAY | Q | 0.3 m2 guessed", "'0.3 m2 guessed'"),
        ("scheme 9 | Ninth | oldest", "'oldest' is no word for period"),
        ("coat thick 1 paint | red", "does not end with a role"),
        ("sample S8 at T-SIDE | exposure | random\n  purple 12", "there is no coat 'purple'"),
        ("sample S8 at T-SIDE | exposure | random\n  as usual: 12 14", "4 coats lie there"),
        ("sample S8 at T-SIDE | exposure | random\n  as usual: 1 2 3 4\n  but green 5 6", "is no thickness"),
        ("test C9 at T-SIDE, S01 | acetone\n  green: dissolved", "'dissolved' is no response"),
        ("test C9 at T-SIDE, S01 | acetone\n  gold: softened", "'gold' is no coat of the test's sample"),
        ("correct zone T-IN | 0.4 m2 measured", "ends with `corrected because …`"),
        ("correct zone NONE | 0.4 m2 | corrected because x", "zones holds no NONE"),
        ("claim CL1 at T-SIDE | Twice | untested | on 2014-10-07", "is written twice"),
        ("wheel W | Wheel", "'wheel' begins no record"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(tmp_path: Path, line: str, says: str) -> None:
    (tmp_path / "surveys.toml").write_bytes((ROOT / "notebooks" / "surveys.toml").read_bytes())
    (tmp_path / "barrow.txt").write_text(BARROW + line + "\n", "utf-8")
    done = program("write_packages.py", "--no-pictures", "--notebooks", tmp_path, tmp_path / "out")
    assert done.returncode == 1
    assert says in done.stderr
    assert done.stderr.startswith("barrow.txt, line ")
    assert not (tmp_path / "out").exists()


def test_a_notebook_line_becomes_the_row_that_it_means(tmp_path: Path) -> None:
    """Worked by hand: copied stacks, counting from the surface, areas by the shoelace rule, scales of sections."""
    (tmp_path / "surveys.toml").write_bytes((ROOT / "notebooks" / "surveys.toml").read_bytes())
    (tmp_path / "barrow.txt").write_text(BARROW, "utf-8")
    done = program("write_packages.py", "--no-pictures", "--notebooks", tmp_path, tmp_path / "out")
    assert (done.returncode, done.stderr) == (0, "")

    def read(year: str, sheet: str) -> list[dict[str, str]]:
        with (tmp_path / "out" / year / f"{sheet}.csv").open(encoding="utf-8", newline="") as handle:
            return [{name: cell for name, cell in row.items() if cell} for row in csv.DictReader(handle)]

    side, inside = read("2014", "zones")
    # 240 by 40 units of 5 mm: 1.2 m by 0.2 m.
    assert (side["area_m2"], side["area_basis"], inside["area_m2"]) == ("0.24", "measured", "0.4")
    layers = {(row["sample"], row["position"]): row for row in read("2014", "layers")}
    assert [layers["S01", str(n)].get("thickness_um") for n in range(1, 6)] == [None, "31", "27", "4", "42"]
    window = [layers["S02", str(n)]["colour"] for n in range(1, 4)]
    assert window == ["green enamel", "fish oil and soot", "blue, strong"]
    assert (layers["S02", "3"]["coverage"], layers["S01", "3"]["coverage"]) == ("partial", "intact")
    assert (layers["S01", "3"]["certainty"], layers["S01", "5"]["certainty"]) == ("probable", "confirmed")
    met = {row["test"]: (row["sample"], row["position"]) for row in read("2014", "responses")}
    assert met == {"C01": ("S01", "5"), "C02": ("S02", "3")}
    sample = read("2014", "samples")[0]
    assert (sample["taken_by"], sample["mount"]) == ("Hanna Varrow", "polyester resin, polished")
    section = next(row for row in read("2014", "pictures") if row["view"] == "micrograph")
    # 31 + 27 + 4 + 42 µm over 128 pixels.
    assert section["um_per_px"] == "0.81"
    (put_right,) = read("2024", "zones")
    assert put_right == {
        "object": "OHM-1999-4",
        "zone": "T-IN",
        "component": "TRAY",
        "name": "Inside of the tray",
        "area_m2": "0.52",
        "area_basis": "measured",
        "visibility": "hidden",
        "notes": "Corrected 2024: Measured inside; 0.4 was a guess.",
    }


# --- what the sample holds ---------------------------------------------------------------------------------------


def test_it_is_as_large_as_a_small_town_collection() -> None:
    """The sizes that were asked of it: objects, kinds, places, evidence, history, work proposed."""
    sizes = {
        sheet: len(keys(sheet))
        for sheet in ("objects", "zones", "samples", "layers", "tests", "treatments", "proposals")
    }
    asked = {"objects": 14, "zones": 80, "samples": 90, "layers": 350, "tests": 70, "treatments": 40, "proposals": 8}
    assert {sheet: size for sheet, size in sizes.items() if size < asked[sheet]} == {}
    assert len({row["kind"] for row in rows("objects")}) >= 8


def test_every_sheet_is_used() -> None:
    empty = [sheet for sheet in BY_SHEET if sheet != "survey" and not rows(sheet)]
    assert empty == []


def test_treatments_span_a_century_and_the_surveys_ten_years() -> None:
    days = [bounds(row["started"]) for row in rows("treatments") if row.get("started")]
    assert max(last for _, last in days)[:4] >= "2014"
    assert int(max(last for _, last in days)[:4]) - int(min(first for first, _ in days)[:4]) >= 100
    started = [tomllib.loads((HARBOUR / year / "survey.toml").read_text("utf-8"))["started"][:4] for year in YEARS]
    assert int(started[1]) - int(started[0]) == 10


def test_pictures_come_in_normal_raking_and_ultraviolet_light_and_as_sections() -> None:
    lit = Counter(row["lighting"] for row in rows("pictures"))
    assert all(lit[light] >= 10 for light in ("normal", "raking", "ultraviolet fluorescence"))
    assert sum(row["view"] == "micrograph" for row in rows("pictures")) >= 20


def test_some_advice_was_never_followed_and_given_again() -> None:
    """Asked for in both surveys at one place, and no treatment stands between that answers it."""
    asked = Counter((row["object"], row["place"]) for row in rows("advice") if not row.get("done_by"))
    again = [place for place, times in asked.items() if times > 1]
    assert len(again) >= 2


def test_a_decoration_was_looked_for_and_not_found() -> None:
    missed = [row for row in rows("decorations") if row["state"] == "not found"]
    assert len(missed) >= 3
    assert all(row["basis"] for row in missed), "each says how it was looked for"


def test_a_claim_of_the_first_survey_was_confirmed_by_a_sample_of_the_second() -> None:
    before = {(row["object"], row["claim"]): row["status"] for row in rows("claims", "2014")}
    samples = {(row["object"], row["sample"]) for row in rows("samples", "2024")}
    settled = [
        row
        for row in rows("claims", "2024")
        if row["status"] == "confirmed"
        and before.get((row["object"], row["claim"])) == "untested"
        and any((row["object"], word.strip(":,;")) in samples for word in row["resolved_by"].split())
    ]
    assert settled


def test_of_one_object_nothing_is_known() -> None:
    """No sample, no coat, no scheme: the accession book, a photograph, and what might hurt somebody."""
    known = {
        sheet: {row["object"] for row in rows(sheet)}
        for sheet in ("samples", "layers", "schemes", "tests", "sources", "hazards")
    }
    nothing = {row["object"] for row in rows("objects")} - known["samples"] - known["layers"] - known["schemes"]
    assert nothing
    assert nothing <= known["sources"] & known["hazards"]
    assert not nothing & known["tests"]


def test_the_second_survey_puts_the_first_right_and_says_why() -> None:
    """A correction is the same key with other cells and its reason; what changed since has a date of its own."""
    put_right = {sheet: keys(sheet, "2014") & keys(sheet, "2024") for sheet in BY_SHEET if sheet != "survey"}
    assert sum(map(len, put_right.values())) >= 5
    for sheet, corrected in put_right.items():
        first = {tuple(row.get(name, "") for name in BY_SHEET[sheet].key): row for row in rows(sheet, "2014")}
        for row in rows(sheet, "2024"):
            key = tuple(row.get(name, "") for name in BY_SHEET[sheet].key)
            if key in corrected:
                assert "Corrected 2024: " in row["notes"]
                assert any(
                    cell and cell != first[key].get(name, "")
                    for name, cell in row.items()
                    if name not in ("notes", "year")
                )
    dated = {
        sheet: {key[:2] for key in keys(sheet, "2014")} & {key[:2] for key in keys(sheet, "2024")}
        for sheet in DATED_STATES
    }
    assert all(dated.values())


def test_without_a_reason_the_second_survey_is_refused_and_without_it_the_first_stands(tmp_path: Path) -> None:
    """What a layer was taken for in 2014 comes back when the survey that corrected it is withdrawn."""
    db = tmp_path / "c.db"
    database.create(db)
    ingest(db, HARBOUR / "2014")
    with pytest.raises(DifferenceRefused):
        ingest(db, HARBOUR / "2024")

    def grey() -> tuple[str, str]:
        with database.opened(db, write=False) as connection:
            return connection.execute(
                "SELECT role, scheme FROM layers WHERE object = 'OHM-1989-2' "
                "AND sample = 'S02' AND colour = 'grey, mid'"
            ).fetchone()

    assert grey() == ("primer", "3")
    ingest(db, HARBOUR / "2024", amend="second look", by="R. Person")
    assert grey() == ("body colour", "W")
    corrections.withdraw(db, "survey", "H24", "R. Person", "trial")
    assert grey() == ("primer", "3")


# --- and that it says everywhere what it is ------------------------------------------------------------------------


def test_everything_that_shows_says_that_it_is_invented() -> None:
    assert "invented" in (ROOT / "README.md").read_text("utf-8").splitlines()[0]
    for year in YEARS:
        text = (HARBOUR / year / "survey.toml").read_text("utf-8")
        survey = tomllib.loads(text)
        assert text.startswith("# Invented")
        assert "invented" in survey["title"]
        assert "do not exist" in survey["scope"]
        for path in (HARBOUR / year).rglob("*.svg"):
            shown = " ".join(ET.parse(path).getroot().itertext())
            assert "Invented demonstration drawing. No such object exists." in shown
            assert "(invented)" in shown
        for path in (HARBOUR / year).rglob("*.png"):
            assert b"Invented" in chunks(path)[b"tEXt"]
    for row in rows("objects"):
        assert row["title"].endswith("(invented)")
        assert "(invented)" in row["owner"]
        assert not row.get("maker") or row["maker"] == "Not known" or "(invented)" in row["maker"]
    assert all(row["caption"].startswith("Invented ") for row in rows("pictures"))
    assert all("(invented)" in row["title"] for row in rows("drawings"))
    for path in (ROOT / "notebooks").iterdir():
        assert "invented" in path.read_text("utf-8").splitlines()[0], path


def test_each_proposal_has_a_reasoned_outcome_and_no_outcome_lacks_its_proposal() -> None:
    golden = json.loads((HARBOUR / "expected.json").read_text("utf-8"))["proposals"]
    assert set(golden) == {f"{row['object']}/{row['proposal']}" for row in rows("proposals")}
    assert all(len(meant["why"]) > 30 for meant in golden.values())


BARROW = """\
# The notebook of one object. Everything in it is invented.
object OHM-1999-4 barrow | Fish barrow (invented) | handcart

== 2014
source SP-99 | spoken | 1999-05 | The last porter: 'she was blue' | Museum tape 52

day 2014-10-06
part TRAY | Tray and tailboard | of pine boards | 0.9 m2 | original | fitted 192X
drawing D1 barrow-side | Side (invented) | 5 mm | 420 × 200
  head Fish barrow, side (invented)
  body 60,60 300,60 300,100 60,100
  wheel 110,120 40 8
zone T-SIDE on TRAY | Outer side of the tray | D1 60,60 300,60 300,100 60,100 | visible
zone T-IN on TRAY | Inside of the tray | 0.4 m2 estimated | hidden

scheme 1 | First finish: blue | original | rank 1 | made 192X | probable | because Lowest coat | source SP-99
scheme 2 | Green enamel | later | rank 2 | made 1958~ | confirmed | because Over dirt on scheme 1
coat wood support | pine, grey-brown | 10YR 5/2
coat priming 1 primer | grey priming | oil, looked | N 6
coat blue 1 body colour | blue, strong | oil, looked | Lab 36 2 -34 | edge sharp
coat dirt dirt | fish oil and soot | N 3
coat green 2 body colour | green enamel | alkyd, guessed | Lab 40 -24 16 | gloss 48 | uv none
stack usual | wood priming blue dirt green

day 2014-10-07 HV
sample S01 at T-SIDE 120,80 | cross-section | random | to the support | kept drawer 14
  as usual: 31 27 4 42
sample S02 at T-SIDE 260,84 | exposure | expected | stops short | counted from surface
  blue partial
  dirt
  green
test C01 at T-SIDE, S01 | acetone | solvent | rolled swab, 5 s, ×1, 19 °C | loupe, again when dry
  green: softened
test C02 at T-SIDE, S02 | dearomatised white spirit | rolled swab, 30 s, ×4, 19 °C | eye, wet only
  blue: none seen
claim CL1 at T-SIDE | The firm's name is on the side | untested | source SP-99
micrograph K03 of S01 | n

== 2024
day 2024-09-09 IM
correct zone T-IN | 0.52 m2 measured | corrected because Measured inside; 0.4 was a guess.
"""
