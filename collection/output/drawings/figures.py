"""The figures of an object that are drawn once, at `publish`, and kept beside its records.

A figure is one self-contained SVG: its own patterns, no styles, no scripts, on white paper, with a title and a
description, so that site, report and tag can all place it. It names other pages and pictures by `@/` and `@picture/`:
`href="@/place/L1"` is a page below the object's, `href="@picture/0a…f.png"` a published file. Whoever places it puts the
addresses in. What is quick to draw (a stack, a bar) is drawn by the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from collection.compute.stratigraphy.strata import strata
from collection.output.drawings import finishes, life, matrix_picture, strata_picture
from collection.output.published.published_object import PublishedObject

Named = Iterator[tuple[str, str]]
"""Names of figures with their SVG."""


def stratigraphy_figures(published: PublishedObject) -> Named:
    """The samples side by side, and the Harris matrix."""
    found = strata(published.case)
    yield (
        "samples",
        strata_picture.side_by_side(
            found.as_json(), published["samples"], published["schemes"], published.coats, published.name_of
        ),
    )
    yield "matrix", matrix_picture.draw(found)


DRAWN: tuple[Callable[[PublishedObject], Named], ...] = (
    stratigraphy_figures,
    finishes.finish_figures,
    life.life_figures,
)


def kept_figures(published: PublishedObject) -> dict[str, str]:
    """Every figure that is kept, by its name."""
    return dict(figure for draw in DRAWN for figure in draw(published))
