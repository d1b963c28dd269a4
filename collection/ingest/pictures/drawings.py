"""Checks SVG drawings when they come in: is there anything that runs, moves, or loads something from elsewhere?

The file is read by expat as a stream of elements; no tree is built and nothing is loaded. A document type ends the
reading at once, before anything is declared in it: entities that multiply (CAPEC-197, the "billion laughs"; CAPEC-491,
quadratic blow-up) and entities that read files (CWE-611) need one. What runs or loads is told from SVG 2 (W3C
Candidate Recommendation, chapters 2.3 referencing, 5 structure, 15 scripting), CSS Values 4 (`url()`) and the public
guidance on XML input for web applications; all from memory.

Drawings as vector editors write them pass: metadata, elements and attributes in name spaces of their own, style
sheets inside the file, references to parts of the same file, and photographs embedded as PNG, JPEG, GIF or WebP.
"""

from __future__ import annotations

import base64
import binascii
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NoReturn
from xml.parsers import expat

from collection.ingest.pictures.image_files import absurd_size, picture_size

LARGEST_DRAWING = 10_000_000
LARGEST_SHOWN = 2_000_000
"""Bytes above which the published pages leave a drawing out."""
DEEPEST = 60
MOST_DRAWN = 200_000
"""Elements after every copy (`use`) is counted as what it copies; common practice, no published source."""
LONGEST_CHAIN = 20
MOST_TOLD = 10

REMEDY: Final = "Export the drawing as plain SVG without it."

Box = tuple[float, float, float, float]
"""x, y, width and height in drawing units."""

_SVG = "http://www.w3.org/2000/svg"
_HTML = "http://www.w3.org/1999/xhtml"
_EVENTS = "http://www.w3.org/2001/xml-events"
_XML = "http://www.w3.org/XML/1998/namespace"
_ACTIVE = frozenset({"script", "handler", "listener"})
_FOREIGN = frozenset({"foreignobject", "iframe", "embed", "object", "audio", "video", "canvas", "link", "meta", "base"})
_MOVING = frozenset({"animate", "animatecolor", "animatemotion", "animatetransform", "set", "discard"})
_TARGETS = frozenset({"href", "src"})
_ENCODINGS = frozenset({"utf-8", "utf8", "us-ascii", "ascii"})
_UNSEEN = re.compile(r"[\x00-\x20\x7f-\xa0\u200b-\u200f\u2028\u2029\ufeff]")
_EMBEDDED = re.compile(r"data:image/(?:png|jpeg|jpg|gif|webp)(?:;[\w=-]+)*,", re.I)
_ESCAPE = re.compile(r"\\(?:([0-9a-fA-F]{1,6})[ \t\r\n\f]?|(.))", re.S)
_URL = re.compile(r"url\(\s*[\"']?\s*(?=(.{0,40}))", re.I | re.S)
_LOADS = re.compile(r"@import|(?<![\w-])(?:-webkit-)?(?:image-set|image|src|cross-fade)\s*\(", re.I)
_RUNS = re.compile(r"expression\s*\(|javascript:|vbscript:|-moz-binding|(?<![\w-])behavior\s*:", re.I)
_WORDS = ("url(", "@import", "image", "src", "fade", "expression", "script:", "binding", "behavior")
"""Without one of these the patterns above find nothing, and most style sheets have none."""
_NUMBER = r"[+-]?(?:[0-9]{1,20}(?:\.[0-9]{0,20})?|\.[0-9]{1,20})(?:[eE][+-]?[0-9]{1,3})?"
_LENGTH = re.compile(rf"({_NUMBER})(?:px)?")


@dataclass(frozen=True, slots=True)
class Drawing:
    """What was found in a file: sentences about what is refused, and the box that the drawing fills.

    `is_svg` is false where the file is some other XML, a web page for instance; `box` is None where the root
    gives no size in drawing units; `whole` is true where the file was read to its end, as sound XML of bounded depth
    that declares nothing.
    """

    is_svg: bool
    faults: tuple[str, ...]
    box: Box | None
    whole: bool


class _Stopped(Exception):
    """Stops the reading; the fault was added already."""


def look_at(content: bytes) -> Drawing:
    """One look at an SVG file that is at most `LARGEST_DRAWING` bytes long. Never raises for what is in it."""
    reader = _Reader()
    reader.read(content)
    return Drawing(reader.is_svg, tuple(reader.told), reader.box, reader.whole)


class _Reader:
    def __init__(self) -> None:
        self.told: list[str] = []
        self.is_svg = True
        self.whole = False
        self.box: Box | None = None
        self._kinds: set[tuple[int, str]] = set()
        self._depth = 0
        self._ids: list[tuple[int, str]] = [(0, "")]
        self._copies = _Copies()
        self._style: list[str] | None = None

    def read(self, content: bytes) -> None:
        refusal = _not_utf8(content)
        if refusal is not None:
            self.told.append(refusal)
            return
        # The encoding is given here, so that a declaration cannot make other characters of the same bytes. All
        # comes in one piece, because expat reads a long token again with every further one.
        self._parser = expat.ParserCreate("utf-8", "}")
        self._parser.buffer_text = True
        self._parser.XmlDeclHandler = self._declared
        self._parser.StartDoctypeDeclHandler = self._document_type
        self._parser.EntityDeclHandler = self._document_type
        self._parser.ExternalEntityRefHandler = self._document_type
        self._parser.ProcessingInstructionHandler = self._instruction
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._text
        try:
            self._parser.Parse(content, True)
            self.whole = True
            self._drawn()
        except _Stopped:
            pass
        except expat.ExpatError as error:
            self.told.append(
                f"Line {error.lineno}: the file is not valid XML "
                f"({expat.ErrorString(error.code)}). Open it in the program that drew it and save it "
                "again as plain SVG."
            )

    def _tell(self, what: str, remedy: str = REMEDY) -> None:
        line = self._parser.CurrentLineNumber
        if (line, what) in self._kinds or len(self.told) > MOST_TOLD:
            return
        self._kinds.add((line, what))
        more = len(self.told) == MOST_TOLD
        self.told.append(
            "There is more of this kind. Export the drawing as plain SVG." if more else f"Line {line}: {what}. {remedy}"
        )

    def _stop(self, what: str, remedy: str = REMEDY) -> NoReturn:
        self._tell(what, remedy)
        raise _Stopped

    def _declared(self, version: str, encoding: str | None, standalone: int) -> None:
        if encoding is not None and encoding.lower() not in _ENCODINGS:
            self._stop(f"the file says that it is written in {encoding[:40]!r}", "Save the drawing in UTF-8.")

    def _document_type(self, name: str, *_: object) -> NoReturn:
        if name.lower() == "html":
            self.is_svg = False
            raise _Stopped
        self._stop(
            "the file declares a document type (<!DOCTYPE …>), in which entities could be hidden",
            "Delete that declaration, or export the drawing as plain SVG.",
        )

    def _instruction(self, target: str, data: str) -> None:
        if target.lower().startswith("xml-") or "href" in data.lower():
            self._tell(f"the instruction <?{target[:40]} …?> loads another file")

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, tag = name.rpartition("}")
        if self._depth == 0 and (tag != "svg" or space not in ("", _SVG)):
            self.is_svg = False
            raise _Stopped
        if self._depth == 0:
            self.box = _box(attributes)
        self._depth += 1
        if self._copies.own() > MOST_DRAWN:
            self._stop(f"the drawing has over {MOST_DRAWN:,} elements", "Simplify its lines, and export it again.")
        if self._depth > DEEPEST:
            self._stop(
                f"elements lie more than {DEEPEST} deep in each other", "Ungroup the drawing, and export it again."
            )
        self._look_at_element(space, tag.lower())
        for attribute, value in attributes.items():
            self._look_at_attribute(attribute, value)
        if attributes.get("id"):
            self._ids.append((self._depth, attributes["id"]))
        self._copies.add([known for _, known in self._ids], _copied(space, tag, attributes))

    def _end(self, name: str) -> None:
        if self._style is not None and name.rpartition("}")[2].lower() == "style":
            for what in _style_faults("".join(self._style)):
                self._tell(f"the style sheet that ends here {what}")
            self._style = None
        if self._ids[-1][0] == self._depth:
            self._ids.pop()
        self._depth -= 1

    def _text(self, text: str) -> None:
        if self._style is not None:
            self._style.append(text)

    def _look_at_element(self, space: str, tag: str) -> None:
        ours = space in ("", _SVG, _HTML, _EVENTS)
        if tag == "script" or (ours and tag in _ACTIVE) or space == _EVENTS:
            self._tell(f"the element <{tag}> is a script or calls one")
        elif space == _HTML or (ours and tag in _FOREIGN):
            self._tell(f"the element <{tag[:40]}> puts a part of a web page into the drawing")
        elif ours and tag in _MOVING:
            self._tell(f"the element <{tag}> makes the drawing move, and can change what it points to")
        elif tag == "style" and self._style is None:
            self._style = []

    def _look_at_attribute(self, name: str, value: str) -> None:
        space, _, local = name.rpartition("}")
        local = local.lower()
        bare = _UNSEEN.sub("", value[:400]).lower()
        if re.fullmatch(r"on[a-z]+", local) or bare.startswith(("javascript:", "vbscript:")):
            self._tell(f"the attribute {local[:40]} is a script")
        elif space == _XML and local == "base":
            self._tell("the attribute xml:base makes every reference lead out of the file")
        elif local in _TARGETS:
            what = _target_fault(bare, value)
            if what is not None:
                self._tell(f"{local} {what}")
        elif local == "style" or "(" in value or "\\" in value:
            for what in _style_faults(value):
                self._tell(f"the attribute {local[:40]} {what}")

    def _drawn(self) -> None:
        what = self._copies.fault()
        if what is not None:
            self.told.append(f"{what} Export the drawing as plain SVG with copies turned into shapes.")


class _Copies:
    """How many elements are drawn with every `use` counted as what it copies; like entities this can multiply."""

    def __init__(self) -> None:
        self._own: dict[str, int] = {}
        self._uses: dict[str, list[str]] = {}
        self._sizes: dict[str, int] = {}

    def add(self, inside: list[str], copied: str | None) -> None:
        for known in inside:
            self._own[known] = self._own.get(known, 0) + 1
            if copied is not None:
                self._uses.setdefault(known, []).append(copied)

    def own(self) -> int:
        return self._own.get("", 0)

    def fault(self) -> str | None:
        try:
            drawn = self._size("", ())
        except RecursionError:
            return f"Copies (<use>) copy each other in a circle, or more than {LONGEST_CHAIN} deep."
        if drawn > MOST_DRAWN:
            return f"With all its copies (<use>) the drawing has over {MOST_DRAWN:,} elements."
        return None

    def _size(self, known: str, chain: tuple[str, ...]) -> int:
        if known in self._sizes:
            return self._sizes[known]
        if known in chain or len(chain) > LONGEST_CHAIN:
            raise RecursionError
        further = (*chain, known)
        size = self._own.get(known, 0) + sum(self._size(used, further) for used in self._uses.get(known, ()))
        self._sizes[known] = size
        return size


def _copied(space: str, tag: str, attributes: dict[str, str]) -> str | None:
    if space not in ("", _SVG) or tag != "use":
        return None
    for name, value in attributes.items():
        if name.rpartition("}")[2] == "href" and value.strip().startswith("#"):
            return value.strip()[1:]
    return None


def _target_fault(bare: str, value: str) -> str | None:
    """What is wrong with a reference; one to a part of the same file, or an embedded photograph, is fine."""
    if not bare or bare.startswith("#"):
        return None
    if not bare.startswith("data:"):
        return f"points out of the file ({value.strip()[:60]!r})"
    told = _EMBEDDED.match(value.strip())
    if told is None:
        return "holds a file that is not a PNG, JPEG, GIF or WebP"
    return _embedded_fault(value.strip()[told.end() :])


def _embedded_fault(coded: str) -> str | None:
    # The size stands near the start of a picture; 64 kB are past any that was met.
    start = re.sub(r"\s+", "", coded[:65_536])
    try:
        content = base64.b64decode(start[: len(start) // 4 * 4], validate=True)
    except (binascii.Error, ValueError):
        return "holds an embedded picture that cannot be read"
    try:
        size = picture_size(io.BytesIO(content))
    except ValueError:
        return "holds an embedded picture that is damaged"
    if size is None:
        return "holds something else under the name of a picture"
    absurd = absurd_size(size)
    return None if absurd is None else f"holds an embedded picture that says that it has {absurd}"


def _style_faults(text: str) -> Iterator[str]:
    """What a piece of CSS loads or runs, its escapes written out first."""
    plain = _ESCAPE.sub(_unescaped, text) if "\\" in text else text
    small = plain.lower()
    if not any(word in small for word in _WORDS):
        return
    if any(not _is_local(found[1]) for found in _URL.finditer(plain)) or _LOADS.search(plain):
        yield "loads another file"
    if _RUNS.search(plain):
        yield "is a script"


def _unescaped(found: re.Match[str]) -> str:
    if found[1] is None:
        return found[2] or ""
    number = int(found[1], 16)
    return chr(number) if 0 < number < 0x110000 and not 0xD800 <= number < 0xE000 else "\ufffd"


def _is_local(target: str) -> bool:
    return target.startswith("#") or _EMBEDDED.match(target) is not None


def _box(attributes: dict[str, str]) -> Box | None:
    view = attributes.get("viewBox")
    if view is not None:
        parts = view.replace(",", " ").split()
        numbers = [float(part) for part in parts if re.fullmatch(_NUMBER, part)]
        if len(numbers) != 4 or len(parts) != 4:
            return None
        box = (numbers[0], numbers[1], numbers[2], numbers[3])
    else:
        # Without a viewBox a drawing unit is a CSS pixel; sizes in other units say nothing of outlines.
        wide, high = (_LENGTH.fullmatch(attributes.get(side, "").strip()) for side in ("width", "height"))
        if wide is None or high is None:
            return None
        box = (0.0, 0.0, float(wide[1]), float(high[1]))
    return box if all(map(math.isfinite, box)) and box[2] > 0 and box[3] > 0 else None


def _not_utf8(content: bytes) -> str | None:
    how = "Save the drawing in UTF-8."
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in content[:4]:
        return f"The drawing is written in UTF-16 or UTF-32. {how}"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return f"Line {line}: this is not written in UTF-8. {how}"
    return None
