"""Published documents made straight from records, without a database: for content that hypothesis makes up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn
from strategies import object_rows, record, surveys

from collection.output.published.audience import Audience, rows_for
from collection.output.published.documents import object_document
from collection.output.published.stored_objects import StoredObject
from collection.records.facts import facts_of
from collection.records.row import Record
from collection.records.sheets import Advice, Drawing, Object, Picture
from collection.store.base.listed_cells import ListedCell

Json = dict[str, Any]


def document_of(rows: Sequence[Record], survey: Record, audience: Audience, listed: Sequence[ListedCell] = ()) -> Json:
    """The document of one object whose records all come from one survey; every picture and drawing has a file."""
    code = str(rows[0].model_dump()["object"])
    stored: dict[str, list[Json]] = {}
    for number, row in enumerate(rows, 2):
        told = {**row.model_dump(), "survey": survey.model_dump()["code"], "from_row": number, "live": True}
        stored.setdefault(type(row).sheet, []).append(told)
    own = next(row for row in rows if isinstance(row, Object))
    found = StoredObject(code, stored, lambda: facts_of(own, rows), [], [], [], {}, list(listed), "2026-01-01", [])
    public = rows_for(audience, stored, frozenset({code}))
    files = {
        sheet: {f"{code}/{row[name]}": f"{at}.png" for at, row in enumerate(public.rows.get(sheet, ()))}
        for sheet, name in (("pictures", "picture"), ("drawings", "drawing"))
    }
    return object_document(
        found,
        public,
        {survey.model_dump()["code"]: survey.model_dump()},
        {key: (name, [40, 30]) for key, name in files["pictures"].items()},
        {key: (name, None) for key, name in files["drawings"].items()},
        audience=audience,
        on="2026-01-01",
    )


@st.composite
def told_documents(draw: DrawFn, audience: Audience) -> Json:
    """The document of an object with any content that the sheets allow, empty sheets among it; one that is published."""
    code, survey = draw(st.sampled_from(("A/1", "Größe 7", "漆.2", "o'b~c", "#1 50%"))), draw(surveys())
    rows = draw(object_rows(code))
    rows[0] = rows[0].model_copy(update={"audience": None})
    places = ["all", *(row.model_dump()["component"] for row in rows if type(row).sheet == "components")]
    for number in range(draw(st.integers(0, 2))):
        rows.append(draw(record(Advice, object=code, advice=f"A {number}", place=draw(st.sampled_from(places)))))
        rows.append(draw(record(Picture, object=code, picture=f"P/{number}~", place=draw(st.sampled_from(places)))))
        rows.append(draw(record(Drawing, object=code, drawing=f"D#{number}")))
    cells = [
        ListedCell("Bemerkung", text, "list.csv", row, "2026-01-01", survey.model_dump()["code"], 3)
        for row, text in enumerate(draw(st.lists(st.sampled_from(("漆", "a\nb", "<b>", "?")), max_size=2)), 2)
    ]
    return document_of(rows, survey, audience, cells)
