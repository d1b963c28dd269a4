"""Samples drawn as stacks: to scale, beside their micrographs, the maker's finish bracketed."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any

import pytest
from datasette.utils import tilde_encode
from hypothesis import given
from hypothesis import strategies as st

from collection.output.drawings.stack import draw, notes, panels, stack_of
from collection.output.drawings.stack_panel import THINNEST, Bracket, spread
from collection.output.drawings.text import address
from collection.output.published.published_object import PublishedObject

SVG = "{http://www.w3.org/2000/svg}"
Json = dict[str, Any]


def published(samples: dict[str, list[Json]], *, pictures: list[Json] | None = None, **sample: Any) -> PublishedObject:
    """An object with a green maker's finish (scheme 1), a later red one (scheme 2), and these coats, outermost first."""
    return PublishedObject(
        {
            "object": "D-1",
            "title": "Door",
            "components": [{"component": "door", "name": "Front door"}],
            "zones": [],
            "schemes": [
                {"scheme": "1", "name": "First green", "period": "original"},
                {"scheme": "2", "name": "Second red", "period": "later"},
            ],
            "samples": [
                {"sample": code, "place": "door", "reaches_support": "yes", "layers": coats, **sample}
                for code, coats in samples.items()
            ],
            "pictures": pictures or [],
        }
    )


def coat(position: int, role: str, um: float | None = 20.0, **more: Any) -> Json:
    return {"position": position, "role": role, **({"thickness_um": um} if um else {}), **more}


DOOR = [
    coat(6, "body colour", 30, colour="red", scheme="2"),
    coat(5, "dirt", 4),
    coat(4, "varnish", 10, colour="clear", scheme="1"),
    coat(3, "body colour", 40, colour="dark green", scheme="1"),
    coat(2, "primer", 20, colour="grey", scheme="1"),
    coat(1, "support", None, colour="oak"),
]
PICTURE = {"file": "a.png", "sample": "S1", "lighting": "normal", "um_per_px": 2.0, "size": [240, 160]}


def drawn(object: PublishedObject, *brackets: Bracket, samples: str = "S1") -> ET.Element:
    return ET.fromstring(draw([stack_of(object, code, brackets) for code in samples.split()], name="s"))


def columns(picture: ET.Element) -> dict[str, tuple[float, float]]:
    """The upper edge and the height of each coat's rectangle, by its title before the first comma."""
    return {
        title.text.split(",")[0]: (float(rect.get("y", "")), float(rect.get("height", "")))
        for rect in picture.iter(f"{SVG}rect")
        if (title := rect.find(f"{SVG}title")) is not None and title.text and not rect.get("data-kind")
    }


def bracketed(picture: ET.Element) -> dict[str, tuple[float, float]]:
    """The upper and the lower end of each bracket, by its label."""
    found = {}
    for mark in picture.iter():
        title = mark.find(f"{SVG}title")
        if mark.get("data-kind") is None or title is None:
            continue
        if mark.get("data-kind") == "original":
            ends = re.search(r" ([\d.]+)H[\d.]+V([\d.]+)H", mark.get("d", ""))
            assert ends
            found[title.text or ""] = float(ends[1]) - 0.5, float(ends[2]) + 0.5
        else:
            top = float(mark.get("y", ""))
            found[title.text or ""] = top, top + float(mark.get("height", ""))
    return found


def test_the_bracket_spans_exactly_the_makers_coats() -> None:
    """Varnish, green and primer are of the original scheme: from the top of the varnish to the foot of the primer, and
    neither the dirt above them nor the oak below."""
    picture = drawn(published({"S1": DOOR}))
    coats = columns(picture)
    assert bracketed(picture) == {
        "maker's finish": (
            pytest.approx(coats["4: clear"][0], abs=0.11),
            pytest.approx(sum(coats["2: grey"]), abs=0.11),
        )
    }


@pytest.mark.parametrize(
    ("coats", "expected"),
    [
        ([coat(2, "body colour", scheme="2"), coat(1, "primer", scheme="1")], ["maker's preparation only"]),
        ([coat(2, "body colour", scheme="2"), coat(1, "primer", scheme="2")], []),
        # Without a scheme, the coat's own period decides; with one, the scheme's.
        ([coat(2, "body colour", period="original"), coat(1, "primer")], ["maker's finish"]),
        ([coat(2, "body colour", scheme="2", period="original")], []),
        # Looked for and not found: it takes no room and no bracket.
        ([coat(2, "body colour", scheme="2"), coat(1, "body colour", scheme="1", coverage="absent")], []),
        # Dirt within the maker's coats parts them: two runs, and dirt is nobody's finish.
        (
            [coat(3, "varnish", scheme="1"), coat(2, "dirt", scheme="1"), coat(1, "body colour", scheme="1")],
            ["maker's finish", "maker's finish"],
        ),
    ],
)
def test_what_counts_as_the_makers(coats: list[Json], expected: list[str]) -> None:
    stack = stack_of(published({"S1": coats}), "S1")
    assert [bracket.label for bracket in stack.brackets] == expected


def test_what_has_been_taken_off_since_is_said() -> None:
    """The reading is history: the coats were there when the sample was read."""
    gone = published({"S1": DOOR}, original={"level": "intact", "history": True})
    assert [bracket.label for bracket in stack_of(gone, "S1").brackets] == ["maker's finish, taken off since"]


def test_lost_coats_are_bracketed_beside_the_makers() -> None:
    picture = drawn(published({"S1": DOOR}), Bracket((6, 4), "lost in step 2", "destroys"))
    coats, found = columns(picture), bracketed(picture)
    assert found["lost in step 2"] == (
        pytest.approx(coats["6: red"][0], abs=0.11),
        pytest.approx(sum(coats["4: clear"]), abs=0.11),
    )
    assert set(found) == {"maker's finish", "lost in step 2"}
    (mark,) = (each for each in picture.iter(f"{SVG}rect") if each.get("data-kind") == "destroys")
    assert mark.get("fill") == "url(#s-destroys)", "the pattern that drawings and keys have for it"
    assert len([each for each in picture.iter(f"{SVG}pattern") if each.get("id") == "s-destroys"]) == 1


def test_two_stacks_have_one_scale() -> None:
    """40 µm are as high in a thin stack as in a thick one, and twice as high as 20 µm."""
    object = published({"S1": DOOR, "S2": [coat(2, "glaze", 40), coat(1, "filler", 400, colour="buff")]})
    coats = columns(drawn(object, samples="S1 S2"))
    assert coats["3: dark green"][1] == pytest.approx(coats["2: glaze"][1], abs=0.11)
    assert coats["3: dark green"][1] == pytest.approx(2 * coats["2: grey"][1], abs=0.2)
    alone = [columns(ET.fromstring(svg)) for svg in panels([stack_of(object, code) for code in ("S1", "S2")], name="p")]
    assert alone[0]["3: dark green"][1] == pytest.approx(alone[1]["2: glaze"][1], abs=0.11)


def test_the_micrograph_is_as_high_as_its_stack_and_whole() -> None:
    """The stack's coats and support together; 240 × 160 pixels are half as wide again as high."""
    picture = drawn(published({"S1": DOOR}, pictures=[PICTURE]))
    (image,) = picture.iter(f"{SVG}image")
    heights = [height for _, height in columns(picture).values()]
    assert float(image.get("height", "")) == pytest.approx(sum(heights), abs=0.5)
    assert float(image.get("width", "")) == pytest.approx(1.5 * float(image.get("height", "")), abs=0.2)
    assert image.get("preserveAspectRatio") is None
    assert image.get("href") == "@picture/a.png"


def test_the_micrograph_has_a_bar_of_its_own_scale() -> None:
    """160 pixels of 2 µm are 320 µm high, so that a bar of 200 µm is 200/320 of the shown height."""
    picture = drawn(published({"S1": DOOR}, pictures=[PICTURE]))
    (image,) = picture.iter(f"{SVG}image")
    x, high = float(image.get("x", "")), float(image.get("height", ""))
    bars = {
        float(found[1]): float(found[2])
        for path in picture.iter(f"{SVG}path")
        if (found := re.fullmatch(r"M([\d.]+) [\d.]+v8m0 -4h([\d.]+)m0 -4v8", path.get("d", "")))
    }
    assert bars[x] == pytest.approx(high * 200 / 320, abs=0.2)
    assert "200 µm" in "".join(picture.itertext())
    unscaled = drawn(published({"S1": DOOR}, pictures=[{**PICTURE, "um_per_px": None}]))
    assert "".join(unscaled.itertext()).count(" µm") == "".join(picture.itertext()).count(" µm") - 1


def test_the_labels_of_thirty_coats_do_not_overlap() -> None:
    """Thirty coats, most of them 1 µm: each can be seen, and each label has a line of its own within the picture."""
    coats = [coat(30 - at, "varnish", 200 if at == 3 else 1, colour="clear") for at in range(30)]
    picture = drawn(published({"S1": coats}, reaches_support="no"))
    lines = sorted(
        float(text.get("y", ""))
        for text in picture.iter(f"{SVG}text")
        if text.get("font-size") == "12" and text.get("text-anchor") is None and float(text.get("y", "")) > 20
    )
    assert len(lines) == 31, "and one that says that the sample stops"
    assert min(after - before for before, after in pairwise(lines)) >= 13.9
    assert max(lines) < float(picture.get("height", ""))
    assert min(height for _, height in columns(picture).values()) >= THINNEST
    assert "The thinnest coats are drawn thicker, so as to be seen." in " ".join(picture.itertext())


def test_where_the_sample_stops_is_said() -> None:
    words = "stops here; not looked at deeper"
    assert words in "".join(drawn(published({"S1": DOOR[:3]}, reaches_support="no")).itertext())
    assert words not in "".join(drawn(published({"S1": DOOR})).itertext())


def test_what_is_not_recorded_is_drawn_so() -> None:
    """No thickness: a broken edge. No colour: hatched. Both are said, and so is a colour that stands for a word."""
    object = published({"S1": [coat(2, "glaze", None, colour="amber"), coat(1, "primer")]})
    picture = drawn(object)
    rects = {
        (rect.find(f"{SVG}title").text or "")[:1]: rect
        for rect in picture.iter(f"{SVG}rect")
        if rect.find(f"{SVG}title") is not None
    }
    assert rects["2"].get("stroke-dasharray")
    assert not rects["1"].get("stroke-dasharray")
    assert rects["1"].get("fill") == "url(#s-unknown)"
    said = " ".join(notes([stack_of(object, "S1")]))
    assert "Broken edge" in said
    assert "Hatched: no colour recorded." in said
    assert "nobody measured" in said


def test_no_text_breaks_out_of_the_drawing() -> None:
    hostile = '"><script>alert(1)</script>'
    object = published({hostile: [coat(1, "other", colour=hostile)]})
    svg = draw([stack_of(object, hostile, [Bracket((1,), hostile, "untested")])], name="s")
    assert "<script" not in svg
    assert ET.fromstring(svg).tag == f"{SVG}svg"
    assert " style=" not in svg, "the site's policy forbids styles in a page"


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(5, 40)), min_size=1, max_size=30))
def test_boxes_that_are_spread_never_overlap(boxes: list[tuple[float, float]]) -> None:
    """Whatever is asked for: none over another, and within the frame where the frame has room for all."""
    middles, heights = [middle for middle, _ in boxes], [height for _, height in boxes]
    found = spread(middles, heights, 0, 600)
    order = sorted(range(len(found)), key=lambda at: found[at])
    for one, two in pairwise(order):
        assert found[one] + heights[one] / 2 <= found[two] - heights[two] / 2 + 1e-6
    if sum(heights) <= 600:
        assert min(at - high / 2 for at, high in zip(found, heights, strict=True)) >= -1e-6
        assert max(at + high / 2 for at, high in zip(found, heights, strict=True)) <= 600 + 1e-6


@given(st.text())
def test_an_address_in_a_drawing_is_the_sites(code: str) -> None:
    """Datasette's own encoding, which the site takes addresses apart with."""
    try:
        code.encode()
    except UnicodeEncodeError:
        return
    assert address(code) == tilde_encode(code)


def test_brackets_stand_on_the_micrograph_at_its_own_scale() -> None:
    """The surface lies 20 pixels down. 34 µm of red and dirt above the maker's coats are 17 pixels of 2 µm, and 70 µm of
    theirs are 35: from pixel 37 to pixel 72 of 160, as high as the picture is shown. Without a surface there are none."""
    marked = drawn(published({"S1": DOOR}, pictures=[{**PICTURE, "surface_px": 20}]))
    (image,) = marked.iter(f"{SVG}image")
    top, shown = float(image.get("y", "")), float(image.get("height", "")) / 160
    marks = [mark.get("d", "") for mark in marked.iter(f"{SVG}path") if mark.get("data-kind") == "original"]
    assert len(marks) == 2
    ends = re.search(r" ([\d.]+)H[\d.]+V([\d.]+)H", marks[1])
    assert ends
    assert float(ends[1]) - 0.5 == pytest.approx(top + 37 * shown, abs=0.2)
    assert float(ends[2]) + 0.5 == pytest.approx(top + 72 * shown, abs=0.2)
    plain = drawn(published({"S1": DOOR}, pictures=[PICTURE]))
    assert len([mark for mark in plain.iter(f"{SVG}path") if mark.get("data-kind")]) == 1
    # What lies below a coat without a thickness cannot be placed.
    thin = [DOOR[0], coat(5, "dirt", None), *DOOR[2:]]
    unknown = drawn(published({"S1": thin}, pictures=[{**PICTURE, "surface_px": 20}]))
    assert len([mark for mark in unknown.iter(f"{SVG}path") if mark.get("data-kind")]) == 1
