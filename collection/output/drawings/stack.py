"""A sample's build-up as a drawing: every coat in order and to scale, with its label beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collection.output.drawings.colours import shown_colour

Json = dict[str, Any]

LOWEST, THINNEST, UNMEASURED, SUPPORT, LINE = 200.0, 2.0, 15.0, 22.0, 15.0
TOP = 12.0
LONGEST_LABEL = 34
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


@dataclass(frozen=True)
class Band:
    """One coat as drawn; `y` and `height` in drawing units. `kind` is measured, word, unknown or support."""

    y: float
    height: float
    label_y: float
    label: str
    fill: str | None
    kind: str
    to_scale: bool


@dataclass(frozen=True)
class Drawing:
    """A stack. `scale_um` of coat are drawn `scale_height` high; 0 where no coat was measured."""

    bands: tuple[Band, ...]
    height: float
    scale_um: int
    scale_height: float
    stretched: bool
    left_out: int

    @property
    def leaders(self) -> str:
        """The lines from each coat to its label, as one path."""
        return "".join(f"M127 {band.y + band.height / 2:.1f}H136L145 {band.label_y - 4:.1f}" for band in self.bands)


def drawing(layers: list[Json]) -> Drawing:
    """The drawing of a sample's coats, outermost first. Coats looked for and not found take no room."""
    standing = [layer for layer in layers if layer.get("coverage") != "absent" and layer.get("coverage_pct") != 0]
    measured = [layer["thickness_um"] for layer in standing if layer["role"] != "support" and layer.get("thickness_um")]
    # As high as the labels beside it need, so that each stands near its coat.
    room = max(LOWEST, LINE * len(measured))
    per_um = room / max(sum(measured), 1e-9) if measured else 0.0
    stretched = any(um * per_um < THINNEST for um in measured)
    bands: list[Band] = []
    y, label_y = TOP, TOP
    for layer in standing:
        thickness = layer.get("thickness_um")
        if layer["role"] == "support":
            height, kind, to_scale, fill = SUPPORT, "support", False, None
        else:
            to_scale = bool(thickness)
            height = max(THINNEST, thickness * per_um) if thickness else UNMEASURED
            found = shown_colour(_lab(layer), layer.get("colour"))
            fill, kind = found or (None, "unknown")
        label_y = max(y + min(height, LINE) / 2 + 4, label_y + (LINE if bands else 0))
        bands.append(Band(round(y, 1), round(height, 1), round(label_y, 1), label(layer), fill, kind, to_scale))
        y += height
    scale = max((step for step in _STEPS if step * per_um <= room / 3), default=0) if measured else 0
    return Drawing(
        tuple(bands),
        round(max(y, label_y) + 14, 1),
        scale,
        round(scale * per_um, 2),
        stretched,
        len(layers) - len(standing),
    )


def label(layer: Json) -> str:
    """A coat in a few words: its place in the order, its colour, what it is."""
    text = f"{layer['position']}  " + ", ".join(part for part in (layer.get("colour"), layer["role"]) if part)
    return text if len(text) <= LONGEST_LABEL else text[: LONGEST_LABEL - 1].rstrip(" ,") + "…"


def _lab(layer: Json) -> tuple[float, float, float] | None:
    values = tuple(layer.get(name) for name in ("lab_l", "lab_a", "lab_b"))
    return None if None in values else values  # type: ignore[return-value]
