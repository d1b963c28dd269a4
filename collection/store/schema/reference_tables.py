"""The tables of published values, column by column as the files of schema/reference have them."""

from __future__ import annotations

from collection.store.schema.tables import StoredColumn, Table


def _reference_columns(*names: str, numbers: tuple[tuple[str, str], ...] = ()) -> tuple[StoredColumn, ...]:
    units = dict(numbers)
    return tuple(
        StoredColumn(
            name,
            "REAL" if name in units else "TEXT",
            _REFERENCE_MEANINGS[name],
            units.get(name) or None,
            kind="number" if name in units else "text",
            source="schema/reference, row by row",
        )
        for name in names
    )


_REFERENCE_MEANINGS = {
    "name": "the liquid",
    "aliases": "other names people write, parted by |",
    "family": "liquids that raise alarms for each other",
    "cas": "the CAS registry number",
    "diluent": "yes for hydrocarbons that mostly thin a stronger liquid",
    "asks": "the question to ask where the name covers several liquids",
    "hansen_d": "Hansen parameter, dispersion",
    "hansen_p": "Hansen parameter, polar",
    "hansen_h": "Hansen parameter, hydrogen bonding",
    "hansen_source": "where the Hansen parameters were read",
    "hansen_status": "how far the Hansen parameters can be trusted: seen, library, derived, memory",
    "stand_in": "a liquid whose Hansen parameters may be borrowed to raise an alarm, never to clear",
    "stand_in_status": "how far the stand-in can be trusted",
    "molar_volume_cm3": "molar volume",
    "molar_volume_source": "where the molar volume was read",
    "molar_volume_status": "how far the molar volume can be trusted",
    "flash_c": "flash point",
    "lfl_pct": "lower flammable limit in air, by volume",
    "ufl_pct": "upper flammable limit in air, by volume",
    "fire_source": "where flash point and flammable limits were read",
    "fire_status": "how far flash point and flammable limits can be trusted",
    "twa_ppm": "exposure limit over a working day, of the body named; no permission",
    "stel_ppm": "exposure limit over a short time, of the body named; no permission",
    "exposure_body": "the body and edition that set the exposure limits",
    "exposure_source": "where the exposure limits were read",
    "exposure_status": "how far the exposure limits can be trusted",
    "other_limits": "exposure limits of other bodies, as text",
    "other_limits_source": "where those were read",
    "other_limits_status": "how far those can be trusted",
    "h_statements": "hazard statements by number",
    "h_source": "where the hazard statements were read",
    "h_status": "how far the hazard statements can be trusted",
    "water_miscible": "whether it mixes with water: yes, partly, no",
    "water_miscible_status": "how far that can be trusted",
    "note": "anything else to know",
    "binder": "the binder word",
    "row": "the material as the source names it",
    "radius": "radius of the Hansen sphere",
    "source_row": "the row number in the source",
    "fit": "whether the material is the binder itself (same), stands in for it, or no sphere was seen (none)",
    "source": "where the values were read",
    "status": "how far they can be trusted",
    "word": "our word",
    "kind": "the closed list it belongs to",
    "aat_id": "the number in the Getty Art & Architecture Thesaurus",
    "aat_label": "the term at that number",
    "match": "how well the two agree: exact, narrower, broader, related, ambiguous",
}
_MPA, _PCT = "MPa^0.5", "% of air by volume"
REFERENCE_SOLVENTS = Table(
    "reference_solvents",
    "Liquids with published values. A blank says that nothing is recorded, and is never read as harmless; use the\n"
    "supplier's safety data sheet.",
    _reference_columns(
        "name",
        "aliases",
        "family",
        "cas",
        "diluent",
        "asks",
        "hansen_d",
        "hansen_p",
        "hansen_h",
        "hansen_source",
        "hansen_status",
        "stand_in",
        "stand_in_status",
        "molar_volume_cm3",
        "molar_volume_source",
        "molar_volume_status",
        "flash_c",
        "lfl_pct",
        "ufl_pct",
        "fire_source",
        "fire_status",
        "twa_ppm",
        "stel_ppm",
        "exposure_body",
        "exposure_source",
        "exposure_status",
        "other_limits",
        "other_limits_source",
        "other_limits_status",
        "h_statements",
        "h_source",
        "h_status",
        "water_miscible",
        "water_miscible_status",
        "note",
        numbers=(
            ("hansen_d", _MPA),
            ("hansen_p", _MPA),
            ("hansen_h", _MPA),
            ("molar_volume_cm3", "cm3/mol"),
            ("flash_c", "°C"),
            ("lfl_pct", _PCT),
            ("ufl_pct", _PCT),
            ("twa_ppm", "ppm"),
            ("stel_ppm", "ppm"),
        ),
    ),
    ("name",),
)
REFERENCE_SPHERES = Table(
    "reference_spheres",
    "Published Hansen spheres by binder; outside the sphere clears nothing.",
    _reference_columns(
        "binder",
        "row",
        "hansen_d",
        "hansen_p",
        "hansen_h",
        "radius",
        "source_row",
        "fit",
        "source",
        "status",
        "note",
        numbers=(("hansen_d", _MPA), ("hansen_p", _MPA), ("hansen_h", _MPA), ("radius", _MPA)),
    ),
    ("binder", "row", "source_row"),
)
REFERENCE_TERMS = Table(
    "reference_terms",
    "Our words with numbers of the Getty Art & Architecture Thesaurus (ODC-By 1.0).",
    _reference_columns("word", "kind", "aat_id", "aat_label", "match", "source", "status", "note"),
    ("word", "kind", "aat_id"),
)
REFERENCE = {"solvents.csv": REFERENCE_SOLVENTS, "binders.csv": REFERENCE_SPHERES, "terms.csv": REFERENCE_TERMS}
"""Each file of schema/reference with its table."""
