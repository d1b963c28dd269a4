"""What the site says of the tags on an object: to everybody that one hangs and whether it holds, to staff alone where."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from packaged_rows import hand_in
from site_answers import get

from collection.cli import run
from collection.output.site.publish import publish
from collection.store.base import database
from collection.store.changes import corrections
from collection.values.spoken_dates import in_words

TODAY = date.today().isoformat()
SINCE = in_words(TODAY)


@pytest.fixture(scope="module")
def db(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A door with a tag that holds, one whose tag was hung before its name was put right, one without a tag; work is
    proposed on each."""
    path = tmp_path_factory.mktemp("tags") / "c.db"
    database.create(path)
    rows: list[tuple[str, dict[str, Any]]] = []
    for code in ("D1", "D2", "D3"):
        own = {"object": code}
        rows += [
            ("objects", {**own, "title": f"Door {code}", "kind": "door"}),
            ("schemes", {**own, "scheme": "1", "name": "red", "period": "original", "rank": 1}),
            ("schemes", {**own, "scheme": "2", "name": "green", "period": "later", "rank": 2, "basis": "lies on dirt"}),
            ("components", {**own, "component": "leaf", "name": "Leaf"}),
            ("samples", {**own, "sample": "S1", "place": "leaf", "method": "cross-section", "reaches_support": "yes"}),
            ("layers", {**own, "sample": "S1", "position": 1, "role": "body colour", "scheme": "1"}),
            ("layers", {**own, "sample": "S1", "position": 2, "role": "body colour", "scheme": "2"}),
            ("proposals", {**own, "proposal": "P1", "title": "Dust it", "proposed_by": "N", "proposed_on": "2024"}),
            ("proposal_steps", {**own, "proposal": "P1", "step": 1, "place": "all", "action": "dust"}),
            (
                "advice",
                {**own, "advice": "A1", "what": "no heat", "given_on": "2014", "against": "heat", "audience": "staff"},
            ),
        ]
    hand_in(path, "A", rows)
    for code in ("D1", "D2"):
        words = ["--printed", code, "--where", f"SECRETPLACE of {code}", "--by", "PERSONHANGER", "--on", TODAY]
        assert run(["tags", str(path), *words]) == 0
    # What is held back is no part of what a public tag says.
    corrections.correct(path, "advice", "D1/A1", {"against": "heat; strip"}, "N", "read again")
    corrections.correct(path, "components", "D2/leaf", {"name": "Left leaf"}, "N", "read again")
    return path


def test_the_public_is_told_that_one_hangs_and_whether_it_holds(db: Path, tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(db, site)
    first, second, third, risks = get(site, "/object/D1", "/object/D2", "/object/D3", "/at-risk.json")
    assert f"A tag has hung on it since {SINCE}; it says what is known today." in first.text
    assert f"A tag has hung on it since {SINCE}; it is out of date." in second.text
    assert "hung on it" not in third.text
    reasons = {row["object"]: [threat["message"] for threat in row["threats"]] for row in risks.json()["objects"]}
    assert reasons == {"D2": ["The tag that hangs on it no longer says what is known."]}
    everything = b"".join(path.read_bytes() for path in site.rglob("*") if path.is_file())
    for path in ("/object/D1.json", "/object/D2.json"):
        (answer,) = get(site, path)
        everything += answer.text.encode()
    assert b"SECRETPLACE" not in everything
    assert b"PERSONHANGER" not in everything


def test_staff_are_told_where_and_what_is_missing(db: Path, tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish(db, site, staff=True)
    first, risks = get(site, "/object/D1", "/at-risk.json")
    where = (
        f"A tag has hung on it since {SINCE} (SECRETPLACE of D1; hung by PERSONHANGER); it says what is known today."
    )
    assert where in first.text
    reasons = {row["object"]: [threat["message"] for threat in row["threats"]] for row in risks.json()["objects"]}
    assert reasons == {
        "D2": ["The tag that hangs on it no longer says what is known."],
        "D3": ["Original finish lies under later paint, “Dust it” is in hand, and no tag hangs on it."],
    }
