"""What became of advice, which pictures pair, and the sides of a comparison."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import NOW, OBJ, RED, THEN, looked, read, seen, work

from collection.compute.compare import comparison as a
from collection.records.sheets import Advice, Picture
from collection.values import dates


def advice(**more: Any) -> Advice:
    return Advice(object=OBJ, advice="AD1", what="Leave it.", given_on="2010", place="top", **more)


SCRAPED = work("T1", "2019", {"action": "scrape"})


@pytest.mark.parametrize(
    ("row", "now", "kind", "by"),
    [
        (advice(), [], a.STILL, ()),
        (advice(done_by="T1"), SCRAPED, a.FOLLOWED, ("T1",)),
        (advice(done_by="T1"), work("T1", "2019", {}, outcome="partly"), a.STILL, ()),  # followed in part is not done
        (advice(against="scrape"), SCRAPED, a.AGAINST, ("T1",)),
        (advice(against="all"), SCRAPED, a.AGAINST, ("T1",)),
        (advice(against="solvent"), SCRAPED, a.STILL, ()),
        (advice(against="scrape"), work("T1", "2019", {"place": "foot"}), a.STILL, ()),
        (advice(against="scrape"), work("T1", "201X", {}), a.STILL, ()),  # may have been before
        (advice(against="scrape", until="2018"), SCRAPED, a.LAPSED, ()),
        (advice(until="2018"), [], a.LAPSED, ()),
        (advice(until="2030"), [], a.STILL, ()),
    ],
)
def test_advice_that_was_in_force_in_2014(row: Advice, now: list[Any], kind: str, by: tuple[str, ...]) -> None:
    (found,) = looked([row], now).advice
    assert (found.kind, found.by) == (kind, by)


def test_advice_as_json() -> None:
    (found,) = looked([advice(against="scrape", until="2030")], SCRAPED).as_json()["advice"]
    assert found == {
        "kind": "gone against",
        "advice": "AD1",
        "place": "top",
        "what": "Leave it.",
        "given_on": "2010",
        "until": "2030",
        "by": ["T1"],
    }


def test_a_pair_as_json() -> None:
    then, now = picture("K1", THEN, um_per_px=10.0, stage="before"), picture("M1", NOW, um_per_px=20.0)
    (found,) = looked([then], [now]).as_json()["pictures"]
    first = {"picture": "K1", "sample": None, "stage": "before", "taken_on": THEN, "um_per_px": 10.0}
    second = {"picture": "M1", "sample": None, "stage": None, "taken_on": NOW, "um_per_px": 20.0}
    assert found == {
        "place": "top",
        "view": "detail",
        "lighting": "raking",
        "then": first,
        "now": second,
        "enlarge": 2.0,
    }


def test_what_was_not_looked_at_again_as_json() -> None:
    found = looked([seen(THEN, severity=2)], []).as_json()["not_looked_at_again"]
    ((flaking,), places) = found["conditions"], found["places"]
    assert (flaking["place"], flaking["phenomenon"], flaking["scheme"]) == ("top", "flaking", None)
    assert (flaking["then"]["severity"], flaking["could_not_be_reached"], places) == (2, False, ["top"])


def test_advice_that_was_replaced_since() -> None:
    newer = Advice(object=OBJ, advice="AD2", what="Lay it.", given_on=NOW, place="top")
    (found,) = looked([advice(replaced_by="AD2")], [newer]).advice
    assert (found.kind, found.by) == (a.REPLACED, ("AD2",))


def test_advice_done_before_the_earlier_survey_is_not_told() -> None:
    assert looked([advice(done_by="T1"), *work("T1", "2012", {})], []).advice == ()


def picture(code: str, on: str, **more: Any) -> Picture:
    return Picture(
        object=OBJ,
        picture=code,
        file=f"{code}.png",
        taken_on=on,
        **{"place": "top", "view": "detail", "lighting": "raking", **more},
    )


@pytest.mark.parametrize(
    ("then", "now", "pairs"),
    [
        ([picture("K1", THEN)], [picture("M1", NOW)], [("K1", "M1", None)]),
        ([picture("K1", THEN, um_per_px=10.0)], [picture("M1", NOW, um_per_px=20.0)], [("K1", "M1", 2.0)]),
        ([picture("K1", THEN, um_per_px=10.0)], [picture("M1", NOW)], [("K1", "M1", None)]),
        ([picture("K1", THEN)], [picture("M1", NOW, lighting="normal")], []),
        ([picture("K1", THEN)], [picture("M1", NOW, view="whole")], []),
        ([picture("K1", THEN)], [picture("M1", NOW, place="foot")], []),
        ([picture("K1", THEN)], [picture("M1", "2024-03"), picture("M2", NOW)], [("K1", "M2", None)]),
        ([picture("K1", THEN, test="C1")], [picture("M1", NOW, test="C1")], []),  # it shows the test
        ([picture("K1", THEN, view=None)], [picture("M1", NOW, view=None)], []),
    ],
)
def test_pictures_of_one_view_pair(then: list[Any], now: list[Any], pairs: list[Any]) -> None:
    """A pixel of 20 µm has to be shown twice as large as one of 10 µm, to be at its scale."""
    assert [(p.then.picture, p.now.picture, p.enlarge) for p in looked(then, now).pictures] == pairs


def test_a_micrograph_lies_where_its_sample_was_taken() -> None:
    then = [*read("S1", THEN, RED), picture("K1", THEN, place=None, sample="S1", view="micrograph")]
    now = [*read("S2", NOW, RED), picture("M1", NOW, place=None, sample="S2", view="micrograph")]
    (pair,) = looked(then, now).pictures
    assert (pair.place, pair.view) == ("top", "micrograph")


def test_a_survey_brings_what_it_brought_and_no_more() -> None:
    """What a third survey saw in 2018 is no part of either side, but for rates."""
    found = looked([seen(THEN, severity=1)], [], [seen("2018", severity=3)])
    assert found.conditions == ()
    assert [each.then.observed_on for each in found.not_seen_again] == [THEN]


@pytest.mark.parametrize(("seen_last", "lost"), [("2014-09-15", False), ("2014-03-05", True)])
def test_a_survey_lasted_until_what_it_saw_last(seen_last: str, lost: bool) -> None:
    """The survey of 2014 says that it began on 3 March and not when it ended. Work of June was since, unless the survey
    still saw something in September."""
    rows = [*read("S1", "2014-03-04", RED), seen(seen_last, "foot", severity=1)]
    done = work("T1", "2014-06-02", {"removed": "1", "removed_m2": 1.0})
    found = looked(rows, done, one=("A", dates.bounds("2014-03-03")))
    assert bool(found.finish) == lost
