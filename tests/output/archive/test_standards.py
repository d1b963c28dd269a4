"""An archive by the standards it names, read by libraries that know nothing of firstcoat.

BagIt 1.0 (RFC 8493) by `bagit` of the Library of Congress and by sha256sum; Data Package and Table Schema by `frictionless`;
CSV on the Web (W3C) by `csvw`.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import bagit
import csvw
import frictionless
import pytest
from archived import copied

from collection.language.errors import OurFault
from collection.output.archive import bag
from collection.output.archive.archive import archive


@pytest.fixture(
    scope="module", params=["whole", *(pytest.param(kind, marks=pytest.mark.slow) for kind in ("public", "some"))]
)
def each(request: pytest.FixtureRequest, small: Path, kept: Path) -> Path:
    """An archive of every kind."""
    if request.param == "whole":
        return kept
    out = small.parent / request.param
    if request.param == "public":
        archive(small, out, audience="public", processes=1)
    else:
        archive(small, out, objects=("T1",), processes=1)
    return out


def test_it_is_a_valid_bag_of_version_1(each: Path) -> None:
    found = bagit.Bag(str(each))
    found.validate()
    assert (found.version_info, set(found.algorithms)) == ((1, 0), {"sha256", "sha512"})
    assert found.info["Source-Organization"] == "Harbour Museum"
    assert found.info["External-Identifier"] == "HM"
    files = [path for path in (each / "data").rglob("*") if path.is_file()]
    assert found.info["Payload-Oxum"] == f"{sum(path.stat().st_size for path in files)}.{len(files)}"


def test_it_is_written_as_the_standard_has_it(each: Path) -> None:
    """RFC 8493, 2.1.1: the two lines of bagit.txt; 2.1.3: a checksum, blanks, a path with slashes; 2.2.1: tag manifests."""
    assert (each / "bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    for algorithm, length in (("sha256", 64), ("sha512", 128)):
        lines = (each / f"manifest-{algorithm}.txt").read_text().splitlines()
        assert all(re.fullmatch(rf"[0-9a-f]{{{length}}}  data/[^%\r\\]+", line) for line in lines)
        tags = (each / f"tagmanifest-{algorithm}.txt").read_text().splitlines()
        named = sorted(line[length + 2 :] for line in tags)
        assert named == ["bag-info.txt", "bagit.txt", "manifest-sha256.txt", "manifest-sha512.txt"]


def test_common_tools_check_it_as_the_readme_says(each: Path) -> None:
    if shutil.which("sha256sum") is None:
        pytest.skip("no sha256sum on this machine")
    said = re.findall(r"^    (sha256sum .*)$", (each / "data" / "README.txt").read_text(), re.M)
    assert len(said) == 2
    for line in said:
        subprocess.run(line.split(), cwd=each, check=True)


@pytest.mark.slow
def test_every_table_is_as_its_table_schema_says(each: Path) -> None:
    report = frictionless.validate(str(each / "data" / "tables" / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "type", "note"])[:5]
    assert len(report.tasks) == len(list((each / "data" / "tables").glob("*.csv")))


@pytest.mark.slow
def test_every_table_is_as_its_metadata_on_the_web_say(each: Path) -> None:
    found = csvw.CSVW(str(each / "data" / "tables" / "csv-metadata.json"), validate=True)
    assert found.is_valid
    assert len(found.tables) == len(list((each / "data" / "tables").glob("*.csv")))


@pytest.mark.slow
def test_the_libraries_would_notice_a_wrong_cell_and_a_lost_row(kept: Path, tmp_path: Path) -> None:
    """A text where a number belongs; and an object whose zones then lead nowhere."""
    tables = copied(kept, tmp_path / "spoiled") / "data" / "tables"
    layers = (tables / "layers.csv").read_text(encoding="utf-8")
    (tables / "layers.csv").write_text(layers.replace("T1,S1,3,", "T1,S1,third,"), encoding="utf-8")
    described = json.loads((tables / "datapackage.json").read_text(encoding="utf-8"))
    for resource in described["resources"]:
        del resource["hash"], resource["bytes"]
    (tables / "datapackage.json").write_text(json.dumps(described), encoding="utf-8")
    report = frictionless.validate(str(tables / "datapackage.json"))
    assert "type-error" in {found for (found,) in report.flatten(["type"])}
    objects = (tables / "objects.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (tables / "objects.csv").write_text(
        "".join(line for line in objects if not line.startswith("T9,")), encoding="utf-8"
    )
    report = frictionless.validate(str(tables / "datapackage.json"))
    assert "foreign-key" in {found for (found,) in report.flatten(["type"])}


def test_a_blank_cell_means_what_is_said_of_its_column(kept: Path) -> None:
    """NULL and the empty text by the column, as `blank` tells people, `missingValues` and `null` programs."""
    tables = kept / "data" / "tables"
    described = json.loads((tables / "datapackage.json").read_text(encoding="utf-8"))
    on_the_web = json.loads((tables / "csv-metadata.json").read_text(encoding="utf-8"))

    def told(table: str, column: str) -> tuple[Any, ...]:
        (resource,) = (each for each in described["resources"] if each["name"] == table)
        (field,) = (each for each in resource["schema"]["fields"] if each["name"] == column)
        (web,) = (each for each in on_the_web["tables"] if each["url"] == f"{table}.csv")
        (described_on_the_web,) = (each for each in web["tableSchema"]["columns"] if each["name"] == column)
        return field["blank"], field.get("missingValues"), described_on_the_web["null"]

    assert told("objects", "maker") == ("A blank cell is nothing recorded (NULL).", None, "")
    assert told("responses", "scheme") == (
        "A blank cell is an empty text; \\N is nothing recorded (NULL).",
        ["\\N"],
        "\\N",
    )
    assert told("layers", "position") == ("No cell is blank.", None, "")
    with (tables / "changes.csv").open(encoding="utf-8", newline="") as file:
        first = next(csv.DictReader(file))
    assert first["previous_hash"] == ""
    assert first["package_sha256"] not in ("", "\\N")


def test_a_name_that_not_every_disk_keeps_is_not_put_into_a_bag(tmp_path: Path) -> None:
    for name in ("50%.txt", "a\nb.txt", "a\rb.txt", "a:b.txt", "ä.txt", "a?.txt", "a\\b.txt", "a|b.txt"):
        folder = tmp_path / str(len(name)) / name.encode().hex()
        (folder / "data").mkdir(parents=True)
        (folder / "data" / name).write_text("x")
        with pytest.raises(OurFault, match="has a name that not every disk can keep"):
            bag.seal(folder, [])
