"""Cells of a notebook line: what a conservator writes between two bars, as columns of a sheet.

A cell is read as the first of these that fits: `column: value`; a phrase (`to the support`); a pattern
(`0.3 m2 estimated`); a word of a closed list that only one column of the sheet takes (`inconspicuous`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from collection.language.word_list import WordList
from collection.language.words import BINDER, BINDER_BASIS, COVERAGE
from collection.language.work_words import APPLICATION, LOOKED_WITH
from collection.records.sheets import BY_SHEET

Row = dict[str, str]

DAY_AND_PERSON = {
    "components": ("observed_on", ""),
    "samples": ("taken_on", "taken_by"),
    "tests": ("tested_on", "tested_by"),
    "analyses": ("analysed_on", "analysed_by"),
    "decorations": ("observed_on", ""),
    "reserves": ("made_on", "made_by"),
    "conditions": ("observed_on", "observed_by"),
    "advice": ("given_on", "given_by"),
    "claims": ("observed_on", ""),
    "hazards": ("observed_on", ""),
    "pictures": ("taken_on", "taken_by"),
    "proposals": ("proposed_on", "proposed_by"),
    "treatments": ("", "treated_by"),
}
"""The columns that `on` and `by` mean, and that a `day` line fills where neither is written."""

PHRASES: dict[str, Row] = {
    "to the support": {"reaches_support": "yes"},
    "stops short": {"reaches_support": "no"},
    "active": {"active": "yes"},
    "at rest": {"active": "no"},
    "activity unknown": {"active": "unknown"},
    "extent unknown": {"coverage": ""},
    "no certainty": {"certainty": ""},
    "of no scheme": {"scheme": ""},
    "no thickness": {"thickness_um": ""},
    "not published": {"rights": ""},
}
NUMBER = r"-?\d+(?:\.\d+)?"


def _any(words: WordList) -> str:
    return "|".join(sorted((re.escape(word) for word in words.words), key=len, reverse=True))


_PATTERNS = (
    (rf"({NUMBER}) m2(?: (measured|estimated))?", ("area_m2", "area_basis")),
    (r"(D\d+) ([\d., -]+)", ("drawing", "outline")),
    (rf"({NUMBER}) mm", ("mm_per_unit",)),
    (r"(\d+) × (\d+)", ("_width", "_height")),
    (r"outline ([\d., -]+)", ("outline",)),
    (r"within (\S+)", ("within",)),
    (r"in (\S+)", ("parent",)),
    (r"of (.+)", ("support",)),
    (r"fitted (\S+)", ("fitted",)),
    (r"rank (\S+)", ("rank",)),
    (r"made (\S+)", ("made",)),
    (r"only on (\S+)", ("component",)),
    (r"because (.+)", ("basis/why",)),
    (r"why (.+)", ("keep_why",)),
    (r"decided by (.+)", ("decided_by",)),
    (r"kept (.+)", ("kept_at",)),
    (r"with (.+)", ("instrument/agent",)),
    (r"counted from (support|surface)", ("counted_from",)),
    (rf"total ({NUMBER}) µm", ("total_um",)),
    (rf"Lab ({NUMBER}) ({NUMBER}) ({NUMBER})", ("lab_l", "lab_a", "lab_b")),
    (r"(N [\d.]+|[\d.]+(?:R|YR|Y|GY|G|BG|B|PB|P|RP) [\d.]+/[\d.]+)", ("munsell",)),
    (rf"gloss ({NUMBER})", ("gloss_gu/adds_gloss_gu/gloss_after_gu",)),
    (r"uv (.+)", ("fluorescence",)),
    (r"edge (.+)", ("boundary",)),
    (rf"({_any(BINDER)})(?:, ({_any(BINDER_BASIS)}))?", ("binder/adds_binder", "binder_basis")),
    (r"scheme (\S+)", ("scheme",)),
    (rf"({NUMBER}) %", ("coverage_pct/extent_pct",)),
    (rf"pH ({NUMBER})", ("ph",)),
    (rf"({NUMBER}) mS/cm", ("conductivity_mscm",)),
    (
        rf"({_any(APPLICATION)})(?:, ({NUMBER}) s)?(?:, ×(\d+))?(?:, ({NUMBER}) °C)?",
        ("application", "dwell_s", "passes", "temperature_c"),
    ),
    (rf"({NUMBER}) °C", ("temperature_c",)),
    (r"×(\d+)", ("passes",)),
    (rf"({_any(LOOKED_WITH)}), again when dry", ("looked_with", "after_drying=yes")),
    (rf"({_any(LOOKED_WITH)}), wet only", ("looked_with", "after_drying=no")),
    (r"stopped with (.+)", ("arrested_with/arrest_with",)),
    (r"(\d\S*) to (\d\S*)", ("started", "ended")),
    (r"allowed by (.+)", ("authorised_by",)),
    (r"carries out (\S+)", ("proposal",)),
    (r"off by (\S+)", ("temporary_until",)),
    (r"until (\S+)", ("until",)),
    (r"report (.+)", ("report",)),
    (r"takes off (\S+)", ("removed/removes",)),
    (r"stops at (\S+(?: \S+)?)", ("stopped_at/stop_at",)),
    (r"adds (.+)", ("adds",)),
    (r"comes off with (.+)", ("removable_with",)),
    (rf"({NUMBER}) h", ("hours",)),
    (rf"({NUMBER}) ± ({NUMBER}) µm deep", ("depth_um", "depth_sd_um")),
    (rf"({NUMBER}) µm deep", ("depth_um",)),
    (rf"over ({NUMBER}) m2", ("removed_m2",)),
    (r"spares (.+)", ("spares",)),
    (r"against (.+)", ("against",)),
    (r"replaced by (\S+)", ("replaced_by",)),
    (r"for (.+)", ("purpose",)),
    (r"planned (\S+)", ("planned_for",)),
    (r"instead of (\S+)", ("instead_of",)),
    (r"permission: (.+)", ("permission",)),
    (r"about (\S+)", ("decoration",)),
    (r"settled by (.+)", ("resolved_by",)),
    (r"at (\S+)", ("place",)),
    (r"on (\S+)", ("DAY",)),
    (r"by (.+)", ("PERSON",)),
    (r"done by (\S+)", ("done_by",)),
    (r"source (\S+)", ("source",)),
    (r"note: (.+)", ("notes",)),
    (r"named (\S+)", ("_named",)),
    (r"shows (\S+)", ("test",)),
)
PATTERNS = tuple((re.compile(pattern), columns) for pattern, columns in _PATTERNS)
"""What a cell may say: a slash parts the names that one column has in several sheets, an equals sign fixes a value."""


class NotebookFault(ValueError):
    """A line that cannot be read; the message names the file and the line."""


def read_cell(sheet: str, cell: str, people: Mapping[str, str]) -> Row:
    """The columns that one cell sets.

    :raises NotebookFault: for a cell that nothing fits, or a word that two columns take.
    """
    names = {column.name: column for column in BY_SHEET[sheet].columns()}
    column, colon, value = cell.partition(":")
    if colon and column in names and value.startswith(" "):
        return {column: person(value.strip(), people) if names[column].kind == "person" else value.strip()}
    if cell in PHRASES and set(PHRASES[cell]) <= set(names):
        return dict(PHRASES[cell])
    for pattern, columns in PATTERNS:
        match = pattern.fullmatch(cell)
        found = _columns_for(sheet, names, columns) if match else None
        if match and found is not None:
            row = {}
            for name, text in zip(found, (*match.groups(), ""), strict=False):
                name, equals, fixed = name.partition("=")
                if equals or text is not None:
                    kind = names[name].kind if name in names else ""
                    row[name] = fixed if equals else person(text, people) if kind == "person" else text
            return row
    takers = [name for name, known in names.items() if known.words is not None and cell in known.words.words]
    if len(takers) == 1:
        return {takers[0]: cell}
    if takers:
        raise NotebookFault(f"{cell!r} could be {' or '.join(takers)}; write it as `{takers[0]}: {cell}`")
    raise NotebookFault(f"the cell {cell!r} says nothing that the sheet {sheet} knows; write it as `column: value`")


def _columns_for(sheet: str, names: Mapping[str, object], columns: tuple[str, ...]) -> list[str] | None:
    """The pattern's columns as this sheet calls them, or None where it lacks the first."""
    day, person = DAY_AND_PERSON.get(sheet, ("", ""))
    found: list[str] = []
    for several in columns:
        several = {"DAY": day, "PERSON": person}.get(several, several)
        name = next((one for one in several.split("/") if one.split("=")[0] in names or one.startswith("_")), "")
        if not name:
            return found or None
        found.append(name)
    return found


def person(text: str, people: Mapping[str, str]) -> str:
    """A name written out, where only its initials stand."""
    return people.get(text, text)


def split_end(text: str, words: WordList) -> tuple[str, str]:
    """`text` without the word of the list that it ends with, and that word (empty where there is none)."""
    for word in sorted(words.words, key=len, reverse=True):
        if text == word or text.endswith(" " + word):
            return text[: -len(word)].strip(), word
    return text, ""


def coat_head(words: list[str]) -> Row:
    """What follows a coat's name in a stack: `38 (33–47) partial 98 %`, any of them.

    :raises NotebookFault: for a word that is none of these.
    """
    text = " ".join(words)
    row: Row = {}
    for pattern, columns in (
        (rf"^({NUMBER})(?= |$)(?! ?%)", ("thickness_um",)),
        (rf"^\(({NUMBER})–({NUMBER})\)", ("thickness_min_um", "thickness_max_um")),
        (rf"^({_any(COVERAGE)})\b", ("coverage",)),
        (rf"^({NUMBER}) ?%", ("coverage_pct",)),
    ):
        match = re.match(pattern, text)
        if match:
            row.update(zip(columns, match.groups(), strict=True))
            text = text[match.end() :].strip()
    if text:
        raise NotebookFault(f"{text!r} after a coat's name is no thickness, range, coverage or per cent")
    return row
