"""Publishing: nothing private comes out, nothing public is lost, and a kill leaves the whole site or none."""

from __future__ import annotations

import base64
import contextlib
import json
import os
import re
import shutil
import sqlite3
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import killed_at
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from site_answers import all_paths, get
from site_packages import SVG, WORDS, chunk, database, object_rows, png, write_package

from collection.cli import run
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.ingest.pictures.image_files import NotAPicture
from collection.language.errors import COULD_NOT, CouldNot, DamageFound, WrongCommand
from collection.output.site import audience
from collection.output.site.audience import PUBLIC, STAFF, rows_for
from collection.output.site.images import cleaned
from collection.output.site.publish import CHECKSUMS, publish
from collection.output.site.serve import heard_here_only, is_for_staff, verify
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database as opening
from collection.store.base import read
from collection.store.changes import corrections
from collection.store.decide.decisions import decide
from collection.values.resources import sample_folder

TESTS = Path(__file__).resolve().parents[1]


class Secrets:
    """Fills cells with words that are found again in a heap of bytes."""

    def __init__(self, word: str) -> None:
        self.word, self.number = word, 0

    def __call__(self, sheet: str, column: str, kind: str) -> str:
        self.number += 1
        if kind == "public":
            return f"{self.word.lower()}shown{self.number:04d}"
        return f"{kind.upper()}{self.word}{self.number:04d}"


def everything(folder: Path) -> bytes:
    """All bytes of all files, and the names of the files."""
    return b"\n".join(
        str(path.relative_to(folder)).encode() + b"\n" + path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    )


def rows_of(site: Path, sql: str) -> list[tuple]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return connection.execute(sql).fetchall()
    finally:
        connection.close()


def document_of(site: Path, code: str) -> dict:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return json.loads(connection.execute("SELECT document FROM documents WHERE object = ?", (code,)).fetchone()[0])
    finally:
        connection.close()


@pytest.fixture(scope="module")
def filled_in(tmp_path_factory) -> Path:
    """A database with a secret in every private column, name, note, staff row, withdrawn row and old content."""
    folder = tmp_path_factory.mktemp("filled_in")
    shown = object_rows("PUB/1", Secrets("AAA"))
    for row in shown["zones"] + shown["samples"] + shown["tests"]:
        row["notes"] = "PRIVATENOTE"
    for sheet, code in (("zones", "Z9"), ("samples", "S9"), ("tests", "T9"), ("sources", "Q9")):
        own = dict(shown[sheet][0], audience="staff")
        own[{"zones": "zone", "samples": "sample", "tests": "test", "sources": "source"}[sheet]] = f"STAFF{code}"
        own |= {name: f"STAFF{code}TEXT" for name, value in own.items() if str(value).startswith("aaashown")}
        shown[sheet].append(own)
    hidden = object_rows("STAFFOBJECT", Secrets("BBB"), staff=frozenset({"objects"}))
    hidden = {
        sheet: [
            {name: f"STAFF{value}" if str(value).startswith("bbbshown") else value for name, value in row.items()}
            for row in rows
        ]
        for sheet, rows in hidden.items()
    }
    withdrawn = {"sources": [{"object": "PUB/1", "source": "WITHDRAWNQ", "kind": "letter", "title": "WITHDRAWNTITLE"}]}
    packages = [
        write_package(
            folder / "PACKAGENAME",
            {"code": "S1", "title": "a shown survey", "lead": "PERSONLEAD", "started": "2019-05-01"},
            shown,
        ),
        write_package(
            folder / "p2",
            {"code": "STAFFSURVEY", "title": "STAFFTITLE", "lead": "PERSONLEAD2", "started": "2019-05-01"},
            hidden,
        ),
        write_package(
            folder / "p3",
            {"code": "S3", "title": "OLDCONTENT", "lead": "PERSONLEAD3", "started": "2019-05-01"},
            withdrawn,
        ),
    ]
    path = database(folder / "filled_in.db", *packages)
    corrections.withdraw(path, "sources", "PUB/1/WITHDRAWNQ", by="PERSONREGISTRAR", why="WHYTOLD")
    corrections.correct(path, "zones", "PUB/1/Z1", {"name": "OLDCONTENT"}, by="PERSONREGISTRAR", why="WHYTOLD")
    corrections.correct(path, "zones", "PUB/1/Z1", {"name": "newcontent"}, by="PERSONREGISTRAR", why="WHYTOLD")
    decide(path, "PUB/1", "P1", "refuse", by="PERSONDECIDER", reason="reasonshown")
    return path


@pytest.fixture(scope="module")
def site(filled_in, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("site") / "out"
    publish(filled_in, out)
    return out


SECRET = re.compile(rb"PRIVATE\w*|PERSON\w*|STAFF\w*|WITHDRAWN\w*|OLDCONTENT|WHYTOLD|PACKAGENAME|T\. Ester|BBB\w*")


def test_nothing_held_back_is_in_any_byte(site):
    assert sorted(set(SECRET.findall(everything(site)))) == []


def test_nothing_held_back_is_on_any_page_or_in_its_json(site):
    paths = all_paths(site)
    assert len(paths) > 40
    for path, answer in zip(paths, get(site, *paths), strict=True):
        assert answer.status_code == 200, path
        assert SECRET.findall(answer.content) == [], path


def test_the_secrets_are_in_the_database_so_that_the_test_above_can_fail(filled_in):
    content = filled_in.read_bytes()
    for secret in (
        "PRIVATENOTE",
        "PERSONLEAD",
        "STAFFTITLE",
        "WITHDRAWNTITLE",
        "OLDCONTENT",
        "WHYTOLD",
        "PERSONDECIDER",
        "STAFFZ9TEXT",
        "STAFFQ9",
    ):
        assert secret.encode() in content, secret
    assert len(set(SECRET.findall(content))) > 60


def test_every_public_text_is_there(site):
    texts = set(re.findall(rb"aaashown\d{4}", everything(site)))
    filled = Secrets("AAA")
    object_rows("PUB/1", filled)
    wanted = {f"aaashown{n:04d}".encode() for n in range(1, filled.number + 1)}
    # Numbers given to private columns and names are those that may be missing; Z1's name was corrected.
    missing = wanted - texts
    secret = sum(
        1
        for record in SHEETS[1:]
        for _ in WORDS[record.sheet]
        for column in record.columns()
        if column.kind == "person" or (column.kind == "text" and column.private)
    )
    assert len(missing) == secret + 1


def test_names_come_out_only_when_asked_for(filled_in, tmp_path):
    publish(filled_in, tmp_path / "named", names=True)
    found = set(SECRET.findall(everything(tmp_path / "named")))
    assert {b"PERSONLEAD", b"PERSONDECIDER"} <= found
    assert {word for word in found if not word.startswith(b"PERSON")} == set()
    assert b"PERSONREGISTRAR" not in found


def test_the_tables_have_the_declared_public_columns_and_no_others(site):
    for record in SHEETS:
        columns = {row[1] for row in rows_of(site, f'PRAGMA table_info("{record.table}")')}
        links = {name for name in columns if name.endswith("_id") or name in ("id", "key", "survey", "from_row")}
        if record.sheet in ("pictures", "drawings"):
            links.add("file")
        declared = {column.name for column in PUBLIC.columns(record)}
        assert columns - links == declared, record.sheet
        assert not declared & {c.name for c in record.columns() if c.private or c.kind in ("person", "file")}
        assert "notes" not in columns
        assert "audience" not in columns


# --- the site for staff -------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def staff_site(filled_in, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("staff") / "out"
    assert publish(filled_in, out, staff=True).withheld == {}
    return out


def test_staff_read_private_columns_names_notes_and_records_for_staff(filled_in, staff_site):
    found = set(SECRET.findall(everything(staff_site)))
    assert {b"PRIVATENOTE", b"PERSONLEAD", b"STAFFTITLE", b"PERSONDECIDER", b"STAFFZ9TEXT", b"STAFFQ9"} <= found
    private = re.compile(rb"PRIVATE(?:AAA|BBB)\d{4}")
    stored = set(private.findall(filled_in.read_bytes()))
    assert len(stored) > 4
    assert stored <= set(private.findall(everything(staff_site)))
    assert document_of(staff_site, "PUB/1")["samples"][0]["notes"] == "PRIVATENOTE"
    assert [row[0] for row in rows_of(staff_site, "SELECT object FROM objects ORDER BY object")] == [
        "PUB/1",
        "STAFFOBJECT",
    ]


def test_not_even_staff_read_what_was_withdrawn_or_corrected_or_where_it_came_from(staff_site):
    content = everything(staff_site)
    for secret in (b"WITHDRAWNTITLE", b"WITHDRAWNQ", b"WHYTOLD", b"PACKAGENAME", b"PERSONREGISTRAR"):
        assert secret not in content, secret
    assert rows_of(staff_site, "SELECT name FROM zones WHERE object = 'PUB/1' AND zone = 'Z1'") == [("newcontent",)]


def test_each_site_says_whom_it_is_for(site, staff_site):
    for folder, word in ((site, "public"), (staff_site, "staff")):
        assert rows_of(folder, "SELECT value FROM about WHERE name = 'audience'") == [(word,)]
        assert (
            json.loads((folder / "metadata.json").read_text("utf-8"))["plugins"]["firstcoat_site"]["audience"] == word
        )


def test_the_tables_for_staff_have_every_column_but_files(staff_site):
    for record in SHEETS:
        columns = {row[1] for row in rows_of(staff_site, f'PRAGMA table_info("{record.table}")')}
        assert {column.name for column in record.columns() if column.kind != "file"} <= columns, record.sheet
        described = rows_of(staff_site, f"SELECT column_name FROM dictionary WHERE table_name = '{record.table}'")
        assert {name for (name,) in described if name} == {column.name for column in STAFF.columns(record)}


def test_the_command_says_that_a_site_is_for_staff(filled_in, tmp_path, capsys):
    assert run(["publish", str(filled_in), str(tmp_path / "inner"), "--audience", "staff"]) == 0
    assert "for staff only" in capsys.readouterr().out
    assert run(["publish", str(filled_in), str(tmp_path / "out"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["audience"] == "public"
    assert is_for_staff(tmp_path / "inner")
    assert not is_for_staff(tmp_path / "out")
    with pytest.raises(CouldNot, match="no published site"):
        is_for_staff(tmp_path)


@pytest.mark.parametrize(
    ("host", "here"),
    [
        ("127.0.0.1", True),
        ("127.0.0.2", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("192.0.2.7", False),
        ("no such host.invalid", False),
        ("a..b", False),
    ],
)
def test_a_host_that_only_this_machine_reaches(host, here):
    """127.0.0.0/8 is loopback (RFC 1122, 3.2.1.3); 192.0.2.0/24 is for examples (RFC 5737)."""
    assert heard_here_only(host) is here


@pytest.mark.parametrize("host", ["a..b", "x" * 64, "no such host.invalid"])
def test_a_host_that_is_none_is_refused_with_a_sentence(site, host, capsys):
    assert run(["serve", str(site), "--host", host, "--port", "0"]) == COULD_NOT
    said = capsys.readouterr().err
    assert f"The site cannot be served at {host}: this machine knows no address of that name." in said


SERVE = "import sys; from collection.cli import run; sys.exit(run(['serve', *sys.argv[1:], '--port', '0']))"


@pytest.mark.parametrize(
    ("inner", "host", "warned"), [(True, "0.0.0.0", True), (True, "127.0.0.1", False), (False, "0.0.0.0", False)]
)
def test_serving_staff_beyond_this_machine_is_said_before_it_listens(site, staff_site, inner, host, warned):
    """Read until the address is told, so that what the server really prints is judged."""
    started = subprocess.Popen(
        [sys.executable, "-c", SERVE, str(staff_site if inner else site), "--host", host],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        cwd=TESTS.parent,
    )
    said = []
    try:
        for line in started.stderr:
            said.append(line)
            if line.startswith("Open http"):
                break
    finally:
        started.terminate()
        started.communicate(timeout=30)
    assert said[-1].startswith(f"Open http://{host}:")
    assert [("site for staff" in line) for line in said[:-1]] == ([True] if warned else [])


def test_pictures_without_rights_are_for_staff(tmp_path):
    rows = object_rows("OBJ", Secrets("X"))
    rows["pictures"][0]["rights"] = ""
    path = database(
        tmp_path / "a.db",
        write_package(
            tmp_path / "p",
            {"code": "S1", "title": "t", "lead": "l", "started": "2019-05-01"},
            rows,
            files={"picture.png": png((b"tEXt", b"k\0SECRET")), "view.svg": SVG},
        ),
    )
    assert publish(path, tmp_path / "out").pictures_left_out == {"OBJ/B1": "its rights are not filled in"}
    assert publish(path, tmp_path / "inner", staff=True).pictures_left_out == {}
    (picture,) = document_of(tmp_path / "inner", "OBJ")["pictures"]
    assert (tmp_path / "inner" / "pictures" / picture["file"]).read_bytes() == png()
    assert b"SECRET" not in everything(tmp_path / "inner")
    shown = 0
    paths = [p for p in all_paths(tmp_path / "inner") if p.startswith("/object/") and "." not in p]
    paths.append("/before?object=OBJ&action=strip")
    for path, page in zip(paths, get(tmp_path / "inner", *paths), strict=True):
        if picture["file"] in page.text:
            shown += 1
            assert "not for showing outside" in page.text, path
    assert shown >= 3


def test_staff_know_of_every_survey_in_account_the_public_of_those_that_brought_something(site, staff_site):
    assert rows_of(staff_site, "SELECT code FROM surveys ORDER BY code") == [("S1",), ("S3",), ("STAFFSURVEY",)]
    assert rows_of(site, "SELECT code FROM surveys") == [("S1",)]


def test_the_same_database_gives_the_same_staff_site_again(filled_in, staff_site, tmp_path):
    publish(filled_in, tmp_path / "again", staff=True)
    assert everything(tmp_path / "again") == everything(staff_site)


@pytest.mark.parametrize(
    "address",
    [
        "collection.example",
        "https://",
        "https://a b/",
        "https://x.example",
        "javascript://x/",
        "https://x.example/a?b",
        "https://x.example/\n",
    ],
)
def test_an_address_that_is_none_is_refused(filled_in, tmp_path, address):
    with pytest.raises(WrongCommand, match="Write it as https://host/"):
        publish(filled_in, tmp_path / "out", address=address)
    assert list(tmp_path.iterdir()) == []


# --- holding back ---------------------------------------------------------------------------------------------------


def test_what_hangs_on_a_staff_only_record_is_held_back_too(site):
    assert rows_of(site, "SELECT object FROM objects") == [("PUB/1",)]
    assert rows_of(site, "SELECT code FROM surveys") == [("S1",)]
    assert document_of(site, "PUB/1")["withheld"] == {"sources": 1, "zones": 1, "samples": 1, "tests": 1}


@pytest.mark.parametrize(
    ("staff", "gone", "blanked"),
    [
        (
            "samples/S1",
            {
                "samples/S1",
                "layers/S1/1",
                "layers/S1/2",
                "layers/S1/3",
                "analyses/A1",
                "tests/T1",
                "responses/T1",
                "pictures/B1",
            },
            (),
        ),
        (
            "zones/Z1",
            {
                "zones/Z1",
                "zones/Z2",
                "samples",
                "layers",
                "analyses",
                "decorations",
                "reserves",
                "tests",
                "responses",
                "conditions",
                "proposal_steps",
                "treatment_steps",
                "advice",
                "claims",
                "pictures",
            },
            (),
        ),
        ("schemes/2", {"schemes/2", "responses", "conditions"}, ("layers/S1/3.scheme", "proposal_steps/P1/1.removes")),
        ("decorations/D1", {"decorations/D1", "claims/C1"}, ()),
        ("treatments/W1", {"treatments/W1", "treatment_steps/W1/1", "pictures/B1"}, ("advice/V1.done_by",)),
        ("proposals/P1", {"proposals/P1", "proposal_steps/P1/1"}, ("treatments/W1.proposal",)),
        ("sources/Q1", {"sources/Q1"}, ("layers/S1/2.source", "zones/Z1.source")),
    ],
)
def test_each_kind_of_holding_back(staff, gone, blanked):
    rows = stored("OBJ", staff=frozenset({staff}))
    public = rows_for(PUBLIC, rows, frozenset({"OBJ"}))
    for sheet, own in rows.items():
        for row in own:
            key = audience.row_key(BY_SHEET[sheet], row).removeprefix("OBJ").strip("/")
            name = f"{sheet}/{key}".rstrip("/")
            is_gone = any(name == g or (g in rows and g == sheet) or name.startswith(f"{g}/") for g in gone)
            here = audience.row_key(BY_SHEET[sheet], row) in public.keys(sheet)
            assert here != is_gone, (name, is_gone)
    for cell in blanked:
        where, column = cell.rsplit(".", 1)
        sheet, _, key = where.partition("/")
        (row,) = [r for r in public.rows[sheet] if audience.row_key(BY_SHEET[sheet], r) == f"OBJ/{key}"]
        assert row[column] is None


def stored(code: str, staff: frozenset[str] = frozenset()) -> dict:
    """Rows as the database gives them, all in account."""
    found = {}
    for sheet, rows in object_rows(code, Secrets("X"), staff=staff).items():
        record = BY_SHEET[sheet]
        found[sheet] = [
            {
                **{
                    column.name: ""
                    if column.name in record.key and not column.required and column.name != "position"
                    else None
                    for column in record.columns()
                },
                **({"position": 0} if sheet == "responses" else {}),
                **row,
                **{n: int(row[n]) for n in ("position", "step") if isinstance(row.get(n), str)},
                "survey": "S1",
                "from_row": 1,
                "live": True,
            }
            for row in rows
        ]
    return found


ALL_CODES = sorted(f"{sheet}/{code}" for sheet, codes in WORDS.items() for code in codes if sheet != "objects")


@given(st.sets(st.sampled_from(ALL_CODES)), st.sets(st.sampled_from(ALL_CODES)))
def test_whatever_is_held_back_nothing_public_points_to_it(staff, withdrawn):
    """For any choice of staff-only and withdrawn rows: published rows name only published or withdrawn-public
    ones, more secrecy never publishes more, and what is published and what is counted add up."""
    rows = stored("OBJ", staff=frozenset(staff))
    for sheet, own in rows.items():
        for row, code in zip(own, WORDS[sheet], strict=True):
            row["live"] = f"{sheet}/{code}" not in withdrawn
    public = rows_for(PUBLIC, rows, frozenset({"OBJ"}))
    hidden = {name.split("/", 1)[1] for name in staff if name.split("/")[0] not in ("layers", "responses")}
    for sheet, own in public.rows.items():
        for row in own:
            assert row["live"]
            assert row["audience"] != "staff"
            for column in BY_SHEET[sheet].columns():
                target = {"place": ("zones", "components")}.get(column.reference or "", (column.reference,))
                if row[column.name] and column.reference and column.reference not in ("objects", "layers"):
                    assert any(
                        f"{t}/{row[column.name]}" not in staff
                        for t in target
                        if t in rows and row[column.name] in WORDS[t]
                    ), (sheet, column.name, hidden)
                if column.kind == "coat" and row[column.name]:
                    assert f"schemes/{row[column.name].split('/')[0]}" not in staff
    for sheet, own in rows.items():
        live = sum(row["live"] for row in own)
        assert len(public.rows.get(sheet, ())) + public.withheld.get(sheet, 0) == live
    more = rows_for(
        PUBLIC,
        {
            sheet: [dict(row, audience="staff") if n == 0 and sheet == "zones" else row for n, row in enumerate(own)]
            for sheet, own in rows.items()
        },
        frozenset({"OBJ"}),
    )
    for sheet in more.rows:
        assert more.keys(sheet) <= public.keys(sheet)


def test_a_severity_stays_when_its_evidence_is_held_back(tmp_path):
    """A staff-only test in which acetone took colour off the maker's coat: the line stays, the test is unnamed."""
    rows = object_rows("OBJ", Secrets("X"))
    rows["tests"].append(
        {
            "object": "OBJ",
            "test": "STAFFTEST",
            "place": "Z1",
            "agent": "acetone",
            "application": "rolled swab",
            "dwell_s": 10,
            "passes": 1,
            "tested_on": "2019-05-04",
            "audience": "staff",
        }
    )
    rows["responses"].append(
        {"object": "OBJ", "test": "STAFFTEST", "scheme": "1", "role": "body colour", "response": "partly removed"}
    )
    found = {}
    for name, drop in (("with", False), ("without", True)):
        own = {sheet: [row for row in r if not (drop and row.get("test") == "STAFFTEST")] for sheet, r in rows.items()}
        folder = tmp_path / name
        path = database(
            tmp_path / f"{name}.db",
            write_package(folder, {"code": "S1", "title": "t", "lead": "l", "started": "2019-05-01"}, own),
        )
        publish(path, tmp_path / f"out-{name}")
        assert b"STAFFTEST" not in everything(tmp_path / f"out-{name}")
        (proposal,) = document_of(tmp_path / f"out-{name}", "OBJ")["proposals"]
        found[name] = proposal["assessment"]
        whole = read.load_facts(opening.connect(path, write=False), "OBJ")
        assert (
            document_of(tmp_path / f"out-{name}", "OBJ")["survival"]["present"]
            == object_survival(Case(whole)).places_seen
        )
    lines = {name: {loss["id"]: loss for loss in a["losses"]} for name, a in found.items()}
    line, without = (lines[name]["Z1/1/body colour"] for name in ("with", "without"))
    rank = ["clear", "stood", "untested", "endangers", "destroys"].index
    assert rank(line["severity"]) > rank(without["severity"])
    assert line["withheld"] == 1
    assert "not published" in line["message"]
    assert without["withheld"] == 0


def test_the_same_database_gives_the_same_site_again(filled_in, site, tmp_path):
    publish(filled_in, tmp_path / "again")
    assert (tmp_path / "again" / CHECKSUMS).read_text() == (site / CHECKSUMS).read_text()


def test_the_checksums_hold_and_tell_of_one_changed_byte(site, tmp_path):
    """`sha256sum` of GNU coreutils is the outside check of the list."""
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", CHECKSUMS], cwd=site, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    copy = tmp_path / "copy"
    shutil.copytree(site, copy)
    assert verify(copy) == len((site / CHECKSUMS).read_text().splitlines())
    content = bytearray((copy / "collection.db").read_bytes())
    content[len(content) // 2] ^= 1
    (copy / "collection.db").write_bytes(content)
    with pytest.raises(DamageFound, match=r"collection\.db"):
        verify(copy)
    (copy / "more.txt").write_text("came in")
    with pytest.raises(DamageFound, match=r"more\.txt"):
        verify(copy)


def test_the_file_is_closed_whole_and_sound(site):
    assert sorted(p.name for p in site.iterdir()) == ["collection.db", "metadata.json", "pictures", CHECKSUMS]
    assert rows_of(site, "PRAGMA journal_mode") == [("delete",)]
    assert rows_of(site, "PRAGMA integrity_check") == [("ok",)]
    assert rows_of(site, "PRAGMA foreign_key_check") == []
    assert rows_of(site, "SELECT count(*) FROM sqlite_master WHERE name = 'sqlite_sequence'") == [(0,)]
    assert rows_of(
        site, "SELECT count(*) FROM documents AS d JOIN search AS s ON s.id = d.object_id WHERE s.object = d.object"
    ) == [(1,)]


def test_every_column_of_the_file_is_described(site):
    """In the dictionary inside, but for row numbers and links, and in Datasette's metadata."""
    told = set(rows_of(site, "SELECT table_name, column_name FROM dictionary"))
    metadata = json.loads((site / "metadata.json").read_text("utf-8"))["databases"]["collection"]
    assert metadata["allow_sql"] is False
    for record in SHEETS:
        for row in rows_of(site, f'PRAGMA table_info("{record.table}")'):
            if not row[1].endswith("_id") and row[1] not in ("id", "key", "survey", "from_row", "file"):
                assert (record.table, row[1]) in told
                assert metadata["tables"][record.table]["columns"][row[1]]


def test_the_new_folder_is_never_an_old_one(filled_in, tmp_path):
    (tmp_path / "there").mkdir()
    with pytest.raises(WrongCommand, match="exists already"):
        publish(filled_in, tmp_path / "there")
    with pytest.raises(CouldNot, match="no folder"):
        publish(filled_in, tmp_path / "no" / "parent")
    with pytest.raises(CouldNot, match="no database"):
        publish(tmp_path / "absent.db", tmp_path / "out")
    (tmp_path / "text.db").write_text("this is no database, whatever its name says it is, and it is long enough")
    with pytest.raises(CouldNot):
        publish(tmp_path / "text.db", tmp_path / "out")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["text.db", "there"]


PUBLISHED = """
from pathlib import Path
from collection.output.site.publish import publish
def work(db, out):
    publish(Path(db), Path(out))
"""


@pytest.mark.slow
def test_a_kill_leaves_the_whole_site_or_none(filled_in, tmp_path):
    whole = killed_at.calls(PUBLISHED, filled_in, tmp_path / "whole")
    seen = []
    for moment in killed_at.moments(whole, 6):
        out = tmp_path / f"killed{moment}"
        killed_at.kill(PUBLISHED, filled_in, out, at=moment)
        seen.append(out.exists())
        if out.exists():
            assert verify(out) > 0
    assert seen == sorted(seen)
    assert set(seen) == {False, True}
    report = publish(filled_in, tmp_path / "killed-after")
    assert report.leftovers == ()


def test_a_full_disk_is_a_sentence_and_leaves_nothing(filled_in, tmp_path):
    """The limit on the size of a file stands for the full disk: the write fails in the same place."""
    limited = (
        "import resource, signal, sys\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "from pathlib import Path\nfrom collection.language.errors import CouldNot\n"
        "from collection.output.site.publish import publish\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))\n"
        "try:\n    publish(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "except CouldNot as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, filled_in, tmp_path / "out"], capture_output=True, text=True, check=False
    )
    assert "could not be written" in done.stdout, done.stderr
    assert "Nothing was published" in done.stdout
    assert list(tmp_path.iterdir()) == []


# --- pictures ---------------------------------------------------------------------------------------------------

JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/4QAuRXhpZgAATU0AKgAAAAgAAQEOAAIAAAALAAAAGgAAAABTRUNSRVRFWElGAAD//gAPU0VD"
    "UkVUQ09NTUVOVP/bAEMAFA4PEg8NFBIQEhcVFBgeMiEeHBwePSwuJDJJQExLR0BGRVBac2JQVW1WRUZkiGVtd3uBgoFOYI2XjH2W"
    "c36BfP/bAEMBFRcXHhoeOyEhO3xTRlN8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fP/A"
    "ABEIAAgACAMBIgACEQEDEQH/xAAVAAEBAAAAAAAAAAAAAAAAAAAABf/EABcQAQADAAAAAAAAAAAAAAAAAAAycrH/xAAVAQEBAAAA"
    "AAAAAAAAAAAAAAABBf/EABcRAQEBAQAAAAAAAAAAAAAAAAEDABH/2gAMAwEAAhEDEQA/AJUK4AJzKHXWKUZvDf/Z"
)
"""A JPEG of 8 × 8 pixels, made once with Pillow, with EXIF (SECRETEXIF) and a comment (SECRETCOMMENT)."""


def test_png_keeps_its_pixels_and_loses_its_texts():
    secret = (
        (b"tEXt", b"Author\0SECRET"),
        (b"iTXt", b"XML:com\0\0\0\0\0SECRET"),
        (b"eXIf", b"II*\0SECRET"),
        (b"zTXt", b"k\0\0" + zlib.compress(b"SECRET")),
        (b"prVt", b"SECRET"),
        (b"pHYs", b"\0" * 9),
    )
    kind, content = cleaned(png(*secret) + b"SECRETTAIL")
    assert kind == "png"
    assert b"SECRET" not in content
    assert content == png((b"pHYs", b"\0" * 9))
    profile = (b"iCCP", b"name\0\0" + zlib.compress(b"profile"))
    assert cleaned(png(profile))[1] == png(profile)


@pytest.mark.parametrize(
    "content",
    [
        png()[:-3],
        png().replace(b"IDAT", b"IDAX"),
        b"\x89PNG\r\n\x1a\n",
        png((b"ABCD", b"unknown, must be understood")),
        JPEG[:60],
        JPEG[:-2],
        b"GIF89a",
        b"",
        b"<html><body>x</body></html>",
        b"<svg",
        b'<!DOCTYPE svg [<!ENTITY a "aaaa">]><svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>',
        b"<svg xmlns='http://www.w3.org/2000/svg'>" + b"<g>" * 80 + b"</g>" * 80 + b"</svg>",
    ],
)
def test_a_file_that_is_no_sound_picture_is_left_out(content):
    with pytest.raises(NotAPicture):
        cleaned(content)


@settings(max_examples=300)
@given(st.sampled_from([png(), JPEG, SVG]), st.integers(0, 10_000), st.integers(0, 255))
def test_no_damaged_picture_does_more_than_be_left_out(content, where, byte):
    damaged = bytearray(content)
    damaged[where % len(damaged)] = byte
    with contextlib.suppress(NotAPicture):
        cleaned(bytes(damaged))


def test_jpeg_loses_exif_and_comments_and_keeps_its_scan():
    assert b"SECRETEXIF" in JPEG
    assert b"SECRETCOMMENT" in JPEG
    kind, content = cleaned(JPEG)
    assert kind == "jpg"
    assert b"SECRET" not in content
    assert b"Exif" not in content
    scan = JPEG[JPEG.index(b"\xff\xda") :]
    assert content.endswith(scan)
    assert cleaned(content) == ("jpg", content)


def segment(marker: int, content: bytes) -> bytes:
    return bytes([0xFF, marker]) + struct.pack(">H", len(content) + 2) + content


@pytest.mark.parametrize("order", ["<", ">"])
def test_jpeg_keeps_its_colour_profile_and_which_way_is_up(order: str) -> None:
    """Without them a photograph would lie on its side, or in other colours (Exif 2.3, tag 274; ICC.1, annex B.4)."""
    start = b"II*\0" if order == "<" else b"MM\0*"
    entries = struct.pack(f"{order}HHII", 270, 2, 7, 38) + struct.pack(f"{order}HHIHH", 274, 3, 1, 6, 0)
    exif = start + struct.pack(f"{order}IH", 8, 2) + entries + bytes(4) + b"SECRET\0"
    profile = segment(0xE2, b"ICC_PROFILE\0\x01\x01profile")
    bare = cleaned(JPEG)[1]
    camera = bare[:2] + segment(0xE1, b"Exif\0\0" + exif) + profile + segment(0xE2, b"MPF\0SECRET") + bare[2:]
    kind, content = cleaned(camera)
    turned = b"Exif\0\0MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 274, 3, 1, 6, 0, 0)
    assert (kind, content) == ("jpg", bare[:2] + segment(0xE1, turned) + profile + bare[2:])
    assert cleaned(content)[1] == content


HOSTILE_SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 9 9"
 onload="alert(1)"><script>alert(2)</script><style>@import url(http://x.test/a.css)</style>
<a xlink:href="javascript:alert(3)"><rect width="9" height="9" fill="red" onclick="alert(4)"/></a>
<image href="http://x.test/a.png"/><use href="#a"/><foreignObject><b xmlns="http://www.w3.org/1999/xhtml">x</b>
</foreignObject><metadata>SECRET</metadata><!-- SECRET --><?php SECRET ?>
<rect id="a" x="1" fill="url(http://x.test/#f)" stroke="url(#g)" style="fill:#123456;background:url(//x.test)"/>
<path d="M0 0L9 9" fill="none" stroke="javascript:alert(5)"/><animate attributeName="href" to="javascript:alert(6)"/>
<text x="1" y="2">seen &amp; kept</text></svg>"""


def test_svg_keeps_shapes_and_loses_what_runs_links_or_loads():
    kind, content = cleaned(HOSTILE_SVG)
    assert kind == "svg"
    for bad in (
        b"script",
        b"alert",
        b"http://x",
        b"//x.test",
        b"onload",
        b"onclick",
        b"href",
        b"SECRET",
        b"foreign",
        b"style",
        b"animate",
        b"image",
        b"<a",
        b"<?php",
    ):
        assert bad not in content.lower(), bad
    for good in (b"viewBox", b'fill="#123456"', b"url(#g)", b"seen &amp; kept", b"M0 0L9 9"):
        assert good in content, good


def test_only_pictures_with_rights_are_published(tmp_path):
    rows = object_rows("OBJ", Secrets("X"))
    first = rows["pictures"][0]
    silent = {**first, "picture": "B2", "rights": "", "file": "silent.png"}
    text = {**first, "picture": "B3", "file": "drawn.svg"}
    rows["pictures"] += [silent, text]
    files = {
        "picture.png": png((b"tEXt", b"k\0SECRET")),
        "silent.png": png(width=7),
        "view.svg": SVG,
        "drawn.svg": SVG.replace(b"777777", b"123123"),
    }
    path = database(
        tmp_path / "a.db",
        write_package(
            tmp_path / "p", {"code": "S1", "title": "t", "lead": "l", "started": "2019-05-01"}, rows, files=files
        ),
    )
    report = publish(path, tmp_path / "out")
    assert report.pictures == 3  # two pictures and the drawing
    assert report.pictures_left_out == {"OBJ/B2": "its rights are not filled in"}
    kept = {p.name: p.read_bytes() for p in (tmp_path / "out" / "pictures").iterdir()}
    assert png() in kept.values()
    assert all(re.fullmatch(r"[0-9a-f]{32}\.(png|svg)", name) for name in kept)
    assert {row["picture"]: row["file"] in kept for row in document_of(tmp_path / "out", "OBJ")["pictures"]} == {
        "B1": True,
        "B2": False,
        "B3": True,
    }


def test_a_drawing_is_published_with_the_box_that_its_outlines_lie_in(tmp_path):
    harbour = Path(str(sample_folder())) / "harbour"
    publish(database(tmp_path / "h.db", harbour / "2014"), tmp_path / "out")
    side, front = document_of(tmp_path / "out", "OHM-1962-7")["drawings"]
    assert (side["box"], front["title"]) == ([0.0, 0.0, 460.0, 300.0], "Front elevation (invented)")
    content = (tmp_path / "out" / "pictures" / side["file"]).read_text("utf-8")
    assert 'viewBox="0 0 460 300"' in content
    assert "script" not in content


def test_the_sample_is_published_whole(tmp_path):
    """The invented harbour collection: all its rows are public, and every total is the one computed from it."""
    harbour = Path(str(sample_folder())) / "harbour"
    path = database(tmp_path / "harbour.db", harbour / "2014", harbour / "2024")
    report = publish(path, tmp_path / "out")
    assert report.withheld == {}
    with opening.opened(path, write=False) as connection:
        for sheet, count in report.rows.items():
            live = f"SELECT count(*) FROM live_{BY_SHEET[sheet].table}"
            assert connection.execute(live).fetchone()[0] == count
        for code in read.object_codes(connection):
            document = document_of(tmp_path / "out", code)
            assert document["invented"] is True
            assert document["survival"]["sentence"] == object_survival(Case(read.load_facts(connection, code))).sentence
            for proposal in document["proposals"]:
                # Every piece of evidence is a record that is there.
                assert {loss["withheld"] for loss in proposal["assessment"]["losses"]} <= {0}
    assert os.stat(tmp_path / "out").st_mode & 0o777 == 0o755
    assert chunk(b"IEND", b"") in next((tmp_path / "out" / "pictures").glob("*.png")).read_bytes()
