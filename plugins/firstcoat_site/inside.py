"""One page inside another: its headings a step lower, and its marks told from those of its neighbours."""

from __future__ import annotations

import re

TAG = re.compile(r"""<[A-Za-z](?:[^<>"']|"[^"]*"|'[^']*')*>""")
"""A start tag. In texts `<` is always escaped, so nothing else looks like one."""
HEADING = re.compile(r"(</?h)([1-5])(?=[ >])")
ATTRIBUTE = re.compile(r"""(?<=\s)(id|name|for|href|list|aria-[a-z]+|[a-z-]+)=(["'])(.*?)\2""", re.DOTALL)
LISTS = ("aria-labelledby", "aria-describedby", "aria-controls")
_PAINT = re.compile(r"url\(#([^)]+)\)")


def inside(html: str, mark: str) -> str:
    """The content of a page as a part of another: `h1` becomes `h2` and so on, and every id that it holds begins with `mark`.

    What it refers to and does not hold, such as the patterns of every page, keeps its name.
    """
    known = {
        found[3] for tag in TAG.finditer(html) for found in ATTRIBUTE.finditer(tag[0]) if found[1] in ("id", "name")
    }

    def own(name: str) -> str:
        return f"{mark}.{name}" if name in known else name

    def attribute(found: re.Match[str]) -> str:
        name, sign, value = found.groups()
        if name in ("id", "for", "name", "list"):
            value = own(value)
        elif name in LISTS:
            value = " ".join(own(word) for word in value.split())
        elif name == "href" and value.startswith("#"):
            value = f"#{own(value[1:])}"
        else:
            value = _PAINT.sub(lambda each: f"url(#{own(each[1])})", value)
        return f"{name}={sign}{value}{sign}"

    lower = HEADING.sub(lambda found: f"{found[1]}{int(found[2]) + 1}", html)
    return TAG.sub(lambda tag: ATTRIBUTE.sub(attribute, tag[0]), lower)
