"""Draws the pictures of the invented sample survey from its own records.

Micrographs are built from the layers of their sample, photographs from the outlines, outermost coats,
decorations, windows and conditions of their place as they stood on the picture's day. So a picture shows
what the sheets say and nothing else. No picture shows a real thing; each says so in its corner.

    python sample_db/draw_pictures.py [FOLDER [FILE…]]

FOLDER holds survey packages, earliest first by name; without it, `harbour` beside this file. With FILEs, as
pictures.csv names them, only those are drawn. The colours
are approximate: Munsell is turned into Lab by rule of thumb (L* = 10 V, chroma 5 per step), good enough to
look at and no use for measuring.
"""

from __future__ import annotations

import math
import re
import sys
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from picture_marks import Image, Row, glow, glyph, noise, rgb, save, seeded, write
from survey_rows import SurveyRows

Points = list[tuple[float, float]]

WIDTH, HEIGHT = 240, 168
FOREIGN = ("dirt", "corrosion", "wax")
CLEAR = ("varnish", "glaze")
DRAWN_APART = ("lettering", "lining", "ornament", "transfer")
"""Coats that cover a line or a letter only: a photograph shows them as decorations, not as the ground's colour."""


def share_of(row: Row) -> float:
    if row.get("coverage_pct"):
        return float(row["coverage_pct"]) / 100
    return {"partial": 0.55, "trace": 0.06, "absent": 0.0}.get(row.get("coverage", ""), 1.0)


def micrograph(book: SurveyRows, picture: Row) -> Image:
    """A section from its layers, to the picture's scale; gaps follow the recorded coverage."""
    thing, ultraviolet = picture["object"], picture["lighting"].startswith("ultraviolet")
    sample = next(s for s in book.rows("samples", thing, "9999") if s["sample"] == picture["sample"])
    scale, paint = float(picture["um_per_px"]), glow if ultraviolet else rgb
    rng = seeded(thing, sample["sample"])
    image = np.empty((HEIGHT, WIDTH, 3))
    image[:] = (44, 50, 82) if ultraviolet else (58, 54, 50)
    image += 3 * np.round(2 * noise(rng, (HEIGHT, WIDTH), (6, 6)))[..., None]
    rows = book.stack(thing, sample)
    across, height = np.arange(WIDTH), np.arange(HEIGHT)[::-1][:, None]
    level = 20 + 4 * noise(rng, (1, WIDTH), (1, 24))[0]
    for row in rows:
        share = share_of(row)
        if row["role"] == "support":
            inside, lower = height < level[None, :], np.zeros(WIDTH)
            grain = 24 * noise(rng, (HEIGHT, WIDTH), (2, 40)) - 12
        else:
            lumps = noise(rng, (1, WIDTH), (1, 16))[0]
            there = np.clip(0.5 + 6 * (np.quantile(lumps, share) - lumps), 0, 1) if 0 < share < 0.98 else share
            thick = max(float(row.get("thickness_um") or 20) / scale, 1.4)
            wave = noise(rng, (1, WIDTH), (1, 14))[0] - 0.5
            rough = 0.1 if re.search("flat|rubbed|sharp", row.get("boundary", "")) else 0.4
            lower = level.copy()
            # A coat flows into the hollows of what it lies on.
            hollow = np.convolve(np.pad(lower, 12, mode="edge"), np.full(25, 1 / 25), mode="valid") - lower
            level = lower + there * np.maximum(thick + 0.5 * hollow + min(rough * thick, 4) * wave, 0.6)
            inside = (height >= lower[None, :]) & (height < level[None, :])
            size = {"filler": 16, "primer": 10, "ground": 8, "dirt": 14, "corrosion": 18, "varnish": 3}
            grain = size.get(row["role"], 8) * (np.round(3 * rng.random((HEIGHT // 2 + 1, WIDTH // 2 + 1))) - 1.5) / 1.5
            grain = grain.repeat(2, 0).repeat(2, 1)[:HEIGHT, :WIDTH]
        image[inside] = (paint(row) + 0.5 * grain[..., None] * (0.4 if ultraviolet else 1.0))[inside]
        edge = inside & (height - lower[None, :] < 1.0) & (height > 22)
        image[edge] *= 0.82
    # A chip has two broken ends.
    ends = 6 + 8 * noise(rng, (HEIGHT, 1), (12, 1))[:, 0]
    outside = (across[None, :] < ends[:, None]) | (across[None, :] > WIDTH - ends[::-1][:, None])
    image[outside] = (44, 50, 82) if ultraviolet else (58, 54, 50)
    bar = round(100 / scale)
    if bar < WIDTH - 30:
        image[6:9, WIDTH - 12 - bar : WIDTH - 12] = 240
        write(image, "100 UM", WIDTH - 48, 12, (240, 240, 240))
    return image


class Photograph:
    """One place of one object on one day, seen from the front."""

    def __init__(self, book: SurveyRows, picture: Row) -> None:
        self.book, self.picture, self.thing = book, picture, picture["object"]
        self.day = picture["taken_on"]
        self.year = self.day[:4]
        self.ultraviolet = picture["lighting"].startswith("ultraviolet")
        self.paint = glow if self.ultraviolet else rgb
        self.zones = {z["zone"]: z for z in book.rows("zones", self.thing, self.year) if z.get("outline")}
        place = picture["place"]
        drawings = book.rows("drawings", self.thing, self.year)
        code = self.zones[place]["drawing"] if place in self.zones else drawings[0]["drawing"]
        self.drawing = next(d for d in drawings if d["drawing"] == code)
        self.shapes = list(_shapes(Path(self.drawing["_folder"]) / self.drawing["file"]))
        frame = (
            points(self.zones[place]["outline"])
            if place in self.zones
            else [p for _, corners in self.shapes for p in corners]
        )
        (left, right), (top, bottom) = [(min(v), max(v)) for v in zip(*frame, strict=True)]
        margin = 0.06 * max(right - left, bottom - top)
        self.per_px = max((right - left + 2 * margin) / WIDTH, (bottom - top + 2 * margin) / HEIGHT)
        self.left, self.top = (left + right - WIDTH * self.per_px) / 2, top - margin
        shape = (max(40, min(HEIGHT, round((bottom - top + 2 * margin) / self.per_px))), WIDTH)
        self.x = self.left + (np.arange(shape[1])[None, :] + 0.5) * self.per_px
        self.y = self.top + (np.arange(shape[0])[:, None] + 0.5) * self.per_px
        self.shape = shape
        self.image = np.full((*shape, 3), 30.0 if self.ultraviolet else 176.0)
        self.relief = np.zeros(shape)

    def draw(self) -> Image:
        rng = seeded(self.thing, self.picture["place"], self.year)
        coats = {zone: coat for zone in self.zones if (coat := self._outermost(zone)) is not None}
        commonest = Counter(coat["colour"] for coat in coats.values()).most_common(1)
        body = next(
            (self._look(coat, zone) for zone, coat in coats.items() if coat["colour"] == commonest[0][0]),
            self.paint(None),
        )  # nobody has looked
        for fill, corners in self.shapes:
            if fill != "none":
                tint = {"#ffffff": np.array([96.0, 112.0, 120.0]), "#d8d4cc": np.array([54.0, 52.0, 52.0])}.get(fill)
                colour = body if tint is None else tint * (0.3 if self.ultraviolet else 1.0)
                self.image[self._within(corners)] = colour
        shown = [z for z in self.zones.values() if z["drawing"] == self.drawing["drawing"]]
        for zone in sorted(shown, key=lambda z: -float(z.get("area_m2") or 0)):
            self._zone(zone, rng)
        for _, corners in self.shapes:
            self.image[self._line(corners, 0.6 * self.per_px)] *= 0.6
        for sample in self.book.rows("samples", self.thing, self.year, method="exposure"):
            if (
                sample.get("x")
                and sample["taken_on"] <= self.day
                and self.zones.get(sample["place"], {}).get("drawing") == self.drawing["drawing"]
            ):
                self._window(sample)
        if self.picture.get("test"):
            self._spots()
        strokes = noise(rng, self.shape, (3, 34)) + 0.5 * noise(rng, self.shape, (2, 9))
        if self.picture["lighting"] == "raking":
            slope = np.diff(0.5 * strokes + self.relief, axis=1, prepend=0) + np.diff(
                0.5 * strokes + self.relief, axis=0, prepend=0
            )
            falling = np.linspace(1.05, 0.6, self.shape[1])[None, :]
            self.image = (0.75 * self.image + 0.25 * self.image.mean(axis=2, keepdims=True)) * (
                falling * np.clip(0.8 + 1.1 * slope, 0.25, 1.7)
            )[..., None]
        else:
            self.image *= (0.97 + 0.05 * np.round(3 * noise(rng, self.shape, (4, 18))) / 3)[..., None]
        return self.image

    def _zone(self, zone: Row, rng: np.random.Generator) -> None:
        corners, coat = points(zone["outline"]), self._outermost(zone["zone"])
        inside = self._within(corners)
        if coat is not None and inside.any():
            self.image[inside] = self._look(coat, zone["zone"])
        for row in self._now("decorations", zone["zone"], "decoration"):
            self._decoration(row, corners)
        for row in self._now("conditions", zone["zone"], "phenomenon"):
            strength = int(row.get("severity") or 0)
            if row["phenomenon"] == "flaking" and strength and inside.any():
                lumps = noise(rng, self.shape, (7, 9)) + 0.3 * noise(rng, self.shape, (2, 3))
                lost = inside & (lumps <= np.quantile(lumps[inside], float(row.get("extent_pct") or 5) / 100))
                self.image[lost] = self.paint(self._beneath(zone["zone"], row.get("scheme", "")))
                self.relief[lost] -= 0.8
            elif row["phenomenon"] == "blistering":
                for x, y in rng.random((3 * strength, 2)):
                    far = np.hypot(
                        (self.x - corners[0][0] - x * (corners[2][0] - corners[0][0])) / self.per_px,
                        (self.y - corners[0][1] - y * (corners[2][1] - corners[0][1])) / self.per_px,
                    )
                    self.relief += 1.6 * np.exp(-((far / 5) ** 2))
            elif row["phenomenon"] == "soiling":
                self.image[inside] *= 1 - 0.07 * strength

    def _decoration(self, row: Row, corners: Points) -> None:
        if row["state"] in ("lost", "not found"):
            return
        (left, right), (top, bottom) = [(min(v), max(v)) for v in zip(*corners, strict=True)]
        said = re.search("“(.+?)”", row.get("description", ""))
        if row["kind"] == "lining":
            middle = ((left + right) / 2, (top + bottom) / 2)
            inset = [(middle[0] + (x - middle[0]) * 0.93, middle[1] + (y - middle[1]) * 0.78) for x, y in corners]
            mask = self._line([*inset, inset[0]], 0.9 * self.per_px)
        elif "stripe" in row.get("description", ""):
            across = (self.x + self.y) / (0.5 * (bottom - top)) % 2 < 1
            mask = self._within(corners) & across
        elif said:
            mask = self._words(said[1], left, right, top, bottom)
        elif row["kind"] in ("lettering", "bronze paint"):
            # Something is there and nobody can read it: two strokes of the recorded size.
            size = 400 * math.sqrt(float(row.get("area_m2") or 0.01)) / float(self.drawing["mm_per_unit"])
            x, y = (left + right) / 2, (top + bottom) / 2
            mask = self._line([(x - size, y + size / 3), (x + size / 4, y - size), (x + size / 5, y + size)], size / 6)
        else:
            far = np.hypot((self.x - (left + right) / 2), (self.y - (top + bottom) / 2))
            angle = np.arctan2(self.y - (top + bottom) / 2, self.x - (left + right) / 2)
            reach = 0.42 * min(right - left, bottom - top)
            mask = far < reach * (0.75 + 0.25 * np.cos(7 * angle))
        if "engine-turned" in row.get("description", ""):
            waves = np.sin((self.x - left) * 5) + np.sin((self.y - top) * 5 + 2 * np.sin((self.x - left) * 2))
            self.image[self._within(corners)] *= (0.94 + 0.05 * np.sign(waves))[self._within(corners)][:, None]
        self.relief += 1.2 * mask
        if row["state"] == "exposed":
            coat = next(
                (
                    la
                    for la in self.book.rows("layers", self.thing, self.year, scheme=row.get("scheme", ""))
                    if la["role"] == row["kind"]
                ),
                None,
            )
            dark = rgb(coat) if coat is not None else np.array([70.0, 52.0, 20.0])
            self.image[mask] = 0.35 * dark + 12 if self.ultraviolet else dark

    def _words(self, said: str, left: float, right: float, top: float, bottom: float) -> NDArray[np.bool_]:
        lines = said.upper().split(" ") if len(said) > 14 else [said.upper()]
        cell = min((right - left) * 0.86 / (6 * max(map(len, lines))), (bottom - top) * 0.8 / (9 * len(lines)))
        column = np.floor((self.x - (left + right) / 2) / cell).astype(int) + 0 * self.y.astype(int)
        row = np.floor((self.y - (top + bottom) / 2) / cell + 4.5 * len(lines)).astype(int) + 0 * self.x.astype(int)
        mask = np.zeros(self.shape, bool)
        for number, line in enumerate(lines):
            for place, letter in enumerate(line):
                bits = glyph(letter)
                c, r = column + 3 * len(line) - 6 * place, row - 9 * number
                inside = (c >= 0) & (c < 5) & (r >= 0) & (r < 7)
                mask[inside] |= bits[r[inside], c[inside]]
        return mask

    def _window(self, sample: Row) -> None:
        rows = [r for r in self.book.stack(self.thing, sample) if r["role"] != "support" and share_of(r) > 0]
        if not rows:
            return
        reach = max(5.0, 3.5 * self.per_px)
        far = np.maximum(abs(self.x - float(sample["x"])), abs(self.y - float(sample["y"])))
        for step, row in enumerate(reversed(rows)):
            self.image[far < reach * (1 - step / (len(rows) + 0.5))] = self.paint(row)
        self.relief[far < reach] -= 0.6

    def _spots(self) -> None:
        for number, test in enumerate(
            t
            for t in self.book.rows("tests", self.thing, self.year)
            if t["place"] == self.picture["place"] and t["tested_on"] <= self.day
        ):
            code = test.get("sample", "")
            sample = next((s for s in self.book.rows("samples", self.thing, self.year, sample=code)), None)
            if sample is None or not sample.get("x"):
                continue
            far = np.hypot(self.x - float(sample["x"]) - 9 * (number % 3 - 1), self.y - float(sample["y"]) - 9)
            hurt = any(
                r["response"] != "none seen" and r.get("sample") and self._coat(r)["role"] not in FOREIGN
                for r in self.book.rows("responses", self.thing, self.year, test=test["test"])
            )
            self.image[far < 3] = np.minimum(self.image[far < 3] * 1.18, 255)
            if hurt:
                self.image[far < 3] = 0.4 * self.image[far < 3] + 0.6 * np.array([170.0, 120.0, 90.0])

    def _coat(self, response: Row) -> Row:
        return next(
            r
            for r in self.book.rows("layers", self.thing, "9999", sample=response["sample"])
            if r["position"] == response["position"]
        )

    def _now(self, sheet: str, place: str, code: str) -> list[Row]:
        """The newest rows of a place by the day of the picture."""
        newest = {
            r[code]: r
            for r in sorted(self.book.rows(sheet, self.thing, self.year, place=place), key=lambda r: r["observed_on"])
            if r["observed_on"][:4] <= self.year
        }
        return list(newest.values())

    def _samples(self, zone: str) -> list[Row]:
        """The samples that speak for a zone: its own, newest first, else those of the zone or part around it."""
        at = [s for s in self.book.rows("samples", self.thing, self.year, place=zone) if s["method"] != "gauge"]
        if at:
            return sorted(at, key=lambda s: s["taken_on"], reverse=True)
        row = self.zones.get(zone)
        if row is not None and row.get("within"):
            return self._samples(row["within"])
        part = {
            z["zone"]
            for z in self.book.rows("zones", self.thing, self.year)
            if row is not None and z["component"] == row["component"]
        }
        return [
            s for s in self.book.rows("samples", self.thing, self.year) if s["place"] in part and s["method"] != "gauge"
        ]

    def _outermost(self, zone: str) -> Row | None:
        rows = self._seen(zone)
        return rows[-1] if rows else None

    def _look(self, coat: Row, zone: str) -> NDArray[np.float64]:
        """A clear coat tints what lies beneath it; under the lamp it hides it."""
        beneath = next((r for r in reversed(self._seen(zone)) if r["role"] not in CLEAR), None)
        if self.ultraviolet or coat["role"] not in CLEAR or beneath is None:
            return self.paint(coat)
        return rgb(beneath) * np.sqrt(rgb(coat) / 255)

    def _seen(self, zone: str) -> list[Row]:
        for wanted in (0.9, 0.0):
            for sample in self._samples(zone):
                rows = [
                    r
                    for r in self.book.stack(self.thing, sample)
                    if r["role"] not in (*FOREIGN, *DRAWN_APART) and share_of(r) > wanted
                ]
                if rows:
                    return rows
        return []

    def _beneath(self, zone: str, flaking: str) -> Row | None:
        """What a flake leaves bare: the coat under the flaking scheme, else the preparation of the lowest finish."""
        stacks = [[r for r in self.book.stack(self.thing, s) if share_of(r) > 0] for s in self._samples(zone)]
        for stack in stacks:
            under = next((n for n, row in enumerate(stack) if flaking and row.get("scheme") == flaking), 0)
            if any(row["role"] not in (*FOREIGN, "support") for row in stack[:under]):
                return [row for row in stack[:under] if row["role"] not in FOREIGN][-1]
        rows = [row for stack in stacks for row in stack]
        return next((r for r in rows if r["role"] in ("ground", "filler", "primer")), rows[0] if rows else None)

    def _within(self, corners: Points) -> NDArray[np.bool_]:
        inside = np.zeros(self.shape, bool)
        for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True):
            if ay != by:
                inside ^= ((ay > self.y) != (by > self.y)) & (self.x < (bx - ax) * (self.y - ay) / (by - ay) + ax)
        return inside

    def _line(self, corners: Points, half: float) -> NDArray[np.bool_]:
        mask = np.zeros(self.shape, bool)
        for (ax, ay), (bx, by) in pairwise(corners):
            length = (bx - ax) ** 2 + (by - ay) ** 2 or 1.0
            t = np.clip(((self.x - ax) * (bx - ax) + (self.y - ay) * (by - ay)) / length, 0, 1)
            mask |= np.hypot(self.x - ax - t * (bx - ax), self.y - ay - t * (by - ay)) <= half
        return mask


def points(text: str) -> Points:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in text.split())]


def _shapes(path: Path) -> Iterator[tuple[str, Points]]:
    """A drawing's shapes as fill and corners; circles become polygons."""
    for element in ET.parse(path).iter():
        kind, fill = element.tag.rsplit("}", 1)[-1], element.get("fill", "none")
        if kind == "polygon":
            corners = points(element.get("points", ""))
            yield fill, [*corners, corners[0]]
        elif kind == "polyline":
            yield "none", points(element.get("points", ""))
        elif kind == "circle":
            x, y, r = (float(element.get(name, "0")) for name in ("cx", "cy", "r"))
            yield fill, [(x + r * math.cos(a), y + r * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 33)]


def main(arguments: Sequence[str]) -> int:
    root = Path(arguments[0]) if arguments else Path(__file__).parent / "harbour"
    folders = sorted(p.parent for p in root.glob("*/survey.toml"))
    book = SurveyRows(folders)
    wanted = set(arguments[1:])
    for picture in book.sheets.get("pictures", []):
        if wanted and picture["file"] not in wanted:
            continue
        section = picture["view"] == "micrograph"
        image = micrograph(book, picture) if section else Photograph(book, picture).draw()
        what = picture["sample"] if section else picture["place"]
        light = {"normal": "", "raking": " RAKING", "ultraviolet fluorescence": " UV"}[picture["lighting"]]
        save(
            Path(picture["_folder"]) / picture["file"],
            image,
            f"INVENTED {picture['object']} {what}{light} {picture['taken_on'][:4]}",
        )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
