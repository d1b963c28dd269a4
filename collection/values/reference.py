"""The reference tables as records: liquids, published Hansen spheres and bands, what a liquid does to a class of binder.

Read on first use from `schema/reference`; what each column means, and what its status words promise,
stands in the README beside the tables. A blank is None, and None is never harmless.
"""

from __future__ import annotations

import difflib
import hashlib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar

from collection.language.errors import OurFault
from collection.language.work_words import RESPONSE
from collection.values.reference_rows import STATUSES, Row, content_of, rows
from collection.values.reference_rows import Triple as Triple

TABLES = ("solvents.csv", "binders.csv", "terms.csv", "bands.csv", "class_effects.csv", "alternatives.csv")
FITS = frozenset({"same", "stand-in", "none"})
MISCIBLE = frozenset({"yes", "partly", "no"})

B = TypeVar("B", "Sphere", "Band", "ClassEffect")


@dataclass(frozen=True, slots=True)
class Solvent:
    """One liquid, in MPa^½, cm³/mol, °C, % of air by volume and ppm; each group has its source and status.

    `asks` is the question to put where the name covers several liquids.
    """

    name: str
    aliases: tuple[str, ...]
    family: str
    cas: str | None
    diluent: bool
    asks: str | None
    hansen: Triple | None
    hansen_source: str | None
    hansen_status: str | None
    stand_in: str | None
    molar_volume: float | None
    molar_volume_source: str | None
    molar_volume_status: str | None
    flash: float | None
    lower_limit: float | None
    upper_limit: float | None
    fire_source: str | None
    fire_status: str | None
    twa: float | None
    stel: float | None
    exposure_body: str | None
    exposure_source: str | None
    exposure_status: str | None
    other_limits: str | None
    other_limits_source: str | None
    other_limits_status: str | None
    h_statements: tuple[str, ...]
    h_source: str | None
    h_status: str | None
    water_miscible: str
    water_miscible_status: str
    note: str | None


@dataclass(frozen=True, slots=True)
class Sphere:
    """A published region of solubility: centre and radius in MPa^½, and the row it was taken from."""

    binder: str
    row: str
    centre: Triple
    radius: float
    fit: str
    source: str
    source_row: str | None
    status: str
    note: str | None


@dataclass(frozen=True, slots=True)
class Band:
    """A published range of the total solubility parameter, √(δD² + δP² + δH²) in MPa^½, in which a binder swells."""

    binder: str
    low: float
    high: float
    fit: str
    source: str
    source_row: str | None
    status: str


@dataclass(frozen=True, slots=True)
class ClassEffect:
    """What a liquid is known to do to a binder of this class, whatever its sphere says.

    `liquid` is a family of the solvent table; `additive` is `any` where the liquid does it only with something
    dissolved in it; it does it from `ph_low` upwards and `ph_high` downwards, at any pH where both are None.
    """

    binder: str
    liquid: str
    additive: str | None
    ph_low: float | None
    ph_high: float | None
    response: str
    source: str
    status: str
    note: str | None


class SolventNames:
    """The liquids by the names people write on a jar; a white spirit may state its aromatic share."""

    def __init__(self, rows: Iterable[Solvent]) -> None:
        self._by_name: dict[str, Solvent] = {}
        self._of_a_share: dict[str, Solvent] = {}
        for row in rows:
            for name in (row.name, *row.aliases):
                if self._by_name.setdefault(fold(name), row) is not row:
                    raise OurFault(f"The reference table solvents.csv gives {name!r} to two liquids.")

    def __iter__(self) -> Iterator[Solvent]:
        return iter(dict.fromkeys(self._by_name.values()))

    def find(self, text: str) -> Solvent | None:
        """The liquid of that name or alias, whatever the case and spacing; None for an unknown one."""
        name = fold(text)
        if (found := self._by_name.get(name) or self._of_a_share.get(name)) is not None:
            return found
        share = _WHITE_SPIRIT.fullmatch(name)
        general = self._by_name.get("white spirit")
        if share is None or general is None:
            return None
        percent = float(share["share"].replace(",", "."))
        if percent > 100:
            return None
        found = replace(general, name=f"white spirit {percent:g}%", aliases=(), cas=None, asks=None)
        self._of_a_share[name] = found
        return found

    def nearest(self, name: str) -> str | None:
        """The known liquid whose name or alias is most like this one; None where none is alike."""
        close = difflib.get_close_matches(fold(name), self._by_name, n=1, cutoff=0.75)
        return self._by_name[close[0]].name if close else None


def fold(name: str) -> str:
    """A liquid's name for comparison: NFC, no capitals, single spaces."""
    return " ".join(unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold()).split())


_WHITE_SPIRIT = re.compile(
    r"(?:white|mineral) spirits?,? ?\(?(?:with )?"
    r"(?P<share>[0-9]{1,3}(?:[.,][0-9]{1,2})?) ?% ?(?:aromatics?)?\)?"
)


@dataclass(frozen=True, eq=False)
class Reference:
    """What an assessment reads beside the facts and the policy; compared and hashed by identity."""

    solvents: SolventNames
    spheres: Mapping[str, tuple[Sphere, ...]]
    bands: Mapping[str, tuple[Band, ...]]
    class_effects: Mapping[str, tuple[ClassEffect, ...]]
    alternatives: Mapping[str, tuple[Triple, ...]]
    sha256: str

    def spheres_of(self, binders: Iterable[str]) -> tuple[Sphere, ...]:
        """The spheres by which a tested mixture may stand for a weaker one.

        Empty unless every binder of the coat has a published sphere of its own: a stand-in, or a binder
        without a sphere, can clear nothing.
        """
        found: list[Sphere] = []
        for binder in binders:
            own = self.spheres.get(binder, ())
            if not any(sphere.fit == "same" for sphere in own):
                return ()
            found.extend(own)
        return tuple(found)


@lru_cache(maxsize=1)
def packaged() -> Reference:
    """The tables that come with the program.

    :raises OurFault: when one of them is damaged.
    """
    return Reference(
        SolventNames(solvents()),
        _by_binder(all_spheres()),
        _by_binder(bands()),
        _by_binder(class_effects()),
        alternatives(),
        sha256(),
    )


def _by_binder(records: Iterable[B]) -> Mapping[str, tuple[B, ...]]:
    found: dict[str, list[B]] = {}
    for record in records:
        found.setdefault(record.binder, []).append(record)
    return {binder: tuple(own) for binder, own in found.items()}


@lru_cache(maxsize=1)
def solvents() -> tuple[Solvent, ...]:
    """Every liquid of solvents.csv, in the table's order.

    :raises OurFault: when the table is damaged: a missing column, an unknown status word, half a triple.
    """
    return tuple(_solvent(row) for row in rows("solvents.csv"))


@lru_cache(maxsize=1)
def all_spheres() -> tuple[Sphere, ...]:
    """Every published sphere of binders.csv, in the table's order.

    :raises OurFault: when the table is damaged.
    """
    return tuple(_sphere(row) for row in rows("binders.csv") if row.one_of("fit", FITS) != "none")


@lru_cache(maxsize=1)
def bands() -> tuple[Band, ...]:
    """Every published band of bands.csv, in the table's order.

    :raises OurFault: when the table is damaged.
    """
    return tuple(_band(row) for row in rows("bands.csv"))


@lru_cache(maxsize=1)
def class_effects() -> tuple[ClassEffect, ...]:
    """Every line of class_effects.csv, in the table's order.

    :raises OurFault: when the table is damaged.
    """
    return tuple(
        ClassEffect(
            row.text("binder"),
            row.text("liquid"),
            row.maybe("additive"),
            row.number("ph_low"),
            row.number("ph_high"),
            row.one_of("response", frozenset(RESPONSE.words)),
            row.text("source"),
            row.one_of("status", STATUSES),
            row.maybe("note"),
        )
        for row in rows("class_effects.csv")
    )


@lru_cache(maxsize=1)
def alternatives() -> Mapping[str, tuple[Triple, ...]]:
    """By liquid, the Hansen parameters that other published tables give it than solvents.csv, in MPa^½.

    :raises OurFault: when the table is damaged.
    """
    found: dict[str, tuple[Triple, ...]] = {}
    for row in rows("alternatives.csv"):
        name, point = row.text("name"), row.triple()
        if point is None:
            raise row.fault(f"the Hansen parameters of {name} are missing")
        row.text("source"), row.one_of("status", STATUSES)
        found[name] = (*found.get(name, ()), point)
    return found


@lru_cache(maxsize=64)
def spheres(binder: str | None) -> tuple[Sphere, ...]:
    """The published spheres of a binder word; none for a binder without one, an unknown one, or None."""
    return tuple(sphere for sphere in all_spheres() if sphere.binder == binder)


@lru_cache(maxsize=1)
def binder_notes() -> dict[str, tuple[str, ...]]:
    """For each binder word of the table what has to be said with its spheres, or why it has none."""
    notes: dict[str, tuple[str, ...]] = {}
    for row in rows("binders.csv"):
        binder, note = row.text("binder"), row.maybe("note")
        said = notes.setdefault(binder, ())
        if note is not None and note not in said:
            notes[binder] = (*said, note)
    return notes


@lru_cache(maxsize=1)
def sha256() -> str:
    """One SHA-256 over the tables' names, lengths and bytes: a part of every assessment's inputs."""
    digest = hashlib.sha256()
    for name in TABLES:
        content = content_of(name)
        digest.update(f"{name} {len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()


def _solvent(row: Row) -> Solvent:
    hansen, molar_volume = row.triple(), row.number("molar_volume_cm3")
    fire = [row.number(column) for column in ("flash_c", "lfl_pct", "ufl_pct")]
    twa, stel, other = row.number("twa_ppm"), row.number("stel_ppm"), row.maybe("other_limits")
    hazards = tuple((row.maybe("h_statements") or "").split())
    return Solvent(
        name=row.text("name"),
        aliases=tuple(alias for alias in (row.maybe("aliases") or "").split("|") if alias),
        family=row.text("family"),
        cas=row.maybe("cas"),
        diluent=row.one_of("diluent", frozenset({"yes", "no"})) == "yes",
        asks=row.maybe("asks"),
        hansen=hansen,
        hansen_source=row.maybe("hansen_source"),
        hansen_status=row.status("hansen_status", hansen),
        stand_in=row.maybe("stand_in"),
        molar_volume=molar_volume,
        molar_volume_source=row.maybe("molar_volume_source"),
        molar_volume_status=row.status("molar_volume_status", molar_volume),
        flash=fire[0],
        lower_limit=fire[1],
        upper_limit=fire[2],
        fire_source=row.maybe("fire_source"),
        fire_status=row.status("fire_status", *fire),
        twa=twa,
        stel=stel,
        exposure_body=row.maybe("exposure_body"),
        exposure_source=row.maybe("exposure_source"),
        exposure_status=row.status("exposure_status", twa, stel),
        other_limits=other,
        other_limits_source=row.maybe("other_limits_source"),
        other_limits_status=row.status("other_limits_status", other),
        h_statements=hazards,
        h_source=row.maybe("h_source"),
        h_status=row.status("h_status", hazards),
        water_miscible=row.one_of("water_miscible", MISCIBLE),
        water_miscible_status=row.one_of("water_miscible_status", STATUSES),
        note=row.maybe("note"),
    )


def _sphere(row: Row) -> Sphere:
    centre, radius = row.triple(), row.number("radius")
    if centre is None or radius is None or radius <= 0:
        raise row.fault("a sphere needs a centre and a radius")
    return Sphere(
        row.text("binder"),
        row.text("row"),
        centre,
        radius,
        row.one_of("fit", FITS),
        row.text("source"),
        row.maybe("source_row"),
        row.one_of("status", STATUSES),
        row.maybe("note"),
    )


def _band(row: Row) -> Band:
    low, high = row.number("delta_low"), row.number("delta_high")
    if low is None or high is None or not 0 < low < high:
        raise row.fault("a band needs two ends, the lower first")
    return Band(
        row.text("binder"),
        low,
        high,
        row.one_of("fit", FITS),
        row.text("source"),
        row.maybe("source_row"),
        row.one_of("status", STATUSES),
    )
