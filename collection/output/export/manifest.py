"""The pictures of one published object as a IIIF manifest (Presentation API 3.0), for viewers of any make.

One canvas for each photograph that is published with its size, the whole object first, then its places, then its samples.
Pictures are plain image files: there is no image service.
"""

from __future__ import annotations

import mimetypes
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from collection.compute.build_up.places import ALL
from collection.output.published.published_object import PublishedObject
from collection.records.codes import natural
from collection.values.spoken_dates import in_words

Json = dict[str, Any]

CONTEXT = "http://iiif.io/api/presentation/3/context.json"
_CREATIVE_COMMONS = "http://creativecommons.org/"
RIGHTS = {
    "CC0-1.0": f"{_CREATIVE_COMMONS}publicdomain/zero/1.0/",
    **{
        f"CC-{kind.upper()}-{version}": f"{_CREATIVE_COMMONS}licenses/{kind}/{version}/"
        for kind in ("by", "by-sa", "by-nd", "by-nc", "by-nc-sa", "by-nc-nd")
        for version in ("2.0", "3.0", "4.0")
    },
}
"""Addresses of licences by their SPDX identifiers; clause 3.1, `rights`, wants them with `http`."""
_KNOWN = ("creativecommons.org/", "rightsstatements.org/")


def manifest(
    published: PublishedObject, link: Callable[[str, str], str], about: Mapping[str, str], thumb: str | None = None
) -> Json | None:
    """The manifest of an object; None where no picture of it is shown, since one without a canvas is none.

    :param link: the lasting address of a thing by its kind and code: `object`, `place` and `sample` with the code,
        `picture` with the file name.
    :param about: what the published file says of itself.
    :param thumb: the file of a small picture of the object, where there is one.
    """
    pictures = list(_ordered(published))
    if not pictures:
        return None
    own = link("object", published.code)
    record = published["record"]
    canvases = {row["key"]: _canvas(published, row, own, link) for row in pictures}
    survival = published["survival"]["sentence"]
    facts = [
        ("Number", published.code),
        ("Kind", record.get("kind")),
        ("Maker", record.get("maker")),
        ("Made", record.get("made") and in_words(record["made"])),
        ("Materials", record.get("materials")),
        ("What survives", survival),
    ]
    found = {
        "@context": CONTEXT,
        "id": f"{own}/manifest.json",
        "type": "Manifest",
        "label": _said(published.title),
        "summary": _said(survival),
        "metadata": _facts(facts),
        "requiredStatement": _statement(about, invented=published["invented"]),
        "thumbnail": [_image(thumb or pictures[0]["file"], link)],
        "homepage": [{"id": own, "type": "Text", "label": _said(published.title), "format": "text/html"}],
        "seeAlso": [
            {"id": f"{own}.json", "type": "Dataset", "format": "application/json"},
            {"id": f"{own}.jsonld", "type": "Dataset", "format": "application/ld+json"},
        ],
        "items": list(canvases.values()),
    }
    ranges = list(_ranges(published, pictures, own, canvases, link))
    return {**found, "structures": ranges} if ranges else found


def _ordered(published: PublishedObject) -> Iterator[Json]:
    """The photographs with their sizes: of the whole, of places, of samples; each lot in the order of codes."""
    found = [row for row in published["pictures"] if row["file"] and row.get("size")]

    def order(row: Json) -> tuple[Any, ...]:
        place, sample = place_of(published, row), row.get("sample") or ""
        of = 2 if sample else 1 if place != ALL else 0
        return (of, natural("" if of == 0 else sample or place), row.get("view") != "whole", natural(row["picture"]))

    return iter(sorted(found, key=order))


def place_of(published: PublishedObject, row: Json) -> str:
    """The place that a picture shows: its own, or that of its sample."""
    sample = row.get("sample")
    if sample and not row.get("place"):
        row = next((each for each in published["samples"] if each["sample"] == sample), row)
    return row.get("place") or ALL


def _canvas(published: PublishedObject, row: Json, own: str, link: Callable[[str, str], str]) -> Json:
    width, height = row["size"]
    # The name of a file is made of 32 figures, so that it stays one however pictures are numbered.
    canvas = f"{own}/canvas/{row['file'].partition('.')[0]}-{_named(row['picture'])}"
    sample = row.get("sample")
    facts = [
        ("Picture", row["picture"]),
        ("Sample", sample),
        ("Place", published.name_of(place_of(published, row))),
        ("View", row.get("view")),
        ("Light", row.get("lighting")),
        ("Stage", row.get("stage")),
        ("Taken", row.get("taken_on") and in_words(row["taken_on"])),
        ("Rights", row.get("rights")),
    ]
    found = {
        "id": canvas,
        "type": "Canvas",
        "label": _said(row.get("caption") or (f"Sample {sample}" if sample else f"Picture {row['picture']}")),
        "width": width,
        "height": height,
        "metadata": _facts(facts),
        "items": [
            {
                "id": f"{canvas}/page",
                "type": "AnnotationPage",
                "items": [
                    {
                        "id": f"{canvas}/image",
                        "type": "Annotation",
                        "motivation": "painting",
                        "body": {**_image(row["file"], link), "width": width, "height": height},
                        "target": canvas,
                    }
                ],
            }
        ],
    }
    if row.get("rights"):
        found["requiredStatement"] = {"label": _said("Rights"), "value": _said(row["rights"])}
        address = rights_address(row["rights"])
        if address:
            found["rights"] = address
    return found


def _ranges(
    published: PublishedObject,
    pictures: Sequence[Json],
    own: str,
    canvases: Mapping[str, Json],
    link: Callable[[str, str], str],
) -> Iterator[Json]:
    """The canvases of each place, the whole object first."""
    of: dict[str, list[Json]] = {}
    for row in pictures:
        of.setdefault(place_of(published, row), []).append(row)
    for place in sorted(of, key=lambda code: (code != ALL, natural(code))):
        if place != ALL and not published.has_place(place):
            continue
        yield {
            "id": f"{own}/range/{_named(place)}",
            "type": "Range",
            "label": _said(_named_place(published, place)),
            "items": [{"id": canvases[row["key"]]["id"], "type": "Canvas"} for row in of[place]],
        }


def _named_place(published: PublishedObject, place: str) -> str:
    name = published.name_of(place) or place
    return name[:1].upper() + name[1:]


def rights_address(said: str) -> str | None:
    """The address of a licence or rights statement that words name, as clause 3.1 wants it; None where they name none."""
    said = said.strip()
    if said in RIGHTS:
        return RIGHTS[said]
    scheme, _, rest = said.partition("://")
    known = scheme in ("http", "https") and rest.startswith(_KNOWN) and not any(sign.isspace() for sign in rest)
    return f"http://{rest}" if known else None


def _statement(about: Mapping[str, str], *, invented: bool) -> Json:
    """What viewers have to show: whose collection this is, and how its records may be used."""
    said = [about.get("collection_name") or about["title"]]
    if about.get("collection_licence"):
        said.append(f"Records: {about['collection_licence']}")
    if invented:
        said.append("Invented demonstration data. No such object, place or person exists.")
    return {"label": _said("Collection"), "value": _said(*said)}


def _image(file: str, link: Callable[[str, str], str]) -> Json:
    return {"id": link("picture", file), "type": "Image", "format": mimetypes.guess_type(file)[0]}


def _facts(facts: Sequence[tuple[str, Any]]) -> list[Json]:
    return [{"label": _said(label), "value": _said(str(value))} for label, value in facts if value]


def _said(*texts: str) -> Json:
    """A language map: all our words are English."""
    return {"en": list(texts)}


def _named(code: str) -> str:
    """A code as a part of an address."""
    return "".join(sign if sign.isascii() and sign.isalnum() else f"~{ord(sign):X}" for sign in code)
