"""The facts document's canonical text: what Python's json module writes of the same data, whoever wrote it."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from objects import OBJ, base

from collection.records.facts import Facts, canonical_json, facts_of, read_document
from collection.records.sheets import Component, Object, Zone

NUMBERS = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False),
    st.integers(-(2**53), 2**53),
    st.sampled_from([1e-4, 9.9e-5, 1e-5, 1e-7, 1e15, 1e16, 1e17, 1e22, 5e-324, 0.1 + 0.2, -0.0]),
)
TEXTS = st.text(st.characters(codec="utf-8"), max_size=12)


def written_by_json(facts: Facts) -> str:
    return json.dumps(facts.document(), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


@given(st.lists(st.tuples(TEXTS, TEXTS, NUMBERS, NUMBERS), min_size=1, max_size=4), TEXTS)
def test_the_text_is_that_of_json(rows: list[tuple[str, str, float, float]], notes: str) -> None:
    """Any text, empty ones and controls among them, and any number, exponents among them; values that no check has
    passed, since rows of an older version may hold them."""
    made = facts_of(
        Object.model_construct(
            **{
                **dict.fromkeys(Object.model_fields),
                "object": OBJ,
                "title": rows[0][0],
                "owner": "private",
                "notes": notes,
            }
        ),
        [
            Zone.model_construct(
                **{
                    **dict.fromkeys(Zone.model_fields),
                    "object": OBJ,
                    "zone": str(number),
                    "component": component,
                    "name": name,
                    "area_m2": area,
                    "notes": notes,
                }
            )
            for number, (component, name, area, _) in enumerate(rows)
        ]
        + [
            Component.model_construct(
                **{
                    **dict.fromkeys(Component.model_fields),
                    "object": OBJ,
                    "component": f"c{number}",
                    "name": name,
                    "area_m2": area,
                }
            )
            for number, (_, name, _, area) in enumerate(rows)
        ],
    )
    assert made.canonical == written_by_json(made)
    assert json.loads(made.canonical) == made.document()
    assert "private" not in made.canonical


def test_rows_in_any_order_of_their_columns_give_the_same_text() -> None:
    made = facts_of(Object(object=OBJ, title="Door", kind="door"), base())
    turned = Facts(
        made.object,
        **{
            name: tuple(row.model_construct(**dict(reversed(list(vars(row).items())))) for row in rows)
            for name, rows in vars(made).items()
            if isinstance(rows, tuple)
        },
    )
    assert turned.canonical == made.canonical == written_by_json(made)
    assert read_document(json.loads(made.canonical)).canonical == made.canonical


@pytest.mark.parametrize("title", ["blue-green tram 1e-7", 'a ":"" in a title', "scheme1 e1", "0.00001", "a\x7fb\x1f"])
def test_texts_that_look_like_numbers_stay_as_they_are(title: str) -> None:
    made = facts_of(Object(object=OBJ, title=title.replace("\x1f", ""), kind="sign"), [])
    assert made.canonical == canonical_json(made.document())
    assert json.loads(made.canonical)["object"]["title"] == title.replace("\x1f", "")
