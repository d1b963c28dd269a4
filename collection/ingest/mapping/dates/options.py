"""Reads what a mapping says of dates: the words below [dates], and what stands beside one `date`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

from collection.ingest.mapping.cells import nearest_term
from collection.ingest.mapping.dates.centuries import PARTS
from collection.ingest.mapping.dates.words import BLANK_ENDS, DAYS, NEW_YEARS, RANGES, DateWords, Pairs, plain
from collection.ingest.mapping.tables import Given, Tables
from collection.language.errors import BadValue
from collection.records.cells import SAYS_NOTHING
from collection.values import dates

CHOICES = {"ranges": RANGES, "days": DAYS, "blank_end": BLANK_ENDS, "new_year": NEW_YEARS}
BESIDE_A_DATE = (*CHOICES, "short_years", "phrases")
"""What may stand beside one `date` as well as below [dates]."""
_BELOW = tuple(each.name for each in fields(DateWords) if each.name != "by_column")
_AS_MANY = {"months": 12, "seasons": 4}

Terms = Mapping[str, Mapping[str, str]]


def date_words(tables: Tables, named: Terms) -> DateWords:
    """The words below [dates]; `named` are the tables of terms below [words]."""
    given = tables.table("dates")
    tables.known(given, _BELOW, "dates", "Below [dates] stand")
    found: dict[str, Any] = {}
    for name, value in given.items():
        if name in _BELOW and name not in (*BESIDE_A_DATE, "parts"):
            found[name] = tuple(tables.texts("dates", name, value))
            for word in found[name]:
                if not word.strip() or any(sign.isdigit() for sign in word):
                    tables.say("dates", name, "A word that stands beside a date is not blank and holds no digit.", word)
            if len(found[name]) != _AS_MANY.get(name, len(found[name])):
                tables.say("dates", name, f"Name all {_AS_MANY[name]}, the first of the year first.")
                del found[name]
    if "parts" in given:
        found["parts"] = _parts(tables, given["parts"])
    return beside_a_date(tables, "dates", None, given, DateWords(**found), named)


def beside_a_date(
    tables: Tables, where: str, key: str | None, given: Given, words: DateWords, named: Terms
) -> DateWords:
    """The words with what is said beside one date; `key` is its column, None below [dates]."""
    found: dict[str, Any] = {}
    for name, allowed in CHOICES.items():
        if name in given and (choice := tables.one_of(where, name, given, allowed, None)) is not None:
            found[name] = choice
    if isinstance(given.get("short_years"), bool):
        found["short_years"] = given["short_years"]
    elif "short_years" in given:
        tables.say(
            where,
            key or "short_years",
            "Does 1910-12 mean the years 1910 to 1912 (true) or December (false)?",
            given["short_years"],
        )
    if "phrases" in given:
        own = _phrases(tables, where, key or "phrases", given["phrases"], words, named)
        found["phrases"] = tuple(({plain(phrase): (phrase, edtf) for phrase, edtf in (*words.phrases, *own)}).values())
    return replace(words, **found)


def _phrases(tables: Tables, where: str, key: str, given: object, words: DateWords, named: Terms) -> Pairs:
    """The phrases that a mapping gives, each with a date of EDTF."""
    if isinstance(given, str):
        if given not in named:
            tables.say(
                where,
                key,
                f"There is no table [words.{given}]. Write it, or put the phrases here.",
                given,
                nearest_term(given, tuple(named)),
            )
            return ()
        terms = named[given]
    else:
        terms = tables.terms(where, key, given)
    for phrase, edtf in terms.items():
        if plain(phrase) in SAYS_NOTHING | {plain(word) for word in words.no_date}:
            tables.say(
                where, key, "This says nothing, so it stands for no date: name it below unknown or blank.", phrase
            )
        try:
            dates.bounds(edtf)
        except BadValue as fault:
            tables.say(where, key, str(fault), edtf, fault.nearest)
    return tuple((phrase, edtf.strip()) for phrase, edtf in terms.items())


def _parts(tables: Tables, given: object) -> Pairs:
    terms = tables.terms("dates", "parts", given)
    for part in terms.values():
        if part not in PARTS:
            tables.say(
                "dates", "parts", f"A part of a century is one of {', '.join(PARTS)}.", part, nearest_term(part, PARTS)
            )
    return tuple((word, part) for word, part in terms.items() if part in PARTS)
