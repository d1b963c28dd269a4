"""The days to look again, as a calendar that holds to RFC 5545 (the sections stand beside each check)."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path

import packaged_rows as p
import pytest
from hypothesis import given
from hypothesis import strategies as st
from site_answers import get
from two_looks import DOOR, OBJ

from collection.output.archive.static_links import CALENDAR
from collection.output.export.calendar_file import Event, calendar
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.records.sheets import Advice, Object, Proposal, ProposalStep, Record, Reserve, Survey, Treatment
from collection.store.base import database
from collection.store.changes import corrections
from collection.store.decide.decisions import decide

HOST = "https://museum.example/finish/"
NAME = re.compile(r"[A-Z0-9-]+(?:;[A-Z0-9-]+=[^;:,\"]+)*")
ONCE = {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "DESCRIPTION", "URL", "CLASS", "TRANSP"}


def unfolded(content: bytes) -> list[str]:
    """3.1: lines end in CRLF, none is longer than 75 octets; a line that begins with a space goes on with the one before."""
    assert content.endswith(b"\r\n")
    lines = content[:-2].split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    text = [line.decode() for line in lines]  # no sign of UTF-8 is cut in two
    found: list[str] = []
    for line in text:
        if line.startswith(" "):
            found[-1] += line[1:]
        else:
            found.append(line)
    return found


def read(text: str) -> str:
    """3.3.11: a backslash stands before a backslash, semicolon, comma, or n; a bare semicolon or comma parts values."""
    assert re.fullmatch(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,nN])*", text)
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], text)


def events(content: bytes) -> list[dict[str, str]]:
    """The events, each property by its name, with the rules of a calendar object (3.4, 3.6) held."""
    lines = unfolded(content)
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert lines.count("VERSION:2.0") == 1  # 3.7.4
    assert sum(line.startswith("PRODID:") for line in lines) == 1  # 3.7.3
    found: list[dict[str, str]] = []
    inside: dict[str, str] | None = None
    for line in lines[1:-1]:
        name, colon, value = line.partition(":")
        assert colon, line
        assert NAME.fullmatch(name), line
        if line == "BEGIN:VEVENT":
            assert inside is None
            inside = {}
        elif line == "END:VEVENT":
            assert inside is not None
            assert {"UID", "DTSTAMP", "DTSTART;VALUE=DATE"} <= set(inside)  # 3.6.1
            found.append(inside)
            inside = None
        elif inside is not None:
            assert name not in inside or name.partition(";")[0] not in ONCE
            inside[name] = read(value) if name in ("SUMMARY", "DESCRIPTION", "CATEGORIES") else value
    assert inside is None
    for each in found:
        assert re.fullmatch(r"[0-9]{8}", each["DTSTART;VALUE=DATE"])  # 3.3.4
        date.fromisoformat(each["DTSTART;VALUE=DATE"])
        assert re.fullmatch(r"[0-9]{8}T[0-9]{6}Z", each["DTSTAMP"])  # 3.8.7.2: in UTC
    assert len({each["UID"] for each in found}) == len(found)  # 3.8.4.7
    return found


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=1, max_size=3))
def test_whatever_people_wrote_is_read_back(texts: list[str]) -> None:
    made = [Event(f"advice/{n}", "2026-05-03", text, text, "advice", None) for n, text in enumerate(texts)]
    kept = ["".join(sign for sign in text if sign in "\t\n" or (sign >= " " and sign != "\x7f")) for text in texts]
    text = calendar("; , \\", made, whose="", stamp="2026-01-02", private=False)
    found = events(text.encode())
    assert [each["SUMMARY"] for each in found] == kept


@pytest.fixture(scope="module")
def dated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An object with something of each kind that has a day, one piece of advice for staff, and one of no end."""
    db = tmp_path_factory.mktemp("dated") / "c.db"
    database.create(db)
    about: list[Record] = [Survey(code="A", title="trial", lead=p.LEAD, started="2024"), *DOOR]
    said = {"object": OBJ, "place": "all", "given_on": "2024"}
    rows: list[Record] = [
        Object(object=OBJ, title="a door", kind="door"),
        Treatment(
            object=OBJ, treatment="T9", purpose="Facing on; tissue, thin", started="2024", temporary_until="2027-03"
        ),
        Advice(advice="A1", what="Keep it dry", until="2028-01-15", **said),
        Advice(advice="A2", what="Nobody else may know", until="2028-01-16", audience="staff", **said),
        Advice(advice="A3", what="For good", **said),
        Reserve(object=OBJ, reserve="R1", place="top", kind="reserve", made_on="2024", until="2030"),
        *(
            Proposal(
                object=OBJ, proposal=code, title=title, proposed_by="N. N.", proposed_on="2024", planned_for="2026-09"
            )
            for code, title in (("P1", "Dust it"), ("P2", "Dust it too"))
        ),
        *(ProposalStep(object=OBJ, proposal=code, step=1, place="top", action="dust") for code in ("P1", "P2")),
    ]
    p.store(db, "A", [*about, *rows])
    decide(db, OBJ, "P1", "approve", by="N. N.", reason="It does no harm")
    return db


@pytest.mark.parametrize("staff", [False, True])
def test_every_day_that_readers_may_know_is_an_event(dated: Path, tmp_path: Path, staff: bool) -> None:
    """Of a month or year its last day, of planned work its first; advice without an end and work that nobody approved are
    no event, and what is for staff is none for the public."""
    publish(dated, tmp_path / "out", staff=staff)
    site = make_datasette(tmp_path / "out", threads=0, address=HOST)
    answer, again = get(tmp_path / "out", CALENDAR, CALENDAR, datasette=site)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.content == again.content
    found = events(answer.content)
    days = [(each["DTSTART;VALUE=DATE"], each["SUMMARY"]) for each in found]
    assert days == [
        ("20260901", "Approved work: Dust it (a door, T.1)"),
        ("20270331", "Temporary measure: Facing on; tissue, thin (a door, T.1)"),
        ("20280115", "Advice runs out: Keep it dry (a door, T.1)"),
        *([("20280116", "Advice runs out: Nobody else may know (a door, T.1)")] if staff else []),
        ("20301231", "Reserve at top (a door, T.1)"),
    ]
    assert {each["URL"] for each in found} == {f"{HOST}object/T~2E1"}
    assert {each["CLASS"] for each in found} == {"PRIVATE" if staff else "PUBLIC"}


def test_an_event_keeps_its_id_when_its_day_is_put_off(dated: Path, tmp_path: Path) -> None:
    """Calendar programs would else show both days."""
    db = tmp_path / "c.db"
    shutil.copy(dated, db)
    shutil.copytree(dated.with_name("c.db.files"), tmp_path / "c.db.files")
    seen = []
    for out in ("one", "two"):
        publish(db, tmp_path / out)
        (answer,) = get(tmp_path / out, CALENDAR)
        seen.append({each["UID"]: each["DTSTART;VALUE=DATE"] for each in events(answer.content)})
        if out == "one":
            corrections.correct(db, "treatments", f"{OBJ}/T9", {"temporary_until": "2031"}, "N. N.", "It holds")
    one, two = seen
    assert one.keys() == two.keys()
    assert [(one[uid], two[uid]) for uid in one if one[uid] != two[uid]] == [("20270331", "20311231")]
