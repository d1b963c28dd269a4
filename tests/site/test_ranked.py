"""The page At risk tells what each threat would cost: for staff the same as the command `risks`, for the public no more
than the public records give."""

from __future__ import annotations

import json
import re
import shutil
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any

import packaged_rows as p
import pytest
from site_answers import get
from two_looks import DOOR, GREEN, NOW, OBJ, RED, THEN, VARNISH, read, seen

from collection.compute.risk.ranking import rank
from collection.output.drawings import risk_pictures
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.records.policy import default_policy
from collection.records.sheets import Claim, Object, Proposal, ProposalStep, Record, Survey, Treatment, TreatmentStep
from collection.store.base import chain, database
from collection.store.risks import at_risk

POLICY = default_policy()
HOST, ATOM = "https://museum.example/finish/", "{http://www.w3.org/2005/Atom}"
SECRET = "Strip what nobody may know of"


@pytest.fixture(scope="module")
def doors(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A door that flakes and that two proposals would strip, one of them for staff alone; a cart of twice its value that
    nobody has looked at."""
    db = tmp_path_factory.mktemp("doors") / "c.db"
    database.create(db)
    rows: list[Record] = [
        Survey(code="A", title="trial", lead=p.LEAD, started="2024"),
        Object(object=OBJ, title="a door", kind="door", value_points=1),
        Object(object="T.2", title="a cart", kind="cart", value_points=2),
        *DOOR,
        *read("S1", THEN, RED, VARNISH, GREEN),
        seen(NOW, severity=2, extent_pct=25.0, active="yes"),
        *(
            Proposal(object=OBJ, proposal=code, title=title, proposed_by="N. N.", proposed_on="2024", audience=audience)
            for code, title, audience in (("P1", "Strip the foot", "public"), ("P2", SECRET, "staff"))
        ),
        ProposalStep(object=OBJ, proposal="P1", step=1, place="foot", action="scrape"),
        ProposalStep(object=OBJ, proposal="P2", step=1, place="top", action="scrape"),
    ]
    p.store(db, "A", rows)
    return db


def asked(db: Path, out: Path, *, staff: bool) -> tuple[str, dict[str, Any]]:
    publish(db, out, staff=staff)
    page, data = get(out, "/at-risk", "/at-risk.json")
    return page.text, json.loads(data.text)["ranking"]


def test_for_staff_the_list_is_that_of_the_command(doors: Path, tmp_path: Path) -> None:
    page, found = asked(doors, tmp_path / "out", staff=True)
    with database.opened(doors, write=False) as db:
        day = db.execute("SELECT substr(max(at), 1, 10) FROM changes").fetchone()[0]
        ranked = rank(at_risk(db, POLICY, day), POLICY.risk, most=len(found["ranked"]))
    assert [(row["object"], row["kind"], row["place"]) for row in found["ranked"]] == [
        (row.object, row.threat.kind, row.threat.place) for row in ranked
    ]
    for row, told in zip(found["ranked"], ranked, strict=True):
        assert row["magnitude"] == pytest.approx(told.magnitude.exact, abs=1e-4)
    assert not found["counted_alike"]
    assert SECRET in json.dumps(found)
    top = found["ranked"][0]
    assert "A %.1f, B %.1f, C %.1f".replace(" %", "\u00a0%") % tuple(top[x]["score"][1] for x in "abc") in page


def test_the_public_learns_nothing_of_what_is_for_staff_nor_what_an_object_is_worth(
    doors: Path, tmp_path: Path
) -> None:
    """Two objects count half each: C is 5 + log10(0.5) = 4.7, whatever points say."""
    page, found = asked(doors, tmp_path / "out", staff=False)
    assert found["counted_alike"]
    assert "all objects counted alike" in page
    assert {row["c"]["score"][1] for row in found["ranked"]} == {4.69897}
    assert SECRET not in page + json.dumps(found)
    destroys = [row for row in found["ranked"] if row["kind"] == "work that destroys"]
    assert len(destroys) == 1


def test_a_table_says_the_same_as_the_pictures(doors: Path, tmp_path: Path) -> None:
    page, found = asked(doors, tmp_path / "out", staff=False)
    assert len(re.findall(r'<figure class="chart"><svg', page)) == 3
    pictured = re.findall(r">(\d+)\. a (door|cart)</text>", page)
    assert len(pictured) == min(risk_pictures.MOST_BARS, found["threats"])
    for row in found["ranked"]:
        assert f"{row['rank']}. <a href=" in page
    assert [row["said"] for row in found["surviving"] if row["object"] == "T.2"] == ["nobody has looked"]


class Later:
    """A clock that is half a year ahead."""

    @staticmethod
    def now(zone: tzinfo) -> datetime:
        return datetime.now(zone) + timedelta(days=183)


def test_the_feed_tells_what_is_new_and_nothing_of_what_is_held_back(
    doors: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a year later it comes out that the cart was repainted, a chest comes to which a claim for staff alone belongs,
    and the door flakes at its foot too, of which a proposal is held back: the public is told of the cart. What was known
    from the first is no news."""
    db = tmp_path / "c.db"
    shutil.copy(doors, db)
    shutil.copytree(doors.with_name("c.db.files"), tmp_path / "c.db.files")
    monkeypatch.setattr(chain, "datetime", Later)
    rows: list[Record] = [
        Survey(code="B", title="again", lead=p.LEAD, started="2025"),
        Treatment(object="T.2", treatment="W1", purpose="new paint", started="1990"),
        TreatmentStep(object="T.2", treatment="W1", step=1, place="all", action="coat"),
        Object(object="T.3", title="a chest", kind="chest"),
        Claim(object="T.3", claim="C1", statement=SECRET, status="untested", audience="staff"),
        seen(NOW, place="foot", severity=3, extent_pct=50.0, active="yes"),
    ]
    p.store(db, "B", rows)
    publish(db, tmp_path / "out", address=HOST)
    site = make_datasette(tmp_path / "out", threads=0, address=HOST)
    (answer,) = get(tmp_path / "out", "/feed.atom", datasette=site)
    told = [entry for entry in ET.fromstring(answer.text).findall(f"{ATOM}entry") if "threat" in entry[1].text.lower()]
    assert [(entry[1].text, entry[2].text[:10]) for entry in told] == [
        ("New threat: never examined, a cart", (datetime.now(UTC) + timedelta(days=183)).date().isoformat())
    ]
    again = publish_again(db, tmp_path / "again")
    assert again == answer.text


def publish_again(db: Path, out: Path) -> str:
    publish(db, out, address=HOST)
    (answer,) = get(out, "/feed.atom", datasette=make_datasette(out, threads=0, address=HOST))
    return str(answer.text)


def test_hours_by_kind_of_work_are_for_staff(tmp_path: Path) -> None:
    """One step of 3.5 h for half a square metre: 7 h/m² were logged, and the interval for one more is wide about it. What
    somebody's work took is not for the public."""
    db = tmp_path / "c.db"
    database.create(db)
    work = {"object": OBJ, "treatment": "T1"}
    rows: list[Record] = [
        Survey(code="A", title="trial", lead=p.LEAD, started="2024"),
        Object(object=OBJ, title="a door", kind="door"),
        *DOOR,
        Treatment(**work, purpose="cleaned", started="2023", treated_by="N. N."),
        TreatmentStep(**work, step=1, place="foot", action="abrade", hours=3.5, area_m2=0.5, outcome="done"),
    ]
    p.store(db, "A", rows)
    page, ranking = asked(db, tmp_path / "staff", staff=True)
    (row,) = ranking["hours"]
    assert (row["work"], row["logs"]) == ("abrade", 1)
    middle, low, high = map(float, re.findall(r"[\d.]+", row["said"]))
    assert low < middle / 3 < 7 / 1.5 < middle < 7 * 1.5 < 3 * middle < high
    assert "Hours by kind of work" in page
    assert f"<td>{row['said']}</td>" in page
    page, ranking = asked(db, tmp_path / "public", staff=False)
    assert ranking["hours"] == []
    assert "Hours by kind of work" not in page
