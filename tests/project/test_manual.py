"""The manual does what it says: each command of each page runs on the demonstration and ends as the page says."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
import urllib.request
from pathlib import Path
from typing import Any

import pytest

from collection.cli import run
from collection.output.manual import BOLD, PLAIN, TOPICS, WIDTH, manual_page, manual_pages
from collection.records.sheets import SHEETS

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "collection" / "manual"
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.M | re.S)
NAMED = re.compile(r"`([\w/.-]+\.(?:csv|toml))`:\n\n$")
PEOPLE = ("surveyor", "registrar", "proposer", "approver", "future-staff", "lists")


@pytest.fixture(scope="module")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "firstcoat-demo"
    assert run(["demo", str(folder)]) == 0
    return folder


def commands(text: str) -> list[tuple[list[str], int]]:
    """Each line of a block: the words after `firstcoat`, and the exit code that is promised."""
    found = []
    for line in text.replace("\\\n", " ").splitlines():
        typed, _, said = line.partition("  # ")
        words = shlex.split(typed)
        assert words[0] == "firstcoat", line
        promised = re.fullmatch(r"\s*exit code (\d+)", said) if said else None
        assert not said or promised, line
        found.append((words[1:], int(promised[1]) if promised else 0))
    return found


def serves(words: list[str], folder: Path) -> bool:
    """Whether a site is served: its start page is asked for, then the server is ended."""
    with subprocess.Popen(
        [sys.executable, "-m", "collection", *words, "--port", "0"], cwd=folder, stderr=subprocess.PIPE, text=True
    ) as server:
        try:
            assert server.stderr
            address = re.search(r"http://\S+", server.stderr.readline())
            assert address
            with urllib.request.urlopen(address[0]) as answer:
                return answer.status == 200
        finally:
            server.terminate()


@pytest.mark.slow
@pytest.mark.parametrize("topic", TOPICS)
def test_each_command_of_a_page_ends_as_the_page_says(
    topic: Any, demonstration: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In order, in a folder with the demonstration, with the files that the page shows written before."""
    here = shutil.copytree(demonstration, tmp_path / "firstcoat-demo")
    monkeypatch.chdir(here)
    monkeypatch.delenv("FIRSTCOAT_BY", raising=False)
    page = manual_page(topic)
    assert page
    ran = 0
    for block in BLOCK.finditer(page.text):
        named = NAMED.search(page.text[: block.start()])
        if block[1] in ("csv", "toml"):
            assert named, f"a file in {topic} without a name before it"
            path = Path(named[1])
            path.parent.mkdir(exist_ok=True)
            path.write_text(block[2], "utf-8")
        elif block[1] == "sh":
            for words, promised in commands(block[2]):
                if words[0] == "serve":
                    assert serves(words, here)
                else:
                    code = run(words)
                    told = capsys.readouterr()
                    assert code == promised, (words, told.out[-2000:], told.err)
                ran += 1
    assert ran >= 2


@pytest.mark.parametrize("page", manual_pages(), ids=lambda page: page.topic)
def test_a_page_reads_at_eighty_columns_without_marks(page: Any) -> None:
    shown = page.in_terminal().replace(BOLD, "").replace(PLAIN, "")
    tables = "".join(block[2] for block in BLOCK.finditer(page.text) if block[1] != "sh")
    lines = [line for line in shown.splitlines() if line.strip() not in tables or not line.strip()]
    assert all(len(line) <= WIDTH for line in lines), [line for line in lines if len(line) > WIDTH]
    prose = [line for line in lines if not line.startswith("    ")]
    assert not re.search(r"\*\*|```|\|--|\]\(|^#", "\n".join(prose), re.M)


def test_there_is_a_page_for_each_reader_and_none_that_is_not_listed() -> None:
    assert set(PEOPLE) <= set(TOPICS)
    assert {path.stem for path in FOLDER.iterdir()} == set(TOPICS)


@pytest.mark.parametrize("topic", [*PEOPLE[:5], "swab"])
def test_where_work_can_hurt_people_the_page_says_who_decides(topic: Any) -> None:
    """Common practice, no published source: safety data sheets, local codes, licensed practice or people."""
    text = (FOLDER / f"{topic}.md").read_text()
    if topic == "registrar":
        return  # a registrar's work is at a desk
    assert "safety data sheets" in text
    assert "local codes" in text
    assert "licensed" in text


def test_a_page_leads_only_to_pages_that_are_there() -> None:
    for page in manual_pages():
        for link in re.findall(r"\]\((.*?)\)", page.text):
            assert link.removesuffix(".md") in TOPICS, (page.topic, link)


def test_raw_html_is_shown_as_text_and_a_link_leads_to_no_other_site() -> None:
    """Held on the page's own renderer, for a page that somebody else may write."""
    from collection.output.manual import ManualPage

    page = ManualPage("x", "# T\n\nP\n\n## S\n\n<script>alert(1)</script>\n\n[a](https://example.org)\n", "T", "P")
    html = page.sections()[1].html
    assert "<script" not in html
    assert "example.org" not in html


def test_every_sheet_and_column_is_on_the_page_of_survey_files() -> None:
    """Required columns first, as `also` parts them; what every sheet takes is said once above the table."""
    rows = dict(re.findall(r"^\| (\w+) \| (.*) \|$", (FOLDER / "survey-files.md").read_text(), re.M))
    for sheet in SHEETS:
        required, _, optional = rows[sheet.sheet].partition("; also ")
        fields = sheet.model_fields
        assert set(required.split(", ")) == {name for name in fields if fields[name].is_required()}
        assert set(optional.split(", ")) == {
            name for name in fields if not fields[name].is_required() and name not in ("source", "audience", "notes")
        }


def test_the_list_of_topics_and_one_of_them_are_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["manual"]) == 0
    listed = capsys.readouterr().out
    assert all(f"  {topic} " in listed for topic in TOPICS)
    assert run(["manual", "approver"]) == 0
    assert "FOR THE APPROVER" in capsys.readouterr().out
    assert run(["manual", "nothing"]) == 2
