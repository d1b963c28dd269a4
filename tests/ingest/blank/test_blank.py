"""Blank surveys: what a surveyor finds in workbook, folder and form for paper, and that it all goes in."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import python_calamine
from blank_forms import (
    HORSE,
    NOTEBOOK,
    PUMP,
    SURVEY,
    TRAM,
    allowed,
    fill_folder,
    fill_workbook,
    harbour,
    headings,
    needed,
    offered,
    prepared,
    stored,
)
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from collection.cli import root, run
from collection.ingest.blank import blank_survey
from collection.ingest.blank.codes import LETTERS, ROOM, hand_out, kin_of
from collection.ingest.blank.contents import KINDS_LEFT_AS_TYPED, ORDER, PREFILLED, Blank, example, note
from collection.ingest.blank.example import EXAMPLE, SHOWN
from collection.ingest.blank.paper import AT_THE_DESK, paper
from collection.ingest.load import ingest
from collection.ingest.package.sheets import ASIDE
from collection.ingest.staging import check_package
from collection.language.errors import BadValue, CouldNot, InputRefused, WrongCommand
from collection.records.cells import read_cell
from collection.records.codes import CODE_COLUMN, OWN_CODES, fold
from collection.records.columns import Column
from collection.records.sheets import BY_SHEET, SHEETS, Survey
from collection.store import survey_rows
from collection.store.base import database, files
from collection.store.changes import corrections

FORMS = ("folder", "workbook")
COLUMNS = [(record, column) for record in SHEETS for column in record.columns()]
IDS = [f"{record.sheet}.{column.name}" for record, column in COLUMNS]


@pytest.fixture(scope="module")
def known_db(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return harbour(tmp_path_factory.mktemp("known") / "collection.db")


@pytest.fixture(scope="module")
def full(known_db: Path) -> Blank:
    return prepared(known_db, TRAM, PUMP, HORSE)


@pytest.fixture
def db(tmp_path: Path, known_db: Path) -> Path:
    """A database of one's own with the sample surveys in it."""
    copy = tmp_path / "own.db"
    shutil.copy(known_db, copy)
    shutil.copytree(files.folder_of(known_db), files.folder_of(copy))
    return copy


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    path = tmp_path_factory.mktemp("book") / "blank.xlsx"
    blank_survey.write(blank_survey.empty(), path)
    return openpyxl.load_workbook(path)


def write_form(blank: Blank, folder: Path, form: str) -> Path:
    out = folder / ("blank.xlsx" if form == "workbook" else "blank")
    blank_survey.write(blank, out)
    return out


def fill(form: str, path: Path, survey: dict[str, str], notebook: list[dict[str, object]]) -> None:
    (fill_workbook if form == "workbook" else fill_folder)(path, survey, notebook)


# What the workbook holds


def test_a_blank_workbook_has_every_sheet_once_and_those_to_read(book: openpyxl.Workbook) -> None:
    """Every sheet of the survey is there under its own name, beside those that the intake leaves aside."""
    assert set(ORDER) | {"survey"} == set(BY_SHEET)
    assert len(ORDER) == len(set(ORDER))
    assert set(book.sheetnames) - set(BY_SHEET) == {"instructions", "example", "lists"} <= ASIDE
    assert book["lists"].sheet_state == "veryHidden"


@pytest.mark.parametrize(("record", "column"), COLUMNS, ids=IDS)
def test_every_heading_says_what_belongs_below_it(book: openpyxl.Workbook, record: Any, column: Column) -> None:
    """The note has the meaning, whether it is required, unit, bounds and words, as the records declare them."""
    sheet = book[record.sheet]
    cell = (
        next(row[0] for row in sheet.iter_rows() if row[0].value == column.name)
        if record is Survey
        else sheet.cell(1, headings(sheet)[column.name])
    )
    said = cell.comment.text
    assert column.meaning in said
    assert ("Required" in said) == column.required
    assert column.unit is None or column.unit in said
    assert all(word in said for word in (column.words.words if column.words else ()))
    assert all(bound is None or f"{bound:g}" in said for bound in (column.low, column.high))
    assert (cell.font.bold, cell.border.left.style == "medium") == (column.required, column.required)


@pytest.mark.parametrize(("record", "column"), COLUMNS, ids=IDS)
def test_the_example_in_a_note_can_be_written_in_its_cell(record: Any, column: Column) -> None:
    """What a note gives as an example is read without a fault."""
    assert read_cell(column, example(record, column)) is not None
    assert note(record, column).endswith(f"Example: {example(record, column)}")


@pytest.mark.parametrize("record", SHEETS[1:], ids=lambda record: record.sheet)
def test_cells_are_kept_as_they_are_typed(book: openpyxl.Workbook, record: Any) -> None:
    """Every column but the numbers is text down to its end, so that 1979.10, 0012 and 1/2 stay what they are."""
    sheet = book[record.sheet]
    assert list(headings(sheet)) == [column.name for column in record.columns()]
    assert sheet.freeze_panes is not None
    assert int(re.sub("[A-Z]", "", sheet.freeze_panes)) == 2
    assert needed(sheet) == {column.name for column in record.columns() if column.required}
    for column in record.columns():
        letter = sheet.cell(1, headings(sheet)[column.name]).column_letter
        held = next(
            d
            for d in sheet.column_dimensions.values()
            if d.min <= openpyxl.utils.column_index_from_string(letter) <= d.max
        )
        assert (held.number_format == "@") == (column.kind in KINDS_LEFT_AS_TYPED) == (not column.is_number)


@pytest.mark.parametrize("record", SHEETS[1:], ids=lambda record: record.sheet)
def test_closed_lists_drop_down_and_numbers_have_bounds(book: openpyxl.Workbook, record: Any) -> None:
    """Each closed list offers its words and no others; an open one lets other words pass; bounds are as declared."""
    sheet = book[record.sheet]
    rules = {span.min_col: rule for rule in sheet.data_validations.dataValidation for span in rule.sqref.ranges}
    for place, column in enumerate(record.columns(), 1):
        rule = rules.get(place)
        if column.words is not None:
            assert (allowed if column.kind != "list" else offered)(sheet, place) == list(column.words.words)
            if column.kind == "list":
                assert not rule.showErrorMessage, "several words in one cell are in no list"
                continue
            assert (rule.errorStyle in (None, "stop")) == (column.required and not column.words.open_list)
        elif column.is_number:
            assert rule.type == ("whole" if column.kind == "integer" else "decimal")
            ends = [float(end) for end in (rule.formula1, rule.formula2) if end]
            assert ends == [bound for bound in (column.low, column.high) if bound is not None]
            assert rule.error
        else:
            assert rule is None or not rule.showErrorMessage


def test_a_workbook_opens_elsewhere_and_is_the_same_each_time(full: Blank, tmp_path: Path) -> None:
    """The reader that the intake uses opens it too, and equal surveys give equal files."""
    paths = [tmp_path / name for name in ("a.xlsx", "b.xlsx")]
    for path in paths:
        blank_survey.write(full, path)
    assert paths[0].read_bytes() == paths[1].read_bytes()
    book = python_calamine.CalamineWorkbook.from_path(paths[0])
    assert {"survey", "known", "questions", *ORDER} <= set(book.sheet_names)
    assert book.get_sheet_by_name("zones").to_python()[0] == [column.name for column in BY_SHEET["zones"].columns()]


def test_the_example_is_a_survey_that_is_taken_in(tmp_path: Path) -> None:
    """The filled example has no fault and no doubt, and covers every sheet but those that need a file or a proposal."""
    blank_survey.write(blank_survey.empty(), tmp_path / "example")
    fill_folder(
        tmp_path / "example",
        dict(EXAMPLE["survey"][0]),
        [dict(row) for sheet in ORDER for row in EXAMPLE.get(sheet, ())],
    )
    database.create(tmp_path / "c.db")
    report = ingest(tmp_path / "c.db", tmp_path / "example")
    assert report.warnings == ()
    assert report.added == {record.sheet: len(EXAMPLE[record.sheet]) for record in SHEETS if record.sheet in EXAMPLE}
    assert set(BY_SHEET) - set(EXAMPLE) == {"drawings", "pictures", "proposals", "proposal_steps"}
    assert set(SHOWN) <= set(EXAMPLE)
    assert all("(invented)" in row["title"] for sheet in ("survey", "objects") for row in EXAMPLE[sheet])


# Filled in and taken in


@pytest.mark.parametrize("form", FORMS)
def test_a_blank_survey_filled_in_by_its_headings_alone_is_taken_in(form: str, tmp_path: Path) -> None:
    """A program that knows nothing but the headings writes an object down, and the database holds the same."""
    path = write_form(blank_survey.empty(), tmp_path, form)
    fill(form, path, SURVEY, NOTEBOOK)
    database.create(tmp_path / "new.db")
    assert check_package(path) == []
    report = ingest(tmp_path / "new.db", path)
    assert sum(report.added.values()) == len(NOTEBOOK) + 1
    assert [len(stored(tmp_path / "new.db", entry)) for entry in NOTEBOOK] == [1] * len(NOTEBOOK)


@pytest.mark.parametrize("form", FORMS)
def test_known_rows_change_nothing_and_new_ones_are_added(form: str, db: Path, tmp_path: Path) -> None:
    """With one new sample in it, a survey of known objects adds that sample and leaves every known row as it is."""
    blank = prepared(db, TRAM, PUMP)
    path = write_form(blank, tmp_path, form)
    code = blank.codes["samples"][PUMP][0]
    rows: list[dict[str, object]] = [
        {"object": PUMP, "sample": code, "place": "UNDER", "method": "scraping", "taken_on": "2034-05-02"},
        {"object": PUMP, "sample": code, "position": 1, "role": "body colour", "colour": "red", "scheme": "1"},
    ]
    fill(form, path, {"title": "Another look", "lead": "T. Ester", "started": "2034-05-01", "code": "H34"}, rows)
    report = ingest(db, path)
    assert report.changed == {}
    assert report.added == {"survey": 1, "samples": 1, "layers": 1}
    assert report.unchanged == {
        record.sheet: len(blank.rows(record.sheet)) for record in SHEETS if blank.rows(record.sheet)
    }
    assert report.warnings == ()
    assert set(report.unchanged) == set(PREFILLED)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("known", [False, True])
def test_an_untouched_blank_survey_is_refused_by_what_it_lacks(
    form: str, known: bool, full: Blank, tmp_path: Path
) -> None:
    """Nobody filled it in: the survey's own row is what is asked for, and nothing else is wrong."""
    path = write_form(full if known else blank_survey.empty(), tmp_path, form)
    with pytest.raises(InputRefused) as refused:
        check_package(path)
    lacking = {column.name for column in Survey.columns() if column.required} - ({"code"} if known else set())
    assert {(fault.sheet, fault.column) for fault in refused.value.faults} == {("survey", name) for name in lacking}
    assert run(["ingest", str(tmp_path / "no.db"), str(path)]) == 6


def test_a_number_that_needs_every_digit_comes_back_the_same(tmp_path: Path) -> None:
    """An area that sixteen digits cannot hold is not changed by the workbook."""
    package = tmp_path / "package"
    blank_survey.write(blank_survey.empty(), package)
    fill_folder(package, SURVEY, [*NOTEBOOK[:1], {**NOTEBOOK[1], "area_m2": 0.30000000000000004}])
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", package)
    out = write_form(prepared(tmp_path / "c.db", "1979.10", survey="N1"), tmp_path, "workbook")
    report = ingest(tmp_path / "c.db", out)
    assert (report.added, report.changed) == ({}, {})
    assert report.unchanged == {"survey": 1, "objects": 1, "components": 1}


def test_private_cells_and_notes_stay_at_home(tmp_path: Path) -> None:
    """What a prepared survey carries out of the house holds no owner, no value, no store and no notes."""
    package = tmp_path / "package"
    blank_survey.write(blank_survey.empty(), package)
    secret = {"owner": "SECRET", "store_place": "SECRET", "value_points": 9, "notes": "SECRET", "audience": "staff"}
    fill_folder(package, SURVEY, [NOTEBOOK[0] | secret])
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", package)
    blank = prepared(tmp_path / "c.db", "1979.10")
    row = blank.rows("objects")[0].model_dump()
    assert [row[name] for name in secret] == [None, None, None, None, "staff"]
    for form in FORMS:
        write_form(blank, tmp_path, form)
    assert "SECRET" not in paper(blank)
    assert b"SECRET" not in b"".join(path.read_bytes() for path in (tmp_path / "blank").iterdir())


# Codes


def survey_codes() -> st.SearchStrategy[str]:
    def is_code(text: str) -> bool:
        try:
            return read_cell(Survey.column("code"), text) == text and len(text) <= 80 - ROOM
        except BadValue:
            return False

    return st.text(st.sampled_from("hH034 -Sé²Z"), min_size=1, max_size=6).filter(is_code)


@given(survey_codes(), st.data())
def test_a_code_handed_out_is_never_in_use_nor_nearly_so(survey: str, data: st.DataObject) -> None:
    """Whatever is stored, in any writing, no code handed out equals it once case, blanks, width and zeros go."""
    plain = st.builds(
        lambda kind, number, width: f"{survey}-{kind}{number:0{width}d}",
        st.sampled_from(sorted(LETTERS.values())),
        st.integers(0, 30),
        st.integers(1, 4),
    )
    texts = st.builds(
        lambda code, written: written(code),
        plain,
        st.sampled_from([str, str.lower, str.upper, lambda code: code.replace("-", " -")]),
    )
    in_use = {sheet: data.draw(st.lists(texts, max_size=12)) for sheet in LETTERS}
    taken = {sheet: {fold(code) for each in kin_of(sheet) for code in in_use[each]} for sheet in LETTERS}
    codes = hand_out(survey, ["A", "B/1"], taken)
    for sheet, by_object in codes.items():
        given_out = [code for each in by_object.values() for code in each]
        folded = {fold(code) for each in kin_of(sheet) for own in codes[each].values() for code in own}
        assert len({fold(code) for code in given_out}) == len(given_out)
        assert len(folded) == sum(len(own) for each in kin_of(sheet) for own in codes[each].values())
        assert not folded & taken[sheet]
        assert all(read_cell(BY_SHEET[sheet].column(CODE_COLUMN[sheet]), code) == code for code in given_out)


@given(survey_codes(), survey_codes())
def test_two_surveys_never_hand_out_the_same_code(one: str, other: str) -> None:
    """Two laptops collide only where their surveys' own codes are nearly the same, which the intake refuses."""

    def folded(survey: str) -> set[str | None]:
        return {fold(code) for own in hand_out(survey, [], {}).values() for codes in own.values() for code in codes}

    assert (folded(one) & folded(other) != set()) == (fold(one) == fold(other))


def test_withdrawn_codes_are_not_handed_out_again(db: Path) -> None:
    """A sample that was taken out of account keeps its code, on whatever object it lies."""
    blank = prepared(db, PUMP)
    first = blank.codes["samples"][PUMP][0]
    package = db.parent / "p"
    blank_survey.write(blank, package)
    fill_folder(
        package,
        {"title": "T", "lead": "L", "started": "2034", "code": "H34"},
        [{"object": PUMP, "sample": first.lower(), "place": "all", "method": "surface"}],
    )
    ingest(db, package)
    corrections.withdraw(db, "samples", f"{PUMP}/{first.lower()}", by="T. Ester", why="mistaken")
    again = prepared(db, TRAM)
    assert again.codes["samples"][TRAM][0] == "H34-S02"
    with database.opened(db, write=False) as connection:
        assert fold(first) in survey_rows.codes_in_use(connection, ("samples",))


def test_every_kind_with_a_code_of_its_own_has_a_letter() -> None:
    """Objects alone are numbered by the museum."""
    assert set(LETTERS) == set(OWN_CODES) - {"objects"}
    assert len(set(LETTERS.values())) == len(LETTERS)


# What is open, and paper


def test_the_form_for_paper_asks_every_question_and_prints_every_word(full: Blank) -> None:
    """Every open question stands on paper; a form for new objects has every word of every closed list."""
    page = html.unescape(re.sub(r"<[^>]+>", " ", paper(full)))
    assert len(full.questions) > 60
    assert [q for q in full.questions if q.question not in page or q.answer not in page] == []
    assert [line for known in full.objects for line in known.lines if line.what not in page] == []
    assert all(
        codes[0] in page
        for sheet, by_object in full.codes.items()
        if sheet not in AT_THE_DESK
        for codes in by_object.values()
    )
    empty = html.unescape(re.sub(r"<[^>]+>", "\n", paper(blank_survey.empty())))
    for record, column in COLUMNS:
        assert column.name in empty
        assert all(word in empty for word in (column.words.words if column.words else ())), (record.sheet, column.name)


def test_the_form_for_paper_needs_nothing_beside_it_and_runs_nothing(full: Blank) -> None:
    """No script, nothing fetched, text of records escaped."""
    page = paper(full)
    assert re.findall(r"<script|\son\w+=|https?://|<link|@import|javascript:", page, re.I) == []
    assert set(re.findall(r"src=\"(\w+:[a-z/+]+)", page)) == {"data:image/svg+xml"}
    hostile = Blank({"code": "<script>alert(1)</script>", "title": '"><img src=x onerror=alert(1)>'})
    assert "<script" not in paper(hostile)
    assert "<img" not in paper(hostile)


def test_what_can_hurt_stands_first_and_the_usual_cautions_stand_everywhere(full: Blank, tmp_path: Path) -> None:
    """Hazards come before anything else known of an object, and each form says what the usual cautions are."""
    for known in full.objects:
        abouts = [line.about for line in known.lines]
        assert abouts[0] == "hazard"
        assert abouts.index("caution") < abouts.index("leave untouched") < abouts.index("what survives")
    for blank in (full, blank_survey.empty()):
        write_form(blank, tmp_path, "workbook")
        book = openpyxl.load_workbook(tmp_path / "blank.xlsx")
        (tmp_path / "blank.xlsx").unlink()
        sheets = "\n".join(str(cell.value) for row in book["instructions"].iter_rows() for cell in row)
        for text in (sheets, paper(blank)):
            assert all(word in text for word in ("safety data sheets", "leaded", "local codes", "licensed practice"))


def test_open_questions_are_those_of_the_records(full: Blank) -> None:
    """The sample's own loose ends are asked: untested claims, advice not followed, a facing left on, unseen places."""
    asked = {(q.object, q.about, q.place) for q in full.questions}
    assert {
        (TRAM, "claim", "L-LET"),
        (TRAM, "temporary measure", "L-VAL"),
        (PUMP, "not examined", "UNDER"),
        (PUMP, "advice", "UNDER"),
        (PUMP, "claim", "B-REAR"),
        (PUMP, "stops short", "B-REAR"),
        (TRAM, "decoration", "L-LET"),
        (PUMP, "condition", "B-REAR"),
    } <= asked
    assert (PUMP, "claim", "B-LEFT") not in asked
    assert (PUMP, "condition", "B-HAND") in asked
    assert not [q for q in full.questions if q.about == "condition" and "flaking" in q.question and q.place == "B-HAND"]


# The command


def test_the_command_says_what_it_made_and_what_comes_next(
    db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It names the files, counts what is known and open, and warns."""
    out = tmp_path / "next.xlsx"
    assert run(["blank", str(out), "--survey", "H34", "--from", str(db), "--object", PUMP, "--by", "A. Lead"]) == 0
    said = capsys.readouterr().out
    assert "open questions" in said
    assert "pump-left.svg" in said
    assert "safety data sheets" in said
    assert (tmp_path / "drawings" / "pump-left.svg").is_file()
    assert openpyxl.load_workbook(out)["survey"]["B4"].value == "A. Lead"
    assert run(["blank", str(out), "--survey", "H34"]) == 6
    assert "nothing is overwritten" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--object", PUMP], 2),
        (["--object", PUMP, "--survey", "H34"], 2),
        (["--from", "DB"], 2),
        (["--from", "DB", "--survey", "H34", "--object", "OHM-1937/4"], 1),
        (["--from", "DB", "--survey", "h24"], 2),
        (["--survey", "H/34"], 2),
        (["--survey", "x" * 79], 2),
        (["--survey", " "], 2),
        (["--from", "no.db", "--survey", "H34"], 6),
    ],
)
def test_wrong_words_are_answered_with_a_sentence(
    words: list[str], code: int, known_db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written, and what is missing or near is said."""
    paths = {"DB": str(known_db), "no.db": str(tmp_path / "no.db")}
    given_words = [paths.get(word, word) for word in words]
    for name in ("out.xlsx", "out", "out.html"):
        assert run(["blank", str(tmp_path / name), *given_words]) == code
        said = capsys.readouterr().err
        assert "Traceback" not in said
        assert said.startswith("Error: ")
    assert list(tmp_path.iterdir()) == []


def test_a_survey_that_is_stored_goes_on_where_it_stopped(db: Path, tmp_path: Path) -> None:
    """Its own row is filled in as stored, and its next codes follow those in use."""
    blank = prepared(db, PUMP, survey="H24")
    assert blank.survey["lead"] == "Idwal Marrable"
    report = ingest(db, write_form(blank, tmp_path, "folder"))
    assert (report.added, report.changed) == ({}, {})
    corrections.withdraw(db, "survey", "H24", by="T. Ester", why="mistaken")
    with pytest.raises(WrongCommand, match="withdrawn"):
        prepared(db, PUMP, survey="H24")


def test_a_form_is_written_whole_or_not_at_all(full: Blank, tmp_path: Path) -> None:
    """A file in the way, also one beside the workbook, leaves everything as it was."""
    (tmp_path / "drawings").mkdir()
    (tmp_path / "drawings" / "pump-left.svg").write_text("another drawing")
    with pytest.raises(CouldNot, match=r"pump-left\.svg is there already"):
        blank_survey.write(full, tmp_path / "blank.xlsx")
    (tmp_path / "blank").mkdir()
    with pytest.raises(CouldNot, match="nothing is overwritten"):
        blank_survey.write(full, tmp_path / "blank")
    with pytest.raises(CouldNot, match="no folder"):
        blank_survey.write(full, tmp_path / "none" / "blank.xlsx")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["blank", "drawings", "pump-left.svg"]


def test_help_tells_the_three_forms() -> None:
    """The ending of OUT decides, which the help says."""
    said = CliRunner().invoke(root, ["blank", "--help"]).output
    assert all(word in said for word in ("OUT.xlsx", "OUT.html", "folder"))
