"""The site for staff: what only staff read, and that nobody else is shown it by mistake."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from published_secrets import SECRET, Secrets, document_of, everything, rows_of
from site_answers import all_paths, get
from site_packages import SVG, database_of, object_rows, png, write_package

from collection.cli import run
from collection.language.errors import COULD_NOT, CouldNot, WrongCommand
from collection.output.published.audience import STAFF
from collection.output.site.publish import publish
from collection.output.site.serve import heard_here_only, is_for_staff
from collection.records.sheets import SHEETS

TESTS = Path(__file__).resolve().parents[1]


def test_staff_read_private_columns_names_notes_and_records_for_staff(filled_in: Path, staff_site: Path) -> None:
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


def test_not_even_staff_read_what_was_withdrawn_or_corrected_or_where_it_came_from(staff_site: Path) -> None:
    content = everything(staff_site)
    for secret in (b"WITHDRAWNTITLE", b"WITHDRAWNQ", b"WHYTOLD", b"PACKAGENAME", b"PERSONREGISTRAR"):
        assert secret not in content, secret
    assert rows_of(staff_site, "SELECT name FROM zones WHERE object = 'PUB/1' AND zone = 'Z1'") == [("newcontent",)]


def test_each_site_says_whom_it_is_for(site: Path, staff_site: Path) -> None:
    for folder, word in ((site, "public"), (staff_site, "staff")):
        assert rows_of(folder, "SELECT value FROM about WHERE name = 'audience'") == [(word,)]
        assert (
            json.loads((folder / "metadata.json").read_text("utf-8"))["plugins"]["firstcoat_site"]["audience"] == word
        )


def test_the_tables_for_staff_have_every_column_but_files(staff_site: Path) -> None:
    for record in SHEETS:
        columns = {row[1] for row in rows_of(staff_site, f'PRAGMA table_info("{record.table}")')}
        assert {column.name for column in record.columns() if column.kind != "file"} <= columns, record.sheet
        described = rows_of(staff_site, f"SELECT column_name FROM dictionary WHERE table_name = '{record.table}'")
        assert {name for (name,) in described if name} == {column.name for column in STAFF.columns(record)}


def test_the_command_says_that_a_site_is_for_staff(
    filled_in: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["publish", str(filled_in), str(tmp_path / "inner"), "--audience", "staff", "--no-papers"]) == 0
    assert "for staff only" in capsys.readouterr().out
    assert run(["publish", str(filled_in), str(tmp_path / "out"), "--json", "--no-papers"]) == 0
    assert json.loads(capsys.readouterr().out)["audience"] == "public"
    assert is_for_staff(tmp_path / "inner")
    assert not is_for_staff(tmp_path / "out")
    with pytest.raises(CouldNot, match="not a published site"):
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
def test_a_host_that_only_this_machine_reaches(host: str, here: Any) -> None:
    """127.0.0.0/8 is loopback (RFC 1122, 3.2.1.3); 192.0.2.0/24 is for examples (RFC 5737)."""
    assert heard_here_only(host) is here


@pytest.mark.parametrize("host", ["a..b", "x" * 64, "no such host.invalid"])
def test_a_host_that_is_none_is_refused_with_a_sentence(
    site: Path, host: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["serve", str(site), "--host", host, "--port", "0"]) == COULD_NOT
    said = capsys.readouterr().err
    assert f"The site cannot be served at {host}: this machine knows no address of that name." in said


SERVE = "import sys; from collection.cli import run; sys.exit(run(['serve', *sys.argv[1:], '--port', '0']))"


@pytest.mark.parametrize(
    ("inner", "host", "warned"), [(True, "0.0.0.0", True), (True, "127.0.0.1", False), (False, "0.0.0.0", False)]
)
def test_serving_staff_beyond_this_machine_is_said_before_it_listens(
    site: Path, staff_site: Path, inner: bool, host: str, warned: bool
) -> None:
    """Reads until the address is printed, so that the server's real output is judged."""
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


def test_pictures_without_rights_are_for_staff(tmp_path: Path) -> None:
    rows = object_rows("OBJ", Secrets("X"))
    rows["pictures"][0]["rights"] = ""
    path = database_of(
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
    for asked, page in zip(paths, get(tmp_path / "inner", *paths), strict=True):
        if picture["file"] in page.text:
            shown += 1
            assert "do not show it outside" in page.text, asked
    assert shown >= 3


def test_staff_know_of_every_survey_in_account_the_public_of_those_that_brought_something(
    site: Path, staff_site: Path
) -> None:
    assert rows_of(staff_site, "SELECT code FROM surveys ORDER BY code") == [("S1",), ("S3",), ("STAFFSURVEY",)]
    assert rows_of(site, "SELECT code FROM surveys") == [("S1",)]


def test_the_same_database_gives_the_same_staff_site_again(filled_in: Path, staff_site: Path, tmp_path: Path) -> None:
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
def test_an_address_that_is_none_is_refused(filled_in: Path, tmp_path: Path, address: str) -> None:
    with pytest.raises(WrongCommand, match="Write it as https://host/"):
        publish(filled_in, tmp_path / "out", address=address)
    assert list(tmp_path.iterdir()) == []
