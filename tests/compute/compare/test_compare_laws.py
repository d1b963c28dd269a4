"""Laws of comparing: nothing changes against itself, exchanged looks mirror each other, and unrelated records, the order
of naming and places that nobody looked at again change nothing."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from two_looks import NOW, OBJ, THEN, A, B, door, looked, read, seen, sides, work

from collection.compute.compare import conditions as c
from collection.compute.compare.comparison import Comparison, compare
from collection.compute.compare.sides import by_dates
from collection.compute.survival.survival import object_survival
from collection.records.sheets import Decoration, Hazard, Layer, Picture, Record
from collection.values import dates

some = settings(max_examples=max(1, settings().max_examples // 3))
PLACES = st.sampled_from(["top", "foot", "door"])
SCHEMES = st.sampled_from([None, "1", "2"])
ROLES = st.sampled_from(["primer", "body colour", "varnish", "lettering", "metal leaf", "dirt"])
COATS = st.lists(
    st.tuples(
        SCHEMES, ROLES, st.sampled_from([None, "red", "green"]), st.sampled_from(["intact", "partial", "absent"])
    ),
    max_size=4,
)


@st.composite
def looks(draw: st.DrawFn, on: str, code: str) -> list[Record]:
    """What one survey of one day may have brought: conditions, samples, decorations, pictures."""
    rows: list[Record] = []
    for place, phenomenon, scheme in draw(
        st.sets(st.tuples(PLACES, st.sampled_from(["flaking", "cracking", c.CLOSED]), SCHEMES), max_size=4)
    ):
        rows.append(
            seen(
                on,
                place,
                phenomenon,
                scheme=scheme,
                severity=draw(st.sampled_from([None, 0, 1, 2, 3])),
                extent_pct=draw(st.sampled_from([None, 0.0, 5.0, 20.0])),
                active=draw(st.sampled_from([None, "yes", "no", "unknown"])),
            )
        )
    for number in range(draw(st.integers(0, 2))):
        rows += read(
            f"{code}{number}",
            on,
            *draw(COATS),
            place=draw(PLACES),
            method=draw(st.sampled_from(["cross-section", "exposure", "surface"])),
            reaches_support=draw(st.sampled_from(["yes", "no", None])),
        )
    if draw(st.booleans()):
        state = draw(st.sampled_from([None, "exposed", "covered", "fragment", "lost"]))
        rows.append(Decoration(object=OBJ, decoration="D1", place="top", kind="lining", observed_on=on, state=state))
    if draw(st.booleans()):
        rows.append(
            Picture(
                object=OBJ,
                picture=f"K{code}",
                file="k.png",
                place=draw(PLACES),
                view="whole",
                lighting="normal",
                um_per_px=draw(st.sampled_from([None, 10.0, 20.0])),
            )
        )
    return rows


EARLIER, LATER = looks(THEN, "S"), looks(NOW, "U")
WORK = st.sampled_from([[], work("T1", "2019", {"removed": "1"}), work("T1", "201X", {"removed": "2"})])


def changes(found: Comparison) -> list[Any]:
    """Everything that is said to have changed or to differ."""
    return [
        *(each for each in found.conditions if each.kind not in (c.SAME, c.UNCLEAR)),
        *found.finish,
        *found.disagreements,
        *found.rates,
    ]


@some
@given(EARLIER, WORK)
def test_against_itself_nothing_changed(rows: list[Record], done: list[Record]) -> None:
    """By survey and by date."""
    found = looked([*rows, *done], [], one=A, other=A)
    assert changes(found) == []
    assert (found.not_seen_again, found.not_looked_at, found.pictures) == ((), (), ())
    case = door([*rows, *done])
    assert changes(compare(case, by_dates(case, "2024", "2024"))) == []


@some
@given(EARLIER, LATER, WORK)
def test_it_does_not_matter_which_is_named_first(then: list[Record], now: list[Record], done: list[Record]) -> None:
    one = looked(then, now, done)
    other = looked(now, then, done, one=B, other=A)
    assert one.as_json() == other.as_json()
    same = dates.bounds("2010/2024")
    assert sides(then, now, one=("A", same), other=("B", same))[1].earlier.name == "A"
    assert sides(now, then, one=("B", same), other=("A", same))[1].earlier.name == "A"


MIRROR = {c.WORSE: c.BETTER, c.ACTIVE: c.RESTS, c.NEW: c.GONE, c.SAME: c.SAME, c.UNCLEAR: c.UNCLEAR}
MIRROR |= {after: before for before, after in MIRROR.items()}


@some
@given(EARLIER, LATER)
def test_exchanged_looks_mirror_each_other(then: list[Record], now: list[Record]) -> None:
    """Had 2024 been seen in 2014 and 2014 in 2024, what got worse would have got better, and what only one sample has
    only the other would have. That something is known to be active now is no change, and has no mirror."""
    forth = looked(then, now)
    back = looked([_moved(row, THEN) for row in now], [_moved(row, NOW) for row in then])
    kinds = [
        {
            (each.place, each.phenomenon, each.scheme): {kind for kind in each.kinds if kind != c.KNOWN} or {c.SAME}
            for each in found.conditions
        }
        for found in (forth, back)
    ]
    told = [{key for key, said in found.items() if not said & {c.FIRST, c.UNCLEAR}} for found in kinds]
    for key in told[0] & told[1]:
        assert kinds[0][key] == {MIRROR[kind] for kind in kinds[1][key]}
    # Told one way alone is what nobody looked for earlier, and what is known of it now but cannot be compared.
    assert all(kinds[0].get(key, {c.SAME}) <= {c.SAME, c.FIRST, c.UNCLEAR} for key in told[0] ^ told[1])
    pairs = [{(each.then, each.now) for each in found.disagreements} for found in (forth, back)]
    if len([row for row in (*then, *now) if row.sheet == "samples"]) == 2:
        assert pairs[0] == {(b, a) for a, b in pairs[1]}
    assert [(r.what, r.place, round(r.per_year, 9)) for r in forth.rates] == [
        (r.what, r.place, round(-r.per_year, 9)) for r in back.rates
    ]
    assert [(p.then.picture, p.now.picture) for p in forth.pictures] == [
        (p.now.picture, p.then.picture) for p in back.pictures
    ]


def _moved(row: Record, day: str) -> Record:
    columns = [name for name in ("observed_on", "taken_on") if getattr(row, name, None)]
    return row.model_copy(update=dict.fromkeys(columns, day))


@some
@given(EARLIER, LATER, WORK)
def test_a_record_of_something_else_changes_nothing(then: list[Record], now: list[Record], done: list[Record]) -> None:
    """A hazard, and a condition that a third survey saw before either."""
    without = looked(then, now, done).as_json()
    more = [Hazard(object=OBJ, hazard="H1", kind="lead", status="suspected"), seen("1990", "foot", "bloom", severity=1)]
    assert looked(then, now, [*done, *more]).as_json() == without


@some
@given(EARLIER, LATER)
def test_nothing_is_said_of_places_that_were_not_looked_at_again(then: list[Record], now: list[Record]) -> None:
    """Without work on record, what changed lies where the later survey looked."""
    found = looked(then, now)
    where = {getattr(row, "place", None) for row in now}
    assert {change.now.place for change in found.conditions} <= where
    assert {each.place for each in found.disagreements} <= where
    assert {each.place for each in found.rates} <= where
    touched = {place for place in ("top", "foot", "door") for other in where if other and _overlap(place, other)}
    assert {each.place for each in found.finish} <= touched
    pictured = {getattr(row, "place", None) for row in now if isinstance(row, Picture)}
    closed = {getattr(row, "place", None) for row in now if getattr(row, "phenomenon", None) == c.CLOSED}
    assert not set(found.not_looked_at) & (where - pictured - closed)


def _overlap(one: str, other: str) -> bool:
    return one == other or "door" in (one, other)


@some
@given(EARLIER, st.permutations(range(3)))
def test_the_order_of_records_changes_nothing(then: list[Record], order: list[int]) -> None:
    now: list[list[Record]] = [
        [seen(NOW, severity=2), seen(NOW, "foot", "cracking", extent_pct=3.0)],
        read("U1", NOW),
        read("U2", NOW),
    ]
    shuffled = [row for number in order for row in now[number]]
    assert looked(then[::-1], shuffled).as_json() == looked(then, [row for rows in now for row in rows]).as_json()


@some
@given(EARLIER, LATER)
def test_every_layer_that_differs_is_one_of_the_two_samples(then: list[Record], now: list[Record]) -> None:
    case, both = sides(then, now)
    for found in compare(case, both).disagreements:
        coats: list[Layer] = [coat for d in found.differences for coat in (d.then, d.now) if coat is not None]
        assert {coat.sample for coat in coats} <= {found.then, found.now}
        assert found.differences


@some
@given(EARLIER, LATER, WORK)
def test_states_are_those_that_survival_gives_each_side(
    then: list[Record], now: list[Record], done: list[Record]
) -> None:
    """As of the end of each, and another on each side where the finish as a whole is told."""
    case, both = sides(then, now, done)
    before, after = ({row.place: row.state for row in object_survival(one).places} for one in (both.before, both.after))
    for each in compare(case, both).finish:
        if each.decoration is None and each.then is not None:
            assert (each.then, each.now) == (before.get(each.place, "not examined"), after[each.place])
            assert each.scheme is not None or each.then != each.now
