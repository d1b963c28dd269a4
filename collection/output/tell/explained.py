"""The words of the trade and of this program, each in a line, for a reader who has neither at hand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from collection.language.words import SEVERITY_SPOKEN
from collection.output.tell.blocks import Block, Facts, Heading, as_data
from collection.output.tell.wording import SEVERITY_MEANS

WORDS = {
    "original exposed": "the maker’s finish lies open to view there.",
    "original covered": "the maker’s finish is there, under later coats.",
    "original fragmentary": "only a part or traces of the maker’s finish are left there.",
    "original not found": "it was looked for there and not found.",
    "original removed": "a documented treatment took it off there.",
    "not examined": "nobody has looked there; nothing is claimed of it.",
    "campaign": "the coats that were put on together, in one painting of the object.",
    "scheme": "a finish: the coats that were put on together.",
    "cross-section": "a splinter through all coats, mounted and polished, read under the microscope.",
    "exposure": "a small window opened coat by coat.",
    "scraping": "material scraped off for a look or an analysis.",
    "gauge": "the thickness of all coats together, measured from the surface.",
    "at a loss": "of a sample: taken where the coats were broken already.",
    "body colour": "the coloured coat that covers the whole field.",
    "bole": "a coloured clay ground under leaf.",
    "mordant": "the tacky coat that holds leaf.",
    "ground": "a preparation coat that evens the support.",
    "lining": "painted lines along edges and panels.",
    "transfer": "a printed picture laid on and varnished over.",
    "glaze": "a thin see-through coloured coat.",
    "bronze paint": "metal powder in a medium, not leaf.",
    "bloom": "a whitish veil on a varnish.",
    "chalking": "powder that comes off a weathered coat.",
    "corrosion under paint": "rust or other corrosion that lifts paint from metal.",
    "none seen": "of a test: nothing was seen to happen to the coat.",
    "colour on swab": "of a test: the swab took colour of the coat.",
    "blanched": "of a test: the coat turned whitish.",
    "gloss change": "of a test: the coat became duller or shinier.",
    "swelled": "of a test: the coat took the liquid up.",
    "softened": "of a test: the coat could be marked while wet.",
    "lifted": "of a test: the coat came away from what lies under it.",
    "partly removed": "of a test: some of the coat came off.",
    "removed": "of a test: the coat came off.",
    "wet only": "the spot was not looked at again when dry, when a change may first show.",
    "raking": "light from the side, which shows relief.",
    "ultraviolet fluorescence": "the glow of varnishes and binders under an ultraviolet lamp.",
    "confirmed": "recorded evidence settles it.",
    "probable": "evidence speaks for it.",
    "possible": "nothing speaks against it.",
    "supported": "of a claim: evidence speaks for it.",
    "refuted": "of a claim: evidence speaks against it.",
    "sample site": "the place a sample came from, which must stay to be found again.",
    "95 % interval": "the range in which the true figure lies in 95 of 100 such cases.",
    "GU": "gloss units at 60°, ISO 2813.",
    "µm": "a thousandth of a millimetre.",
}
_VERDICTS = {SEVERITY_SPOKEN[word]: f"{means}." for word, means in SEVERITY_MEANS.items()}
_SILENT = frozenset({"block", "svg", "picture", "name", "record", "place"})
"""What of a block is not read."""


def words_used(blocks: Iterable[Block]) -> list[Block]:
    """Those of the words that stand in some blocks, in the order of the alphabet."""
    text = "\n".join(_texts(as_data(blocks)))
    known = {**WORDS, **_VERDICTS}
    used = [word for word in known if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text)]
    rows = tuple((word, known[word]) for word in sorted(used, key=str.lower))
    return [Heading("The words used", name="words"), Facts(rows)] if rows else []


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for name, each in value.items():
            if name not in _SILENT:
                yield from _texts(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from _texts(each)
