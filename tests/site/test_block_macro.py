"""Every kind of block is rendered for a page, escaped, with links where the records are published."""

from __future__ import annotations

from typing import Any

from firstcoat_site.answers import _templates

from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.tell.blocks import (
    Block,
    Cards,
    Caution,
    Facts,
    Figure,
    Grid,
    Heading,
    Point,
    Points,
    Sentence,
    Signature,
    as_data,
)

DOOR: dict[str, Any] = {
    "object": "D-1",
    "title": "Door",
    "components": [{"key": "D-1/DOOR", "component": "DOOR", "name": "the door"}],
    "zones": [],
    "claims": [{"key": "D-1/CL1", "claim": "CL1"}],
}


def rendered(*blocks: Block) -> str:
    source = '{% from "firstcoat_block_macros.html" import blocks with context %}{{ blocks(found) }}'
    page = _templates().from_string(source)
    return page.render(
        found=as_data(blocks),
        published=PublishedObject(DOOR),
        to=Addresses(str, "D-1"),
        picture_url=lambda name: f"/picture/{name}",
        placed=lambda svg: svg,
    )


def test_each_kind_has_its_element() -> None:
    drawn = Figure("a picture of it", "what it shows", picture="a.png")
    for block, element in (
        (Heading("A & B", 2, "ab"), '<h3 id="ab">A &amp; B</h3>'),
        (Sentence("<first>", "lead"), '<p class="lead">&lt;first&gt;</p>'),
        (Facts((("Maker", "A. Smith"),)), "<dt>Maker</dt><dd>A. Smith</dd>"),
        (Grid("Many", ("Place", "State"), (("Door", "covered"),)), '<th scope="row">Door</th><td>covered</td>'),
        (drawn, '<img src="/picture/a.png" loading="lazy" alt="a picture of it">'),
        (Cards((drawn,)), "<figcaption>what it shows</figcaption>"),
        (Caution("Mind it."), '<p class="caution">Mind it.</p>'),
        (Signature("Read.", ("", "Name")), "<dt>Name</dt>"),
    ):
        assert element in rendered(block)


def test_a_point_leads_to_its_record_and_its_place() -> None:
    point = Point("untested", "“It was red”", "2014", ("claims", "D-1/CL1"), "DOOR", "the door")
    page = rendered(Points((point,)))
    assert "<strong>“It was red”</strong>: untested" in page
    assert '2014; at <a href="/object/D-1/place/DOOR">the door</a>' in page
    assert 'href="/object/D-1/records#' in page
    assert ">CL1</a>" in page


def test_of_what_people_said_the_words_come_first() -> None:
    page = rendered(Points((Point("“Leave it.”", "Speaks against: strip", "2014"),), kind="words"))
    assert page.index("“Leave it.”") < page.index("Speaks against: strip")
    assert '<p class="words">' in page
