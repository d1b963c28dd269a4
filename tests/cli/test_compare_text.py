"""Each sentence that `compare` can say, by the records that make it say so."""

from __future__ import annotations

from typing import Any

import pytest
from two_looks import GREEN, NOW, OBJ, RED, THEN, VARNISH, read, seen, sides, work

from collection.cli.text.comparison import dates_compared
from collection.compute.compare.comparison import compare
from collection.records.sheets import Advice, Component, Decoration, Picture
from collection.rules.track_record import Foreseen, Seen
from collection.store.comparison import Compared

STACK = read("S1", THEN, RED, VARNISH, GREEN)
ADVICE = {"object": OBJ, "advice": "AD1", "what": "Leave it", "given_on": "2010", "place": "top"}
SCRAPED = work("T1", "2019", {"action": "scrape"})


def said(then: list[Any], now: list[Any], *, full: bool = False, work_since: tuple[Foreseen, ...] = ()) -> str:
    """The text on one line."""
    case, both = sides(then, now)
    lines = dates_compared([Compared(compare(case, both), work_since)], "2014", "2024", full)
    return " ".join(" ".join(lines).split())


def lining(on: str, state: str, area: float | None = None) -> Decoration:
    return Decoration(
        object=OBJ, decoration="D1", place="top", kind="lining", scheme="1", observed_on=on, state=state, area_m2=area
    )


@pytest.mark.parametrize(
    ("then", "now", "line"),
    [
        (
            STACK,
            work("T1", "2019", {"removed": "1", "removed_m2": 1.0}),
            "LOST top: scheme 1, covered then, removed now, 1 m²; by T1.",
        ),
        (
            STACK,
            work("T1", "201X", {"removed": "1", "removed_m2": 1.0}),
            "MAY BE LOST top: scheme 1, covered then, covered now, 1 m²; T1 may have taken it.",
        ),
        (STACK, work("T1", "2019", {"action": "strip"}), "MAY BE LOST top: original finish; T1 may have taken it."),
        (
            STACK,
            read("S2", NOW, (*RED, "absent"), extent="whole place"),
            "LOST top: original finish, covered then, not found now; no record says by what.",
        ),
        (
            [lining(THEN, "covered")],
            [lining(NOW, "lost")],
            "LOST top: decoration D1, covered then, lost now; no record says by what.",
        ),
        (
            [lining(THEN, "covered")],
            [lining(NOW, "not found")],
            "MAY BE LOST top: decoration D1, covered then, not found now; no record says by what.",
        ),
        (
            STACK,
            work("T1", "2019", {"removed": "2", "removed_m2": 1.0}),
            "EXPOSED top: original finish, covered then, exposed now; by T1.",
        ),
        (
            read("S1", THEN, RED),
            work("T1", "2019", {"action": "coat", "adds": "varnish"}),
            "COVERED top: original finish, exposed then, covered now; by T1.",
        ),
        (
            [Component(object=OBJ, component="lamp", name="lamp", presence="present", observed_on=THEN)],
            [Component(object=OBJ, component="lamp", name="lamp", presence="missing", observed_on=NOW)],
            "PART MISSING lamp: the part, present then, missing now; no record says by what.",
        ),
        (
            [seen(THEN, severity=2)],
            [seen(NOW, severity=3)],
            "WORSE top: flaking, moderate (2014-05-02) → severe (2024-05-02).",
        ),
        (
            [seen(THEN, scheme="1", severity=2, extent_pct=20.0)],
            [seen(NOW, scheme="1", severity=3, extent_pct=10.0)],
            "WORSE top: flaking of scheme 1, moderate 20 % (2014-05-02) → severe 10 % (2024-05-02); "
            "−1 % of the place a year; also better in part; original finish.",
        ),
        (
            [seen(THEN, phenomenon="loss", scheme="1", severity=1)],
            [seen(NOW, phenomenon="loss", scheme="1", severity=2)],
            "Original finish: lost 1 time. T.1 a door LOST top: loss of scheme 1, slight (2014-05-02) → moderate "
            "(2024-05-02); original finish.",
        ),
        (
            [seen(THEN, phenomenon="loss", scheme="2", severity=1)],
            [seen(NOW, phenomenon="loss", scheme="2", severity=2)],
            "Worse, newly active or new: 1 condition on 1 object, 0 of them of original finish or where it survives. No loss "
            "or exposure of original finish is on record. T.1 a door WORSE top: loss of scheme 2,",
        ),
        (
            [seen(THEN, severity=1, active="no")],
            [seen(NOW, severity=1, active="yes")],
            "BECAME ACTIVE top: flaking, slight at rest (2014-05-02) → slight active (2024-05-02).",
        ),
        (
            [seen(THEN, severity=0)],
            [seen(NOW, severity=1)],
            "NEW top: flaking, none (2014-05-02) → slight (2024-05-02).",
        ),
        (
            [],
            [seen(NOW, scheme="1", severity=1, active="yes")],
            "FIRST RECORDED top: flaking of scheme 1, slight active (2024-05-02); original finish.",
        ),
        (
            [seen("2012", extent_pct=5.0), seen("2014", extent_pct=6.0)],
            [seen("2022", extent_pct=21.0), seen("2024", extent_pct=22.0)],
            # scipy.stats.linregress and t.ppf(0.975, 2): 1.56, 0.91 to 2.20
            "+1.6 % of the place a year (95 %: 0.91 to 2.2, from 4 readings).",
        ),
        (
            STACK,
            read("S2", NOW, RED, GREEN),
            "DISAGREES top: S2 and the earlier S1; only in S1: varnish of scheme 1 (amber); "
            "so original finish of the earlier one is missing in the later.",
        ),
        (
            STACK,
            read("S2", NOW, RED, VARNISH, GREEN, GREEN),
            "DISAGREES top: S2 and the earlier S1; only in S2: body colour of scheme 2 (green).",
        ),
        (
            read("S1", THEN, RED, ("1", "lettering", "gold")),
            read("S2", NOW, RED, ("1", "lettering", "gold", "absent")),
            "only in S1: lettering of scheme 1 (gold); 1 coat of them looked for and not found in the other;",
        ),
        (
            STACK,
            read("S2", NOW, RED, method="surface", reaches_support="no"),
            "DISAGREES top: S2 and the earlier S1; body colour of scheme 2 (green) in S1, "
            "body colour of scheme 1 (red) in S2.",
        ),
        (
            STACK,
            [*read("S2", NOW, RED, VARNISH), *work("T1", "2019", {"removed": "2"})],
            "; T1 between them may be why.",
        ),
        (
            [Advice(**ADVICE, against="scrape")],
            SCRAPED,
            "ADVICE AD1 of 2010, “Leave it”: T1 did what it spoke against.",
        ),
        ([Advice(**ADVICE, done_by="T1")], SCRAPED, "ADVICE AD1 of 2010, “Leave it”: followed by T1."),
        (
            [Advice(**ADVICE, until="2018")],
            [],
            "ADVICE AD1 of 2010, “Leave it”: ran out on 2018, and no record says that anybody followed it.",
        ),
        (
            [seen(THEN, scheme="1", severity=1)],
            [seen(NOW, scheme="1", severity=1, active="yes")],
            "T.1 a door Otherwise conditions: 1 known to be active.",
        ),
        ([Advice(**ADVICE)], [], "Otherwise advised then and not done: AD1."),
        (
            [seen(THEN, severity=3), seen(THEN, "foot", severity=1)],
            [seen(NOW, severity=1)],
            "Otherwise conditions: 1 better; not looked at again: 1 condition and 1 place.",
        ),
        (STACK, read("S2", NOW, (*RED, "absent"), GREEN), "places: 1 now read as fragmentary"),
        (STACK, read("S2", NOW, RED, place="foot"), "places: 1 first read; not looked at again: 1 place"),
        (read("S1", THEN, GREEN), read("S2", NOW, RED, GREEN), "places: 1 with original finish found"),
    ],
)
def test_each_sentence(then: list[Any], now: list[Any], line: str) -> None:
    assert line in said(then, now)


@pytest.mark.parametrize(
    ("then", "now", "line"),
    [
        (
            [seen(THEN, severity=3)],
            [seen(NOW, severity=1)],
            "better top: flaking, severe (2014-05-02) → slight (2024-05-02).",
        ),
        (
            [seen(THEN, severity=3)],
            [seen(NOW, severity=0)],
            "gone top: flaking, severe (2014-05-02) → none (2024-05-02).",
        ),
        (
            [seen(THEN, severity=3)],
            [seen(NOW, extent_pct=9.0)],
            "unclear top: flaking, severe (2014-05-02) → 9 % (2024-05-02); "
            "neither its severity nor its extent is recorded both times.",
        ),
        (
            [seen(THEN, severity=3)],
            [seen(NOW, "door", "not accessible")],
            "conditions not looked at again flaking at top, which could not be reached.",
        ),
        ([seen(THEN, severity=3)], [], "places not looked at again top."),
        (
            [Advice(**ADVICE, replaced_by="AD2")],
            [Advice(**{**ADVICE, "advice": "AD2", "given_on": NOW})],
            "advice replaced AD1 (Leave it).",
        ),
        (
            [Picture(object=OBJ, picture="K1", file="k.png", place="top", view="whole", lighting="normal")],
            [Picture(object=OBJ, picture="M1", file="m.png", place="top", view="whole", lighting="normal")],
            "pictures of one view then and now top, whole, normal: K1, M1.",
        ),
    ],
)
def test_each_sentence_of_the_full_list(then: list[Any], now: list[Any], line: str) -> None:
    assert line in said(then, now, full=True)


def test_what_was_foretold() -> None:
    """A loss without a warning is told first, and in the first lines too."""
    work_since = Foreseen(
        "T1",
        "T.1/P1",
        (
            Seen("top/1/varnish", "stood", "lost", "S2"),
            Seen("top/1/body colour", "destroys", "survives", "S2"),
            Seen("foot/1/varnish", "endangers", "lost", "T1/1"),
            Seen("foot/1/body colour", "stood", "not looked since", None),
        ),
    )
    found = said([], [], work_since=(work_since,))
    assert "1 loss came without a warning." in found
    name = "PREDICTED T1, by proposal T.1/P1:"
    assert f"{name} top/1/varnish would have been told “stood the test” the day before, and is lost (S2)." in found
    assert f"{name} came true: foot/1/varnish “endangers”, lost (T1/1)." in found
    assert f"{name} did not come true: top/1/body colour “destroys”, survives (S2)." in found
    assert "not all that T1 may have touched was looked at since." in found


def test_nothing_to_tell() -> None:
    found = said([], [])
    assert found == (
        "By the end of 2014, and from then to the end of 2024: 1 object. No condition is known to have got worse. No loss "
        "or exposure of original finish is on record."
    )
