"""The pictures of risk: lengths that add up, the parts of the method's table 22, bars of what survives; each one SVG that
stands alone and says what it shows."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.risk.magnitude import LATER, NO_ACTION, REVIEW, TREAT
from collection.compute.risk.ranking import AtRisk
from collection.compute.risk.threat import FAILING, Threat
from collection.output.drawings import risk_pictures, surviving_bars
from collection.output.drawings.risk_pictures import LINE, NUMBERED, Pictured, against_uncertainty, made_of, pictured
from collection.output.drawings.risk_sheet import pictures, sheet
from collection.output.drawings.surviving_bars import Surviving
from collection.records.policy import default_policy

SVG = "{http://www.w3.org/2000/svg}"
POLICY = default_policy().risk
ONE = Pictured(1, "A1", "a <door> & more", "finish that fails", "top", 4.0, 4.4, 3.0, (10.0, 11.4, 12.5), TREAT)


def drawn(svg: str) -> ET.Element:
    """The drawing, with what every figure has to keep: presentation attributes alone, nothing from elsewhere, ids once."""
    root = ET.fromstring(svg)
    found = list(root.iter())
    assert not [each for each in found if "style" in each.attrib or each.tag in (f"{SVG}style", f"{SVG}script")]
    assert not re.search(r'href|url\((?!#)|class="', svg)
    ids = [each.attrib["id"] for each in found if "id" in each.attrib]
    assert len(ids) == len(set(ids))
    for named in (each for each in found if "aria-labelledby" in each.attrib):
        assert set(named.attrib["aria-labelledby"].split()) <= set(ids)
    return root


def texts(root: ET.Element) -> list[str]:
    return [each.text or "" for each in root.iter(f"{SVG}text")]


scores = st.tuples(st.floats(0.1, 5), st.floats(0.1, 5), st.floats(0.1, 5))


@given(st.lists(scores, min_size=1, max_size=4))
def test_a_b_and_c_lie_end_to_end_and_reach_the_magnitude(made: list[tuple[float, float, float]]) -> None:
    """15 steps are the whole line; half a unit of rounding for each end."""
    rows = [replace(ONE, a=a, b=b, c=c, magnitude=(0.0, a + b + c, 15.0)) for a, b, c in made]
    (part,) = drawn(made_of(rows, name="m")).iter(f"{SVG}g")
    bars = [each.attrib for each in part.iter(f"{SVG}rect") if float(each.attrib["y"]) >= risk_pictures.TOP]
    for row, three in zip(rows, [bars[at : at + 3] for at in range(0, len(bars), 3)], strict=True):
        ends = [(float(bar["x"]), float(bar["x"]) + float(bar["width"])) for bar in three]
        assert ends[0][1] == pytest.approx(ends[1][0], abs=0.11)
        assert ends[1][1] == pytest.approx(ends[2][0], abs=0.11)
        assert ends[2][1] - ends[0][0] == pytest.approx(LINE * row.magnitude[1] / 15, abs=0.4)


def test_it_says_in_words_what_it_shows() -> None:
    root = drawn(made_of([ONE], name="m"))
    told = root.findtext(f"{SVG}desc") or ""
    assert (
        "a <door> & more (A1) at top: finish that fails: A 4.0, B 4.4, C 3.0, magnitude 11.4, from 10.0 to 12.5" in told
    )


def test_the_four_parts_are_those_of_the_methods_table() -> None:
    """Table 22 (the manual's p. 135, cut at 10): high and sure treat soon, high and unsure review soon, low and sure no
    action, low and unsure review later. The middle of each threat stands on its side of both dashed lines."""
    threats = [
        ("treat", 4.0, (0.9, 1.0, 1.0), TREAT),
        ("review", 4.0, (0.001, 1.0, 1.0), REVIEW),
        ("none", 300.0, (0.09, 0.1, 0.1), NO_ACTION),
        ("later", 300.0, (0.0001, 0.1, 0.1), LATER),
    ]
    policy = replace(
        POLICY,
        soon={
            "x": replace(POLICY.soon["untold"], years=(10, 10, 10), takes=(1, 1, 1)),
            "y": replace(POLICY.soon["untold"], years=(900, 1000, 1000), takes=(1, 1, 1)),
        },
    )
    objects = [
        AtRisk(
            code,
            code,
            0.01 if high == 4.0 else 0.001,
            (Threat(FAILING, None, "", "", (), soon="x" if high == 4.0 else "y", share=share, event="e"),),
        )
        for code, high, share, _ in threats
    ]
    rows = pictured(objects, policy)
    assert {row.object: row.advice for row in rows} == {code: word for code, _, _, word in threats}
    svg = against_uncertainty(rows, len(rows), 10, 2, name="s")
    said = texts(drawn(svg))
    assert {f"{word}: 1" for word in (TREAT, REVIEW, NO_ACTION, LATER)} <= set(said)
    down, across = _cuts(svg)
    plot = risk_pictures._plot(rows, 10, 2)
    for row in rows:
        x, y = plot.spot(row)
        assert (y < down) == (row.advice in (TREAT, REVIEW))
        assert (x >= across) == (row.advice in (REVIEW, LATER))


def _cuts(svg: str) -> tuple[float, float]:
    found = re.search(r'd="M[\d.]+ ([\d.]+)H[\d.]+M([\d.]+) [\d.]+V[\d.]+" stroke="[^"]+" stroke-dasharray', svg)
    assert found is not None
    return float(found[1]), float(found[2])


def test_a_low_end_of_nothing_stands_apart_and_the_rest_is_counted() -> None:
    """Steps to nothing are no measure: they would push all others together. Of more threats than are drawn it says so."""
    nothing = replace(ONE, magnitude=(0.0, 11.0, 12.0))
    rows = [nothing, *(replace(ONE, rank=n, magnitude=(10.0, 11.0, 12.0)) for n in range(2, NUMBERED + 5))]
    plot = risk_pictures._plot(rows, 10, 2)
    assert plot.spot(nothing)[0] > plot.across(plot.widest)
    root = drawn(against_uncertainty(rows, 900, 10, 2, name="s"))
    assert f"The {len(rows)} gravest of 900." in " ".join(texts(root))
    numbers = [text for text in texts(root) if re.fullmatch(r"[1-9]", text)]
    assert set(map(str, range(1, NUMBERED + 1))) <= set(numbers)


def test_numbers_on_one_spot_do_not_hide_each_other() -> None:
    rows = [replace(ONE, rank=n) for n in range(1, NUMBERED + 1)]
    root = drawn(against_uncertainty(rows, len(rows), 10, 2, name="s"))
    discs = [(float(c.attrib["cx"]), float(c.attrib["cy"])) for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "9"]
    assert len(discs) == NUMBERED
    assert all(abs(a[0] - b[0]) + abs(a[1] - b[1]) >= 18 for n, a in enumerate(discs) for b in discs[:n])


def survivors() -> Sequence[Surviving]:
    return [
        Surviving("A", "a door", 4.0, (1.0, 2.0, 3.0), 5, 6),
        Surviving("B", "a cart", 4.0, (0.0, 2.0, 4.0), 0, 0),
        Surviving("C", "a chest", None, None, 1, 2),
    ]


def test_a_bar_reaches_from_the_low_to_the_high_share() -> None:
    """1 to 3 of 4 m² with 2 in the middle: from a quarter to three quarters of the line. What nobody looked at is dashed
    from end to end, and what is not measured has no bar."""
    root = drawn(surviving_bars.draw(survivors(), name="l"))
    bars = [each.attrib for each in root.iter(f"{SVG}rect") if "x" in each.attrib]
    line, left = surviving_bars.LINE, surviving_bars.LEFT
    assert [(float(b["x"]), float(b["width"]), "stroke-dasharray" in b) for b in bars] == [
        (left + line / 4, line / 2, False),
        (left, line, True),
    ]
    assert {"50 % (25–75); 5 of 6 places", "nobody has looked", "1 of 2 places; surface not measured"} <= set(
        texts(root)
    )


def test_all_beside_each_other_in_one_file_and_of_nothing_at_all() -> None:
    objects = [AtRisk("A", "a door", 1.0, (Threat(FAILING, None, "", "", (), soon="untold", event="e"),))]
    for some, left in ((objects, survivors()), ([], [])):
        made = pictures(some, left, POLICY)
        root = drawn(sheet("At risk", list(made.values()), name="risk"))
        sizes = [drawn(each).attrib for each in made.values()]
        assert [each["width"] for each in sizes] == ["380", "380", "380"]
        assert float(root.attrib["height"]) == max(float(each["height"]) for each in sizes)
        assert [float(each.attrib["x"]) for each in root if each.tag == f"{SVG}svg"] == [0, 380, 760]
