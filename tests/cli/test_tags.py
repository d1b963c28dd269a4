"""`tag` and `tags`: what is printed, what hangs where, what is out of date and what is missing; as a registrar types it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from packaged_rows import hand_in

from collection.cli import run
from collection.language.errors import COULD_NOT, DONE, REFUSED, USAGE
from collection.store.base import database

TODAY = date.today().isoformat()
RED = {"role": "body colour", "scheme": "1"}
GREEN = {"role": "body colour", "scheme": "2", "thickness_um": 40}


def rows(code: str, *, staff: bool = False) -> list[tuple[str, dict[str, Any]]]:
    """A door with the maker's red under a green."""
    own = {"object": code}
    return [
        ("objects", {**own, "title": f"Door {code}", "kind": "door", "audience": "staff" if staff else "public"}),
        ("schemes", {**own, "scheme": "1", "name": "red", "period": "original", "rank": 1}),
        ("schemes", {**own, "scheme": "2", "name": "green", "period": "later", "rank": 2, "basis": "lies on dirt"}),
        ("components", {**own, "component": "leaf", "name": "Leaf"}),
        ("samples", {**own, "sample": "S1", "place": "leaf", "method": "cross-section", "reaches_support": "yes"}),
        ("layers", {**own, "sample": "S1", "position": 1, **RED}),
        ("layers", {**own, "sample": "S1", "position": 2, **GREEN}),
        ("tests", {**own, "test": "C1", "place": "leaf", "agent": "acetone", "dwell_s": 10}),
        ("responses", {**own, "test": "C1", "response": "softened", "sample": "S1", "position": 1}),
    ]


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "c.db"
    database.create(path)
    hand_in(
        path, "A", [*rows("D1"), *rows("D2", staff=True), ("objects", {"object": "D3", "title": "Box", "kind": "box"})]
    )
    return path


def told(capsys: pytest.CaptureFixture[str], *words: object) -> Any:
    assert run([*map(str, words), "--json"]) == DONE
    return json.loads(capsys.readouterr().out)


def listed(capsys: pytest.CaptureFixture[str], db: Path) -> Any:
    return told(capsys, "tags", db)


def test_a_tag_is_printed_hung_and_found_out_of_date(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Hung today it holds; a corrected second changes nothing that it says; another liquid does."""
    out = tmp_path / "d1.pdf"
    made = told(capsys, "tag", db, "D1", out)
    assert out.read_bytes().startswith(b"%PDF-")
    assert [row["words"] for row in made["tag"]["donts"]] == [
        "No acetone, no thinners, no paint stripper",
        "Do not strip or sand",
    ]
    found = listed(capsys, db)
    assert (found["tags"], [row["object"] for row in found["missing"]]) == ([], ["D1", "D2"])
    hung = told(capsys, "tags", db, "--printed", "D1", "--by", "N. N.", "--on", TODAY, "--where", "top hinge")
    assert hung["says_sha256"] == made["says_sha256"]
    for agent, dwell, holds in (("acetone", 11, True), ("ethanol", 11, False), ("acetone", 12, True)):
        run(["correct", str(db), "tests", "D1/C1", f"agent={agent}", f"dwell_s={dwell}", "--by", "N", "--reason", "r"])
        capsys.readouterr()
        (row,) = listed(capsys, db)["tags"]
        assert (row["up_to_date"], row["hangs_at"], row["hung_by"]) == (holds, "top hinge", "N. N.")
    assert [row["object"] for row in listed(capsys, db)["missing"]] == ["D2"]
    told(capsys, "tags", db, "--taken-off", "D1", "--by", "N. N.", "--on", TODAY)
    assert [row["object"] for row in listed(capsys, db)["missing"]] == ["D1", "D2"]


def test_the_list_says_it_in_words(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["tags", str(db), "--printed", "D1", "--by", "N. N.", "--on", TODAY, "--where", "top hinge"])
    run(["correct", str(db), "components", "D1/leaf", "name=Left leaf", "--by", "N", "--reason", "r"])
    capsys.readouterr()
    assert run(["tags", str(db)]) == DONE
    said = capsys.readouterr().out
    assert "by N. N.: top hinge; OUT OF DATE: print it again" in said
    assert "1 tag, 1 out of date.\n" in said
    assert "no tag hangs (1 object):\n  D2  Door D2\n" in said


def test_one_that_was_hung_before_the_records_changed_does_not_count(
    db: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What it says was printed from other records, and nobody can know them to be the same."""
    run(["tags", str(db), "--printed", "D1", "--by", "N. N.", "--on", "2020-05-03", "--where", "top hinge"])
    assert "counts as out of date until it is printed again" in capsys.readouterr().err
    assert listed(capsys, db)["out_of_date"] == 1


def test_a_changed_address_makes_the_code_lead_astray(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hang = ("tags", db, "--printed", "D1", "--by", "N", "--on", TODAY, "--where", "hinge")
    assert told(capsys, *hang, "--address", "https://old.example/")["address"] == "https://old.example/object/D1"
    assert listed(capsys, db)["out_of_date"] == 0
    run(["collection", str(db), "address=https://new.example", "--by", "N", "--reason", "moved"])
    capsys.readouterr()
    assert listed(capsys, db)["out_of_date"] == 1


def test_what_is_for_staff_is_told_to_staff_alone(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A public tag of an object for staff is refused; one for staff has no code, for the object has no public page."""
    run(["collection", str(db), "address=https://new.example", "--by", "N", "--reason", "moved"])
    assert run(["tag", str(db), "D2", str(tmp_path / "d2.pdf")]) == USAGE
    assert run(["tags", str(db), "--printed", "D2", "--by", "N", "--where", "hinge"]) == USAGE
    assert not (tmp_path / "d2.pdf").exists()
    capsys.readouterr()
    assert told(capsys, "tag", db, "D2", tmp_path / "d2.pdf", "--audience", "staff")["tag"]["address"] is None
    hung = told(capsys, "tags", db, "--printed", "D2", "--by", "N", "--where", "hinge", "--audience", "staff")
    assert (hung["audience"], hung["address"]) == ("staff", None)
    assert listed(capsys, db)["out_of_date"] == 0


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--printed", "D1", "--by", "N"], USAGE, "Say where it hangs: --where TEXT."),
        (["--printed", "D1", "--where", "hinge"], USAGE, "Say who did it: --by NAME."),
        (["--printed", "D1", "--taken-off", "D1", "--by", "N"], USAGE, "Say one at a time"),
        (["--where", "hinge"], USAGE, "Say of which object"),
        (["--printed", "D1", "--by", "N", "--where", "hinge", "--on", "soon"], USAGE, "'soon' is no day"),
        (["--printed", "D9", "--by", "N", "--where", "hinge"], REFUSED, "No such object"),
        (["--taken-off", "D1", "--by", "N"], USAGE, "No tag hangs on D1"),
        (["--printed", "D1", "--by", "N", "--where", "h", "--address", "x"], USAGE, "is not the address of a site"),
    ],
)
def test_what_is_not_understood_changes_nothing(
    db: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    code: int,
    said: str,
) -> None:
    monkeypatch.delenv("FIRSTCOAT_BY", raising=False)
    assert run(["tags", str(db), *words]) == code
    assert said in capsys.readouterr().err
    assert listed(capsys, db)["tags"] == []


def test_no_file_is_written_over(db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "tag.pdf"
    out.write_text("a letter")
    assert run(["tag", str(db), "D1", str(out)]) == USAGE
    assert (out.read_text(), "is there already" in capsys.readouterr().err) == ("a letter", True)


def test_without_the_extra_it_says_which_to_install(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collection.output.tell.pdf.can_print", lambda: False)
    assert run(["tag", str(db), "D1", str(tmp_path / "tag.pdf")]) == COULD_NOT
    assert "pip install 'firstcoat[report]'" in capsys.readouterr().err
    assert not (tmp_path / "tag.pdf").exists()
