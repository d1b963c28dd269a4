"""Every report and tag of the sample is PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1)."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from pdf_standards import faults, lacking, weak_faults

from collection.cli import run
from collection.output.site.papers import PAPERS
from collection.output.site.publish import publish

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def papers(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The reports and tags of all objects for the public and for staff, a sheet of tags, and a report of each survey."""
    folder = tmp_path_factory.mktemp("papers")
    for staff in (False, True):
        publish(harbour, folder / f"site-{staff}", staff=staff, papers=True)
        for path in (folder / f"site-{staff}" / PAPERS).iterdir():
            shutil.copy(path, folder / f"{staff}-{path.name}")
    assert run(["tag", str(harbour), "OHM-1962-7", str(folder / "sheet.pdf"), "--sheet"]) == 0
    for survey in ("H14", "H24"):
        assert run(["report", str(harbour), "--survey", survey, str(folder / f"{survey}.pdf")]) == 0
    found = sorted(folder.glob("*.pdf"))
    assert len(found) == 2 * 2 * 14 + 3
    # The tag is the same for both.
    return list({path.read_bytes(): path for path in found}.values())


def test_the_weak_check_finds_nothing(papers: list[Path]) -> None:
    assert {path.name: said for path in papers if (said := weak_faults(path.read_bytes()))} == {}


@pytest.mark.skipif(lacking() is not None, reason=f"veraPDF: {lacking()}")
def test_verapdf_finds_nothing(papers: list[Path]) -> None:
    assert {name: said for name, said in faults(papers).items() if said} == {}
