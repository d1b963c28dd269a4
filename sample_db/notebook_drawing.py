"""A drawing of an object, as SVG, from the few words with which a notebook describes its view.

drawing D1 tram-left | Left side elevation (invented) | 10 mm | 460 × 300
  head Horse tram body no. 9, left side (invented)
  body 10,34 440,34 440,46 10,46        a filled outline: body, panel, top, metal or glass
  open 326,270 370,312 400,226          a closed outline without fill
  line 20,190 430,190                   a stroke
  ring 370,270 44 | disc 77,98 5 glass  a circle, bare or filled
  wheel 370,270 44 10                   tyre, felloe, hub and ten spokes
  scale 20,282 100                      a bar of 100 units
  says 150,286                          where “invented” stands
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from html import escape

from notebook_cells import NotebookFault

FILLS = {"body": "#e6e2da", "panel": "#f4f2ee", "top": "#efece6", "metal": "#d8d4cc", "glass": "#ffffff"}
INVENTED = "Invented demonstration drawing. No such object exists."


@dataclass
class View:
    """One drawing while its lines are read."""

    width: str
    height: str
    mm_per_unit: str
    head: str = ""
    says: tuple[str, str] = ("8", "0")
    shapes: list[str] = field(default_factory=list)

    def add(self, line: str) -> None:
        """Read one line of the description.

        :raises NotebookFault: for a shape that is not known.
        """
        word, _, rest = line.partition(" ")
        rest = rest.strip()
        if word == "head":
            self.head = rest
        elif word == "says":
            x, y = rest.split(",")
            self.says = (x, y)
        elif word in FILLS:
            self.shapes.append(f'<polygon points="{rest}" fill="{FILLS[word]}"/>')
        elif word == "open":
            self.shapes.append(f'<polygon points="{rest}" fill="none"/>')
        elif word == "line":
            self.shapes.append(f'<polyline points="{rest}"/>')
        elif word in ("ring", "disc"):
            centre, radius, *fill = rest.split()
            self._circle(centre, radius, FILLS[fill[0]] if fill else "none")
        elif word == "wheel":
            self._wheel(*rest.split())
        elif word == "scale":
            self._scale(*rest.split())
        else:
            raise NotebookFault(
                f"{word!r} is no shape; known are {', '.join(FILLS)}, open, line, ring, disc, wheel, "
                "scale, says and head"
            )

    def svg(self) -> str:
        """The drawing, with its title, its scale and the words that say that it is invented."""
        inner = "\n".join(self.shapes)
        scale = f"1 drawing unit is {self.mm_per_unit} mm" if self.mm_per_unit else "not to scale"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" '
            f'width="{self.width}" height="{self.height}">\n'
            f"<title>{escape(self.head, quote=False)}</title>\n"
            f"<desc>{scale}</desc>\n"
            '<g fill="none" stroke="#333" stroke-width="1.2" stroke-linejoin="round">\n'
            f"{inner}\n</g>\n"
            f'<text x="{self.says[0]}" y="{self.says[1]}" font-size="9" font-family="sans-serif" fill="#444">'
            f"{INVENTED}</text>\n</svg>\n"
        )

    def _circle(self, centre: str, radius: str, fill: str) -> None:
        x, y = centre.split(",")
        self.shapes.append(f'<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}"/>')

    def _wheel(self, centre: str, radius: str, spokes: str) -> None:
        x, y = (float(part) for part in centre.split(","))
        r = float(radius)
        hub, felloe = round(0.16 * r, 2), round(0.88 * r, 2)
        for size, fill in ((radius, "none"), (f"{felloe:g}", "none"), (f"{hub:g}", FILLS["body"])):
            self._circle(centre, size, fill)
        for number in range(int(spokes)):
            angle = 2 * math.pi * number / int(spokes)
            ends = " ".join(
                f"{x + size * math.cos(angle):.1f},{y + size * math.sin(angle):.1f}" for size in (0.16 * r, 0.88 * r)
            )
            self.shapes.append(f'<polyline points="{ends}"/>')

    def _scale(self, start: str, length: str) -> None:
        x, y = (int(part) for part in start.split(","))
        end = x + int(length)
        self.shapes.append(f'<polyline points="{x},{y} {end},{y}"/>')
        self.shapes += [f'<polyline points="{at},{y - 3} {at},{y + 3}"/>' for at in (x, end)]


def area_m2(outline: str, mm_per_unit: float) -> float:
    """The area of a closed outline in drawing units, in m² (the surveyor's shoelace rule)."""
    corners = [tuple(float(part) for part in pair.split(",")) for pair in outline.split()]
    twice = sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True))
    return abs(twice) / 2 * (mm_per_unit / 1000) ** 2
