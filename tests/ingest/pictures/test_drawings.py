"""SVG drawings: what a vector editor writes passes, what runs, loads, multiplies or hides is named by its line.

The attacks are the published ones: the "billion laughs" (CAPEC-197), quadratic blow-up (CAPEC-491), external and
parameter entities (CWE-611, CWE-827), and the places from which SVG 2 runs scripts or loads files. From memory.
"""

from __future__ import annotations

import base64
import struct
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.ingest.pictures import drawings
from collection.ingest.pictures.drawings import look_at
from collection.ingest.pictures.image_files import NotAPicture
from collection.output.published import images

SVG = 'xmlns="http://www.w3.org/2000/svg"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
PNG = b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sIIBBBBB", 13, b"IHDR", 10, 10, 8, 2, 0, 0, 0) + bytes(8)


def embedded(content: bytes, kind: str = "png") -> str:
    return f"data:image/{kind};base64," + base64.b64encode(content).decode()


def svg(inside: str, root: str = "") -> str:
    """A drawing whose second line is what is tried."""
    return f'<svg {SVG} {XLINK} viewBox="0 0 10 10" {root}>\n{inside}\n</svg>'


LAUGHS = (
    '<!DOCTYPE svg [\n<!ENTITY a0 "ha">\n'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">\n' for n in range(1, 10))
    + f"]>\n<svg {SVG}><text>&a9;</text></svg>"
)
BLOWN_UP = f'<!DOCTYPE svg [<!ENTITY a "{"x" * 50_000}">]><svg {SVG}><text>{"&a;" * 50_000}</text></svg>'
COPIES = svg(
    '<defs><g id="c0"><path d="M0 0"/></g>'
    + "".join(f'<g id="c{n}">' + f'<use href="#c{n - 1}"/>' * 10 + "</g>" for n in range(1, 10))
    + '</defs><use href="#c9"/>'
)

DOCUMENT_TYPES = {
    "entities that multiply": LAUGHS,
    "one long entity many times": BLOWN_UP,
    "an entity that reads a file": f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg {SVG}><text>&x;'
    "</text></svg>",
    "an entity that asks a host": f'<!DOCTYPE svg [<!ENTITY x SYSTEM "http://127.0.0.1:9/x">]><svg {SVG}>&x;</svg>',
    "a parameter entity": f'<!DOCTYPE svg [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]><svg {SVG}/>',
    "a document type elsewhere": f'<!DOCTYPE svg SYSTEM "http://127.0.0.1:9/svg.dtd"><svg {SVG}/>',
    "the public document type": '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
    f'"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg {SVG}/>',
    "an attribute given by default": f'<!DOCTYPE svg [<!ATTLIST svg onload CDATA "alert(1)">]><svg {SVG}/>',
}


@pytest.mark.parametrize("text", DOCUMENT_TYPES.values(), ids=DOCUMENT_TYPES)
def test_a_document_type_ends_the_reading(text: str) -> None:
    """Whatever is declared in it, nothing of it is read, and the sentence says what to delete."""
    began = time.monotonic()
    seen = look_at(text.encode())
    assert time.monotonic() - began < 60
    assert len(seen.faults) == 1
    assert seen.faults[0].startswith("Line 1: the file declares a document type")
    assert "Delete that declaration" in seen.faults[0]
    assert seen.is_svg


HTML = 'xmlns:h="http://www.w3.org/1999/xhtml"'
ACTIVE = {
    "script": ("<script>alert(1)</script>", "<script> is a script"),
    "script in CDATA": ("<script><![CDATA[alert(1)]]></script>", "<script> is a script"),
    "script elsewhere": ('<script href="//127.0.0.1/x.js"/>', "<script> is a script"),
    "script by another prefix": ('<x:script xmlns:x="http://www.w3.org/2000/svg"/>', "<script> is a script"),
    "script of a web page": (f"<h:script {HTML}>alert(1)</h:script>", "<script> is a script"),
    "script in no name space": ('<script xmlns="">alert(1)</script>', "<script> is a script"),
    "script in capitals": ("<SCRIPT>alert(1)</SCRIPT>", "<script> is a script"),
    "a listener": ('<e:listener xmlns:e="http://www.w3.org/2001/xml-events" event="load"/>', "<listener> is a script"),
    "a handler": ('<handler type="text/ecmascript">alert(1)</handler>', "<handler> is a script"),
    "onload": ('<g onload="alert(1)"/>', "onload is a script"),
    "onclick in capitals": ('<g ONCLICK="alert(1)"/>', "onclick is a script"),
    "onbegin": ('<g onbegin="alert(1)"/>', "onbegin is a script"),
    "javascript": ('<a xlink:href="javascript:alert(1)"/>', "href is a script"),
    "javascript spelt apart": ('<a href="java&#10;scr&#9;ipt:alert(1)"/>', "href is a script"),
    "javascript behind blanks": ('<a href=" &#1;javascript:alert(1)"/>', "not valid XML"),
    "javascript behind an unseen blank": ('<a href="&#xA0;JavaScript:alert(1)"/>', "href is a script"),
    "a drawing in a reference": ('<use href="data:image/svg+xml;base64,PHN2Zy8+#x"/>', "not a PNG, JPEG"),
    "a page in a reference": ('<a href="data:text/html,&lt;script>alert(1)&lt;/script>"/>', "not a PNG, JPEG"),
    "a page under a picture's name": (f'<image href="{embedded(b"<html/>")}"/>', "under the name of a picture"),
    "an embedded picture of absurd size": (
        f'<image href="{embedded(PNG[:16] + struct.pack(">II", 900_000, 900_000))}"/>',
        "900000 × 900000",
    ),
    "an embedded picture that is none": ('<image href="data:image/png;base64,%%%%"/>', "cannot be read"),
    "foreignObject": (f"<foreignObject><h:body {HTML}/></foreignObject>", "<foreignobject> puts a part of a web page"),
    "an iframe": (f'<h:iframe {HTML} src="//127.0.0.1"/>', "<iframe> puts a part of a web page"),
    "a picture elsewhere": ('<image href="http://127.0.0.1/x.png"/>', "'http://127.0.0.1/x.png'"),
    "a picture of the same folder": ('<image xlink:href="photo.jpg"/>', "points out of the file ('photo.jpg')"),
    "a file": ('<use href="file:///etc/passwd#x"/>', "points out of the file"),
    "another drawing": ('<use href="other.svg#x"/>', "points out of the file"),
    "a host without its scheme": ('<image href="//127.0.0.1/x"/>', "points out of the file"),
    "a base": ('<g xml:base="http://127.0.0.1/"><use href="#x"/></g>', "xml:base"),
    "a link by hand": ('<a href="https://127.0.0.1/"><path d="M0 0"/></a>', "points out of the file"),
    "a fill elsewhere": ('<rect fill="url(http://127.0.0.1/#p)"/>', "fill loads another file"),
    "a fill elsewhere, quoted": ("<rect fill=\"url( 'x.svg#p')\"/>", "fill loads another file"),
    "a second address": ('<rect fill="url(#a) url(//127.0.0.1/p)"/>', "fill loads another file"),
    "an address in escapes": (r'<rect style="fill:u\72 l(//127.0.0.1/p)"/>', "style loads another file"),
    "a filter elsewhere": ('<rect style="filter:URL(x.svg#f)"/>', "style loads another file"),
    "an import": ("<style>@import 'x.css';</style>", "loads another file"),
    "an import in CDATA": ("<style><![CDATA[@im\\70ort '//127.0.0.1';]]></style>", "loads another file"),
    "a font elsewhere": ("<style>@font-face{src:url(//127.0.0.1/f)}</style>", "loads another file"),
    "a choice of pictures": ("<style>g{mask:image-set('//127.0.0.1/f' 1x)}</style>", "loads another file"),
    "an old binding": ("<style>g{-moz-binding:url(#x)}</style>", "is a script"),
    "an old expression": ('<g style="width:expression(alert(1))"/>', "style is a script"),
    "movement": ('<animate attributeName="href" to="javascript:alert(1)"/>', "<animate> makes the drawing move"),
    "a value set later": ('<set attributeName="onclick" to="alert(1)"/>', "<set> makes the drawing move"),
    "a style sheet by instruction": ('<?xml-stylesheet href="x.css"?>', "<?xml-stylesheet …?> loads another file"),
}


@pytest.mark.parametrize(("inside", "said"), ACTIVE.values(), ids=ACTIVE)
def test_what_runs_or_leads_out_is_named_with_its_line(inside: str, said: str) -> None:
    """One sentence says what it is and where, and what to do about it."""
    faults = look_at(svg(inside).encode()).faults
    assert faults
    assert said in faults[0]
    assert faults[0].startswith("Line 2: ")
    assert "plain SVG" in faults[0]


def test_an_instruction_before_the_drawing_is_found() -> None:
    """A style sheet is usually asked for before the root."""
    text = '<?xml version="1.0"?><?xml-stylesheet href="a.css"?>' + svg("")
    assert "xml-stylesheet" in look_at(text.encode()).faults[0]


def test_copies_that_multiply_and_circles_of_copies_are_named() -> None:
    """Ten copies of ten copies, and so on, multiply as entities do; nothing of it is drawn to find out."""
    began = time.monotonic()
    assert "over 200,000 elements" in look_at(COPIES.encode()).faults[0]
    assert "circle" in look_at(svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>').encode()).faults[0]
    assert "circle" in look_at(svg('<g id="a"><use href="#a"/></g>').encode()).faults[0]
    assert time.monotonic() - began < 60


WRONG_BYTES = {
    "UTF-16": (svg("").encode("utf-16"), "UTF-16"),
    "UTF-16 without a mark": (svg("").encode("utf-16-le"), "UTF-16"),
    "UTF-32": (svg("").encode("utf-32"), "UTF-32"),
    "Latin-1": (svg("<title>Größe</title>").encode("latin-1"), "Line 2: this is not written in UTF-8"),
    "declared otherwise": (b'<?xml version="1.0" encoding="utf-7"?>' + svg("+ADw-script+AD4-").encode(), "'utf-7'"),
    "declared in an old way": (b'<?xml version="1.0" encoding="ISO-8859-1"?>' + svg("").encode(), "'ISO-8859-1'"),
    "cut off": (svg("<g>").encode()[:-3], "is not valid XML"),
    "nothing": (b"", "is not valid XML"),
    "an entity that nobody declared": (svg("&nbsp;").encode(), "is not valid XML"),
    "a NUL": (svg("<g/>\x00").encode(), "is not valid XML"),
    "too deep": (svg("<g>" * 5_000 + "</g>" * 5_000).encode(), "deep in each other"),
    "too many elements": (svg("<g/>" * 300_000).encode(), "over 200,000 elements"),
}


@pytest.mark.parametrize(("content", "said"), WRONG_BYTES.values(), ids=WRONG_BYTES)
def test_bytes_that_are_no_plain_drawing_are_named(content: bytes, said: str) -> None:
    """Encodings, cuts and depths: a sentence that says how to mend it."""
    faults = look_at(content).faults
    assert len(faults) == 1
    assert said in faults[0]
    assert any(word in faults[0] for word in ("Save", "save", "export"))


def test_another_kind_of_xml_is_told_apart() -> None:
    """A web page is no drawing, whether or not it is well formed behind its first element."""
    for text in (
        "<html><br></html>",
        "<!DOCTYPE html><html/>",
        "<x xmlns='http://www.w3.org/2000/svg'/>",
        "<svg xmlns='http://127.0.0.1/other'/>",
    ):
        assert not look_at(text.encode()).is_svg
        assert look_at(text.encode()).faults == ()


EDITORS = f"""<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!-- Drawn by hand -->
<?xpacket begin="x" id="y"?>
<svg:svg width="210mm" height="297mm" viewBox="0 0 210 297" version="1.1" id="svg1" xml:space="preserve"
   xmlns:ed="http://editor.invalid/dtd" ed:version="1.2 (x)" ed:docname="tram.svg" ed:export-filename="/home/x/tram.png"
   {XLINK} xmlns="http://www.w3.org/2000/svg" xmlns:svg="http://www.w3.org/2000/svg"
   xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:cc="http://creativecommons.org/ns#"
   xmlns:dc="http://purl.org/dc/elements/1.1/">
  <ed:namedview id="view" ed:zoom="1.5" ed:grid="(none)"><ed:grid type="xygrid"/></ed:namedview>
  <metadata id="m"><rdf:RDF><cc:Work rdf:about=""><dc:format>image/svg+xml</dc:format>
    <dc:type rdf:resource="http://purl.org/dc/dcmitype/StillImage"/></cc:Work></rdf:RDF></metadata>
  <defs><linearGradient id="a"><stop offset="0" style="stop-color:#fff;stop-opacity:1"/></linearGradient>
    <linearGradient id="b" xlink:href="#a"/><clipPath id="c"><path d="M0 0h9v9z"/></clipPath>
    <style type="text/css"><![CDATA[ .z1 {{ fill: url(#b); stroke: #333 }} /* online: on */ ]]></style></defs>
  <g id="layer1" ed:groupmode="layer" ed:label="Layer (1)" clip-path="url(#c)" transform="matrix(1 0 0 1 0 0)">
    <path class="z1" style="fill:url('#b');font-family:'Some Font'" d="m 1,1 c 2,2 3,3 4,4 z"/>
    <image width="9" height="9" xlink:href="{embedded(PNG)}"/>
    <use xlink:href="#layer2" x="3"/>
    <text x="1" y="2"><tspan><![CDATA[<script> is only a word & no element]]></tspan></text>
  </g>
  <g id="layer2"><title>Größe, 漆</title></g>
</svg:svg>"""


def test_what_vector_editors_write_passes() -> None:
    """Metadata, name spaces of an editor's own, style sheets, gradients, embedded photographs and copies."""
    seen = look_at(EDITORS.encode())
    assert seen.faults == ()
    assert seen.is_svg
    assert seen.box == (0, 0, 210, 297)


@pytest.mark.parametrize(
    ("root", "box"),
    [
        ('viewBox="0 0 460 300"', (0, 0, 460, 300)),
        ('viewBox="-5,-5.5 1e2,20"', (-5, -5.5, 100, 20)),
        ('width="460" height="300px"', (0, 0, 460, 300)),
        ('width="46mm" height="30mm"', None),
        ("", None),
        ('viewBox="0 0 0 0"', None),
        ('viewBox="0 0 nan 1"', None),
        ('viewBox="1 2 3"', None),
        ('viewBox="0 0 1e999 1"', None),
        (f'viewBox="0 0 {"1" * 200_000} x"', None),
    ],
)
def test_the_box_in_drawing_units(root: str, box: tuple[float, ...] | None) -> None:
    """The viewBox, else the size in pixels; anything else says nothing of where outlines lie."""
    seen = look_at(f"<svg {SVG} {root}/>".encode())
    assert (seen.box, seen.faults) == (box, ())


def test_many_faults_are_cut_short() -> None:
    """A drawing with a thousand scripts is told with ten of them."""
    faults = look_at(svg("<script/>\n" * 1000).encode()).faults
    assert len(faults) == drawings.MOST_TOLD + 1
    assert "more of this kind" in faults[-1]


def test_what_comes_in_can_be_shown() -> None:
    """The intake takes no drawing that the published pages would refuse, but for its size, and that it says."""
    assert images.cleaned(EDITORS.encode())[0] == "svg"


SLOW = ("url(" * 200_000, "\\" * 500_000, "/*" * 300_000, "image" + " " * 500_000, "@" * 500_000, "data:" * 150_000)


@pytest.mark.parametrize("text", SLOW, ids=[text[:5] for text in SLOW])
def test_no_text_makes_the_look_slow(text: str) -> None:
    """A megabyte of what the patterns look for takes no time that grows with its square (hours, where it did)."""
    began = time.monotonic()
    look_at(svg(f"<style>{text}</style>").encode())
    look_at(svg(f'<g href="{text}" style="{text}"/>').encode())
    assert time.monotonic() - began < 60


FRAGMENTS = st.sampled_from(
    [
        "<script>",
        "</script>",
        "<svg",
        ">",
        "/>",
        "<g ",
        "</g>",
        "onload=",
        '"x"',
        "<![CDATA[",
        "]]>",
        "<!--",
        "-->",
        "<?",
        "?>",
        "<!DOCTYPE svg [",
        "<!ENTITY a ",
        "&a;",
        "&#x0;",
        "&#10;",
        "href=",
        '"javascript:1"',
        "<style>",
        "url(",
        "\\75",
        "<use ",
        'id="a" ',
        'href="#a"',
        "\x00",
        "é",
        "\ufeff",
        "</svg>",
        'xmlns:x="http://www.w3.org/2000/svg" ',
        "<x:script/>",
    ]
)


@given(st.lists(FRAGMENTS, max_size=25))
def test_pieces_of_xml_in_any_order_give_sentences(pieces: list[str]) -> None:
    """No order of pieces raises; and no script that could be read passes."""
    text = svg("".join(pieces))
    seen = look_at(text.encode())
    assert all(fault[-1] == "." for fault in seen.faults)
    if not seen.faults and seen.is_svg:
        try:
            shown = images.cleaned(text.encode())[1]
        except NotAPicture:
            return
        assert b"<script" not in shown


@given(content=st.binary(max_size=200), at=st.integers(0, 2000), drop=st.integers(0, 20))
def test_any_bytes_give_sentences(content: bytes, at: int, drop: int) -> None:
    """A drawing with bytes put in and dropped is looked at without an error of ours."""
    good = EDITORS.encode()
    for tried in (content, good[:at] + content[:4] + good[at + drop :]):
        assert all(fault[-1] in "." for fault in look_at(tried).faults)
