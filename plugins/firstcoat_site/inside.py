"""One page inside another: its headings a step lower, and its marks told from those of its neighbours."""

from __future__ import annotations

import re
from html import escape

TAG = re.compile(r"""<[A-Za-z](?:[^<>"']|"[^"]*"|'[^']*')*>""")
"""A start tag. In texts `<` is always escaped, so nothing else looks like one."""
HEADING = re.compile(r"(</?h)([1-5])(?=[ >])")
ATTRIBUTE = re.compile(r"""(?<=\s)(id|name|for|href|list|aria-[a-z]+|[a-z-]+)=(["'])(.*?)\2""", re.DOTALL)
LISTS = ("aria-labelledby", "aria-describedby", "aria-controls")
_PAINT = re.compile(r"url\(#([^)]+)\)")


def inside(html: str, mark: str, name: str) -> str:
    """The content of a page as a part of another: `h1` becomes `h2` and so on, and every id that it holds begins with `mark`.

    What it refers to and does not hold, such as the patterns of every page, keeps its name. Its heading is `mark.title`, and
    every region in it is called by that heading or by `name` as well, so that no two of a page are called alike.
    """
    title = f"{mark}.title"
    known = {
        found[3] for tag in TAG.finditer(html) for found in ATTRIBUTE.finditer(tag[0]) if found[1] in ("id", "name")
    }

    def own(name: str) -> str:
        return f"{mark}.{name}" if name in known else name

    def marked(tag: re.Match[str]) -> str:
        is_region = tag[0].startswith("<section") or 'role="region"' in tag[0]

        def attribute(found: re.Match[str]) -> str:
            kind, sign, value = found.groups()
            if kind in ("id", "for", "name", "list"):
                value = own(value)
            elif kind in LISTS:
                value = " ".join([*([title] if is_region else []), *(own(word) for word in value.split())])
            elif kind == "aria-label" and is_region:
                value = f"{value}, {escape(name)}"
            elif kind == "href" and value.startswith("#"):
                value = f"#{own(value[1:])}"
            else:
                value = _PAINT.sub(lambda each: f"url(#{own(each[1])})", value)
            return f"{kind}={sign}{value}{sign}"

        return ATTRIBUTE.sub(attribute, tag[0])

    lower = HEADING.sub(lambda found: f"{found[1]}{int(found[2]) + 1}", html)
    return TAG.sub(marked, lower).replace("<h2", f'<h2 id="{title}"', 1)
