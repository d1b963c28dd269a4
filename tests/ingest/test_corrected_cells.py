"""What beats what: a package, an amendment, a correction by a named person, and an amendment that means to replace it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from asked import ask
from small_package import LAYERS, SCHEMES, only, package

from collection.cli import run
from collection.ingest import load
from collection.language.errors import DifferenceRefused, NotFound, WrongCommand
from collection.store.changes import corrections

KEY, NAMED = "T1/S01/1", ("layers/T1/S01/1",)
PERSON, WHY = "R. Registrar", "read again under the microscope"
MEANT: dict[str, Any] = {"amend": "as in the field book", "by": "Ada Penrose"}


@pytest.fixture
def corrected(db: Path, tmp_path: Path) -> Path:
    """The primer, brought as grey of 20 µm, and corrected to white lead."""
    load.ingest(db, package(tmp_path / "first"))
    corrections.correct(db, "layers", KEY, {"colour": "white lead"}, PERSON, WHY)
    return db


def primer(db: Path) -> tuple[object, ...]:
    (row,) = ask(db, "SELECT colour, thickness_um FROM layers WHERE position = 1")
    return tuple(row)


@pytest.mark.parametrize(
    ("survey", "colour", "named", "stands"),
    [
        ("harbour-1", "grey", (), "white lead"),
        ("harbour-2", "grey", (), "white lead"),
        ("harbour-2", "pink", (), "white lead"),
        ("harbour-2", "not recorded", (), "white lead"),
        ("harbour-2", "", (), "white lead"),
        ("harbour-1", "grey", NAMED, "grey"),
        ("harbour-2", "pink", NAMED, "pink"),
        ("harbour-2", "not recorded", NAMED, None),
    ],
)
def test_an_amendment_leaves_what_somebody_corrected(
    corrected: Path, tmp_path: Path, survey: str, colour: str, named: tuple[str, ...], stands: str | None
) -> None:
    """But for records that are named for it. The other cells of the row are amended."""
    rows = LAYERS.replace("grey,20", f"{colour},25")
    report = load.ingest(corrected, only(tmp_path / "p", survey, layers=rows), **MEANT, amend_corrected=named)
    assert primer(corrected) == (stands, 25.0)
    assert report.changed == {"layers": 1}
    kept = [(each.key, each.column, each.stored) for each in report.kept]
    assert kept == ([(KEY, "colour", "white lead")] if colour and not named else [])


def test_what_stays_is_told_with_who_when_and_why(
    corrected: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The old package again, as an amendment: nothing changes, and the report says why."""
    ((at,),) = ask(corrected, "SELECT at FROM changes WHERE number = 2")
    old = only(tmp_path / "p", layers=LAYERS)
    assert run(["ingest", str(corrected), str(old), "--amend", "again", "--by", "Ada Penrose"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "harbour-1: nothing was changed: what differs was corrected by hand, and stays.",
        "  the same: survey 1, layers 2",
        "  stored by this survey and not in the package, left as they are: objects 1, components 3, zones 2, schemes 1, "
        "samples 1",
        "  Left as it is: layers T1/S01/1, colour: 'white lead' is stored, 'grey' is given. It stays: "
        f"R. Registrar corrected it on {at[:10]} ({WHY}). --amend-corrected layers/T1/S01/1 replaces it.",
    ]
    assert ask(corrected, "SELECT count(*) FROM changes") == [(2,)]


def test_a_difference_says_who_corrected_it(corrected: Path, tmp_path: Path) -> None:
    ((at,),) = ask(corrected, "SELECT at FROM changes WHERE number = 2")
    with pytest.raises(DifferenceRefused) as refused:
        load.ingest(corrected, tmp_path / "first")
    assert [f.message for f in refused.value.faults] == [
        f"T1/S01/1 is stored with 'white lead'. R. Registrar corrected it on {at[:10]} ({WHY}), and an amendment leaves "
        "that as it is. Where it is to be replaced: --amend REASON --by NAME --amend-corrected layers/T1/S01/1."
    ]
    (difference,) = refused.value.differences
    assert difference.corrected is not None
    assert (difference.corrected.by, difference.corrected.at, difference.corrected.why) == (PERSON, at, WHY)


def test_a_cell_that_was_cleared_by_hand_is_not_filled_in_again(corrected: Path, tmp_path: Path) -> None:
    corrections.correct(corrected, "layers", KEY, {"thickness_um": "not recorded"}, PERSON, "the film was torn")
    load.ingest(corrected, only(tmp_path / "p", "harbour-2", layers=LAYERS), **MEANT)
    assert primer(corrected) == ("white lead", None)


def test_a_date_that_was_corrected_keeps_its_bounds(corrected: Path, tmp_path: Path) -> None:
    corrections.correct(corrected, "objects", "T1", {"made": "1911"}, PERSON, "the plate")
    other = "object,title,kind,made\nT1,Tram No. 1,tram,1908~\n"
    load.ingest(corrected, only(tmp_path / "p", "harbour-2", objects=other), **MEANT)
    assert ask(corrected, "SELECT title, made, made_earliest, made_latest FROM objects") == [
        ("Tram No. 1", "1911", "1911-01-01", "1911-12-31")
    ]


def test_what_replaced_a_correction_can_be_amended_like_any_other(corrected: Path, tmp_path: Path) -> None:
    """The last word counts: once a survey was let replace the correction, it stands no longer; without that survey it
    does again."""
    red, blue = (LAYERS.replace("grey", colour) for colour in ("red", "blue"))
    load.ingest(corrected, only(tmp_path / "p", "harbour-2", layers=red), **MEANT, amend_corrected=NAMED)
    load.ingest(corrected, only(tmp_path / "q", "harbour-3", layers=blue), **MEANT)
    assert primer(corrected)[0] == "blue"
    corrections.withdraw(corrected, "survey", "harbour-3", PERSON, "another tram")
    corrections.withdraw(corrected, "survey", "harbour-2", PERSON, "another tram")
    assert primer(corrected)[0] == "white lead"
    again = load.ingest(corrected, only(tmp_path / "r", "harbour-4", layers=red), **MEANT)
    assert (primer(corrected)[0], again.kept_count) == ("white lead", 1)


def test_records_named_for_replacing_have_to_be_there_and_differ(corrected: Path, tmp_path: Path) -> None:
    folder = only(tmp_path / "p", "harbour-2", layers=LAYERS, schemes=SCHEMES)
    for named, said in (
        ("pigments/T1/S01/1", "no kind of record .pigments."),
        ("layers", "KIND/KEY"),
        ("schemes/T1/1", "nothing to replace"),
    ):
        with pytest.raises(WrongCommand, match=said):
            load.ingest(corrected, folder, **MEANT, amend_corrected=[named])
    with pytest.raises(NotFound):
        load.ingest(corrected, folder, **MEANT, amend_corrected=["layers/T1/S01/9"])
    with pytest.raises(WrongCommand, match="goes with --amend"):
        load.ingest(corrected, folder, amend_corrected=NAMED)
    assert primer(corrected) == ("white lead", 20.0)


def test_an_amendment_that_only_adds_is_told_so(
    corrected: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = only(tmp_path / "p", "harbour-2", zones="object,zone,component\nT1,Z9,body\n")
    assert run(["ingest", str(corrected), str(new), "--amend", "a zone more", "--by", "Ada Penrose"]) == 0
    assert capsys.readouterr().out.splitlines()[:2] == [
        "harbour-2: 2 records were added.",
        "  Nothing that is stored differs: it only adds, and no amendment was needed.",
    ]
