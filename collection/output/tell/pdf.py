"""Plain data through a template to a PDF that is archivable and accessible at once: PDF/A-2a and PDF/UA-1.

The same data give the same bytes: fonts, time and texts come with the data, and none of the machine's. A character that
the font does not have is written as its code point, `[U+4E2D]`; the standards forbid to print an empty box for it.
"""

from __future__ import annotations

import base64
import datetime
import io
import json
import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from collection.language.errors import CouldNot
from collection.output.drawings.text import TYPE, unlinked

FACES = ("Regular", "Bold")
"""No italics: theirs are of Latin letters alone."""
EXTRA = "reports and tags need the extra `report`, which is not installed. Install it with: pip install 'firstcoat[report]'."
PIXELS = 1400
"""The longest side of a picture on paper: some 220 dots per inch over the width of a page."""
_PICTURE = re.compile(r'(href=")@picture/([^"]+)(")')


def can_print() -> bool:
    """Whether the extra `report` is installed."""
    try:
        import font_source_sans_pro
        import fontTools
        import typst
    except ImportError:
        return False
    return all((font_source_sans_pro, fontTools, typst))


def need_press() -> None:
    """Asked before the work begins.

    :raises CouldNot: where the extra is not installed.
    """
    if not can_print():
        raise CouldNot(f"Nothing was written: {EXTRA}")


def pdf(template: str, told: Mapping[str, Any], *, day: str, pictures: Path | None = None) -> bytes:
    """One document.

    :param template: the name of a Typst file of this package, such as `report/report.typ`, which reads `told`.
    :param told: JSON data; each `picture` in it names a file of `pictures`, each `svg` is a figure of `output/drawings`.
    :param day: YYYY-MM-DD, which the file gives as its date; empty where no day is known.
    :raises CouldNot: where the extra is not installed.
    """
    need_press()
    return _press().printed(template, told, day or "1970-01-01", pictures)


class _Press:
    """Typst with our fonts and templates in a folder of its own, which goes with the process."""

    def __init__(self) -> None:
        import font_source_sans_pro
        import typst
        from fontTools.ttLib import TTFont

        self._folder = TemporaryDirectory(prefix="firstcoat-", ignore_cleanup_errors=True)
        self.root = Path(self._folder.name)
        fonts = self.root / "fonts"
        fonts.mkdir()
        kept = Path(font_source_sans_pro.font_directory)
        known = []
        for face in FACES:
            path = fonts / f"{face}.ttf"
            path.write_bytes((kept / f"SourceSansPro-{face}.ttf").read_bytes())
            with TTFont(path) as font:
                known.append(set(font.getBestCmap()))
        # Signs for private use mean nothing to a reader, and what steers the text is not seen.
        self.known = frozenset(
            each for each in set.intersection(*known) if unicodedata.category(chr(each)) not in ("Co", "Cc", "Cf")
        )
        output = files("collection.output")
        for name in ("tell/blocks.typ", "report/report.typ", "tag/tag.typ"):
            source = output.joinpath(*name.split("/"))
            if source.is_file():
                (self.root / name.rpartition("/")[2]).write_bytes(source.read_bytes())
        self._pictures = self.root / "pictures"
        self._fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(fonts)])

    def printed(self, template: str, told: Mapping[str, Any], day: str, pictures: Path | None) -> bytes:
        import typst

        with TemporaryDirectory(dir=self.root) as folder:
            place = Path(folder)
            data = self._ready(told, pictures, place)
            compiler = typst.Compiler(
                input=str(self.root / template.rpartition("/")[2]), root=str(self.root), font_paths=self._fonts
            )
            made = compiler.compile(
                format="pdf",
                pdf_standards=["a-2a", "ua-1"],
                sys_inputs={"told": json.dumps(data, ensure_ascii=False), "day": day},
                timestamp=datetime.datetime.fromisoformat(f"{day}T00:00:00+00:00"),
            )
        assert isinstance(made, bytes)
        return made

    def _ready(self, value: Any, pictures: Path | None, place: Path) -> Any:
        """Data as the template takes it: only characters that can be printed, figures and pictures put in."""
        if isinstance(value, str):
            return printable(value, self.known)
        if isinstance(value, Mapping):
            made = {name: self._ready(each, pictures, place) for name, each in value.items()}
            if made.get("svg"):
                made["svg"] = self._figure(value["svg"], pictures)
            if made.get("picture"):
                made["picture"] = self._put(value["picture"], pictures, place)
            return made
        if isinstance(value, (list, tuple)):
            return [self._ready(each, pictures, place) for each in value]
        return value

    def _figure(self, svg: str, pictures: Path | None) -> str:
        """A figure that stands alone: without links, its pictures inside, in our font."""
        svg = unlinked(svg).replace(TYPE, 'font-family="Source Sans Pro"')
        return _PICTURE.sub(
            lambda found: f"{found[1]}{_inside(found[2], pictures, self.known)}{found[3]}", printable(svg, self.known)
        )

    def _put(self, name: str, pictures: Path | None, place: Path) -> str:
        path = place / f"{Path(name).stem}.jpg"
        path.write_bytes(_small(name, pictures))
        return path.relative_to(self.root).as_posix()


@cache
def _press() -> _Press:
    return _Press()


def printable(text: str, known: frozenset[int]) -> str:
    """A text with each character that cannot be printed as its code point.

    :param known: the code points that can be.
    """
    return text if text.isascii() and text.isprintable() else _unknown(known).sub(_code_point, text)


@cache
def _unknown(known: frozenset[int]) -> re.Pattern[str]:
    return re.compile(f"[^\n\t{re.escape(''.join(map(chr, sorted(known))))}]")


def _code_point(found: re.Match[str]) -> str:
    return f"[U+{ord(found[0]):04X}]"


def _small(name: str, pictures: Path | None) -> bytes:
    """A picture in the size of paper, in the colours of screens, which go into a PDF as they are."""
    from PIL import Image, ImageOps

    assert pictures is not None
    with Image.open(pictures / name) as opened:
        opened.load()
        image = ImageOps.exif_transpose(opened)
    if image.has_transparency_data:
        image = image.convert("RGBA")
        image = Image.alpha_composite(Image.new("RGBA", image.size, "white"), image)
    image = image.convert("RGB")
    image.thumbnail((PIXELS, PIXELS))
    made = io.BytesIO()
    image.save(made, "JPEG", quality=88, subsampling=0)
    return made.getvalue()


def _inside(name: str, pictures: Path | None, known: frozenset[int]) -> str:
    """A picture as an address that holds it."""
    assert pictures is not None
    if name.endswith(".svg"):
        kind, content = "svg+xml", printable((pictures / name).read_text("utf-8"), known).encode()
    else:
        kind, content = "jpeg", _small(name, pictures)
    return f"data:image/{kind};base64,{base64.b64encode(content).decode()}"
