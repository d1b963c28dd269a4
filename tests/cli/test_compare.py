"""`compare` at a terminal: on the invented sample and on a small collection, in text and in JSON."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import packaged_rows as p
import pytest
from two_looks import DOOR, GREEN, NOW, OBJ, RED, THEN, VARNISH, read, seen, work

from collection.cli import run
from collection.language.errors import DONE, REFUSED, USAGE
from collection.records.sheets import Object, Record, Survey
from collection.store.base import database

SAMPLE = Path(__file__).resolve().parents[2] / "sample_db" / "harbour"


def told(capsys: pytest.CaptureFixture[str], *words: Any) -> tuple[int, str, str]:
    code = run(["compare", *map(str, words)])
    out, err = capsys.readouterr()
    return code, out, err


def answer(capsys: pytest.CaptureFixture[str], *words: Any) -> dict[str, Any]:
    code, out, _ = told(capsys, *words, "--json")
    assert code == DONE
    found: dict[str, Any] = json.loads(out)
    return found


def bring(db: Path, code: str, started: str, rows: list[Record]) -> None:
    """A survey of its own, of one year."""
    p.store(db, code, [Survey(code=code, title="trial", lead=p.LEAD, started=started), *rows])


@pytest.fixture
def doors(db: Path) -> Path:
    """A door looked at in 2014 and 2024, and a cart that only the first survey knows."""
    about: list[Record] = [Object(object=OBJ, title="a door", kind="door"), *DOOR]
    then = [seen(THEN, severity=1, extent_pct=5.0, active="no"), *read("S1", THEN, RED, VARNISH, GREEN)]
    cart = Object(object="T.2", title="a cart", kind="cart")
    bring(db, "A", "2014", [*about, *then, cart])
    now = [seen(NOW, severity=2, extent_pct=25.0, active="yes"), *read("S2", NOW, RED, GREEN, place="top")]
    bring(db, "B", "2024", [*now, *work("T1", "2019", {"place": "foot", "removed": "1", "removed_m2": 1.0})])
    return db


SAID = """\
A (2014 on) and B (2024 on): 1 object in both.
Worse, newly active or new: 1 condition on 1 object, 1 of them of original finish or where it
  survives.
Original finish: lost 1 time.
1 sample disagrees with the earlier ones of the same place.

T.1  a door
  LOST  foot: scheme 1, 1 m²; by T1.
  BECAME ACTIVE  top: flaking, slight 5 % at rest (2014-05-02) → moderate 25 % active (2024-05-02);
    +2 % of the place a year; original finish survives here.
  DISAGREES  top: S2 and the earlier S1; only in S1: varnish of scheme 1 (amber); so original finish
    of the earlier one is missing in the later.
  PREDICTED  T1: came true: foot/1/body colour “destroys”, lost (T1/1); foot/1/varnish “destroys”,
    lost (T1/1).

A change per year without a range rests on two readings: how far it may be off is not known.

Only in A: T.2.
"""


def test_the_gravest_comes_first_and_each_thing_is_said_once(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The foot was stripped of its first red in 2019; the flaking at the top went from 5 to 25 % in ten years; the
    later sample there lacks the first varnish."""
    code, out, err = told(capsys, doors, "A", "B")
    assert out == SAID
    assert (code, err) == (DONE, "")


def test_either_survey_may_be_named_first(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = told(capsys, doors, "B", "A")
    assert out == SAID
    assert (code, err) == (DONE, "")


def test_as_json(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, doors, "A", "B")
    assert (found["format"], found["dates"]) == (1, None)
    assert found["surveys"] == [
        {"code": "A", "title": "trial", "started": "2014", "ended": None},
        {"code": "B", "title": "trial", "started": "2024", "ended": None},
    ]
    assert (found["only"], found["overlap"]) == ({"A": ["T.2"], "B": []}, False)
    (one,) = found["objects"]
    (flaking,) = one["conditions"]
    assert (flaking["kind"], flaking["also"], flaking["may_be_original"]) == ("became active", ["worse"], True)
    assert flaking["now"] == {
        "observed_on": NOW,
        "severity": 2,
        "extent_pct": 25.0,
        "active": "yes",
        "scheme": None,
        "evidence": {"kind": "conditions", "key": f"{OBJ}/top/flaking/{NOW}"},
    }
    assert (flaking["place"], flaking["phenomenon"], flaking["scheme"]) == ("top", "flaking", None)
    (rate,) = one["rates"]
    # 20 % over 3653 days, in years of 365.2425 days
    assert (rate["per_year"], rate["interval"]) == (1.99969, None)
    (lost,) = one["finish"]
    assert {name: lost[name] for name in ("kind", "place", "scheme", "by", "area_m2")} == {
        "kind": "lost",
        "place": "foot",
        "scheme": "1",
        "by": ["T1"],
        "area_m2": 1.0,
    }
    (sample,) = one["disagreements"]
    assert (sample["place"], sample["now"], sample["then"], sample["original_missing"]) == ("top", "S2", "S1", True)
    (coat,) = sample["differences"]
    assert coat == {
        "then": {"sample": "S1", "position": 2, "scheme": "1", "role": "varnish", "colour": "amber"},
        "now": None,
        "looked_for": False,
    }
    (foretold,) = one["predictions"]
    assert (foretold["treatment"], foretold["proposal"]) == ("T1", None)
    assert foretold["losses"][0] == {
        "id": "foot/1/body colour",
        "predicted": "destroys",
        "found": "lost",
        "by": "T1/1",
        "came_true": True,
    }
    assert set(one) == {
        "object",
        "title",
        "place_names",
        "conditions",
        "finish",
        "disagreements",
        "advice",
        "rates",
        "not_looked_at_again",
        "pictures",
        "predictions",
    }


def test_between_two_dates(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same door by dates; before 2014 nobody had looked, so nothing is worse."""
    found = answer(capsys, doors, "--dates", "2024", "2014")
    assert (found["dates"], found["surveys"]) == (["2014", "2024"], None)
    assert found["objects"][0] == answer(capsys, doors, "A", "B")["objects"][0]
    _, out, _ = told(capsys, doors, "--dates", "2000", "2014")
    assert out.startswith("By the end of 2000, and from then to the end of 2014: 2 objects.\nNo condition is known")


def test_a_survey_against_itself_changes_nothing(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = told(capsys, doors, "B", "B")
    assert code == DONE
    assert "No condition is known to have got worse.\nNo loss or exposure of original finish is on record." in out
    assert "overlap" not in out


def test_surveys_that_overlap_say_so(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of two looks in one month nobody knows which was later."""
    bring(db, "A", "2024", [Object(object=OBJ, title="a door", kind="door"), *DOOR, seen("2024-05", severity=1)])
    bring(db, "B", "2024-05", [seen("2024-05~", severity=3)])
    _, out, _ = told(capsys, db, "A", "B")
    assert "They overlap in time; what may be of the same time is not called a change." in out
    assert "No condition is known to have got worse." in out
    assert "conditions: 1 unclear" in out
    assert "both may be of the same time" in told(capsys, db, "A", "B", "--full")[1]


def test_what_a_survey_amended_still_belongs_to_the_one_that_brought_it(
    doors: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """B puts the extent of A's flaking right, from 5 to 10 %: it is A's look, and the rate is 1.5 % a year."""
    with database.opened(doors, write=False) as connection:
        key = connection.execute(
            "SELECT object, place, phenomenon, observed_on, scheme FROM conditions WHERE survey = 'A'"
        ).fetchone()
    p.amend(doors, "B", "conditions", tuple(key), severity=1, extent_pct=10.0)
    (flaking,) = answer(capsys, doors, "A", "B")["objects"][0]["conditions"]
    assert (flaking["then"]["extent_pct"], flaking["now"]["extent_pct"]) == (10.0, 25.0)


def test_a_renamed_object_and_place_are_followed(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    by = ("--by", "R. R.", "--reason", "new number")
    assert run(["rename", str(doors), "objects", OBJ, "NEW/1", *by]) == DONE
    assert run(["rename", str(doors), "zones", "NEW/1/top", "upper", *by]) == DONE
    capsys.readouterr()
    (one,) = answer(capsys, doors, "A", "B")["objects"]
    assert one["object"] == "NEW/1"
    assert [each["place"] for each in one["conditions"]] == ["upper"]
    assert [each["place"] for each in one["disagreements"]] == ["upper"]


def test_a_withdrawn_survey_is_refused_and_its_records_are_out(doors: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["withdraw", str(doors), "survey", "B", "--by", "R. R.", "--reason", "wrong door", "--yes"]) == DONE
    capsys.readouterr()
    code, _, err = told(capsys, doors, "A", "B")
    assert code == REFUSED
    assert "This survey was withdrawn, so its records do not count" in err
    assert answer(capsys, doors, "--dates", "2014", "2024")["objects"][0]["conditions"] == []


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("A",), USAGE, "Name two surveys"),
        (("A", "B", "C"), USAGE, "Name two surveys"),
        (("A", "B", "--dates", "2014", "2024"), USAGE, "Name two surveys"),
        (("--dates", "2014", "the spring"), USAGE, "--dates the spring: "),
        (("A", "BB"), REFUSED, "No such survey is stored; there is A, B. Did you mean 'B'?"),
        (("A", "B", "--object", "T.9"), REFUSED, "No such object is in account."),
    ],
)
def test_what_cannot_be_compared_is_told_how(
    doors: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], code: int, said: str
) -> None:
    given, _, err = told(capsys, doors, *words)
    assert (given, said in err) == (code, True), err


def test_the_invented_sample(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Held against the surveyors' own sheets: what has a higher grade or a larger extent in 2024 than in 2014 is worse,
    what was at rest and goes on is active; two places were uncovered since, by the treatments that the notebooks tell."""
    then, now = (
        {
            (row["object"], row["place"], row["phenomenon"], row.get("scheme", "")): row
            for row in csv.DictReader((SAMPLE / year / "conditions.csv").read_text(encoding="utf-8").splitlines())
        }
        for year in ("2014", "2024")
    )
    expected = {
        key[:3]
        for key in then.keys() & now.keys()
        if any(float(now[key][c] or 0) > float(then[key][c] or 0) for c in ("severity", "extent_pct"))
        or (then[key]["active"], now[key]["active"]) == ("no", "yes")
    }
    found = answer(capsys, harbour, "H14", "H24")
    worse = {
        (one["object"], each["place"], each["phenomenon"])
        for one in found["objects"]
        for each in one["conditions"]
        if each["kind"] in ("worse", "became active", "new")
    }
    assert worse == expected
    assert len(worse) == 20
    exposed = {
        (one["object"], each["place"], *each["by"])
        for one in found["objects"]
        for each in one["finish"]
        if each["kind"] == "exposed"
    }
    assert exposed == {("OHM-1962-7", "L-STRIP", "T16"), ("OHM-1974-21", "G-ROSE", "T18")}
    assert found["only"] == {"H14": [], "H24": []}
    pairs = {(one["object"], each["place"], each["lighting"]) for one in found["objects"] for each in one["pictures"]}
    assert ("OHM-1988/5", "C-LOW", "ultraviolet fluorescence") in pairs


def test_one_object_alone_and_in_full(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, short, _ = told(capsys, harbour, "H14", "H24", "--object", "OHM-1962-7")
    _, full, _ = told(capsys, harbour, "H14", "H24", "--object", "OHM-1962-7", "--full")
    assert short.startswith("H14 (2014-03-03 to 2014-11-28) and H24 (2024-04-08 to 2024-10-18): 1 object in both.")
    assert "not looked at again: 3 conditions and 6 places" in short
    assert "places not looked at again  End panel behind the dash (F-HID)" in full
    assert len(full.splitlines()) > len(short.splitlines())
