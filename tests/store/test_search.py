"""A search finds what reading every record finds, says where and on whose evidence, and stays current."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import unicodedata
from collections.abc import Iterator
from contextlib import suppress
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_collection import COLOURS, PERIODS, ROLES, WORDS, write_small

from collection.cli import run
from collection.compute.case import Case
from collection.compute.survival.survival import decoration_survival, object_survival
from collection.language import words
from collection.language.errors import WrongCommand
from collection.language.phrases import BETWEEN, Phrase, indexed, phrase, tokens
from collection.records.facts import FACT_SHEETS, Facts, canonical_json, current, surely_in_state
from collection.store import derive
from collection.store.base import database, read
from collection.store.base.facts_text import FactsText
from collection.store.base.search_document import COAT, coat_facet, liquids
from collection.store.changes import corrections, statements
from collection.store.search import search as searching
from collection.store.search.filters import Filters, filters
from collection.store.search.search import behind, search

SEEDS = (1, 2, 3)
EVERY = 1000


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    folder = tmp_path_factory.mktemp("search")
    found = {}
    for seed in SEEDS:
        path = folder / f"{seed}.db"
        assert run(["init", str(path)]) == 0
        assert run(["ingest", str(path), str(write_small(folder / f"package-{seed}", seed))]) == 0
        found[seed] = path
    return found


@pytest.fixture(scope="module")
def opened(made: dict[int, Path]) -> Iterator[dict[int, database.Database]]:
    connections = {seed: database.connect(path, write=False) for seed, path in made.items()}
    yield connections
    for connection in connections.values():
        database.close(connection)


@pytest.fixture(scope="module")
def known(opened: dict[int, sqlite3.Connection]) -> dict[int, list[Facts]]:
    return {seed: list(read.facts_in_bulk(db)) for seed, db in opened.items()}


@pytest.fixture
def db(made: dict[int, Path], tmp_path: Path) -> Iterator[database.Database]:
    copy = tmp_path / "own.db"
    shutil.copy(made[1], copy)
    connection = database.connect(copy, write=True)
    yield connection
    database.close(connection)


# --- the same, by reading every record ------------------------------------------------------------------------------


def plain(text: str) -> list[str]:
    """The words and figures of a text without case and diacritics; a Munsell notation is its hue and one word."""
    text = re.sub(r"\b(\d+(?:\.\d+)?[RY]) (\d+)/(\d+)\b", r"\1 M\2v\3\1", re.sub(r"\bN 4/", "N Mneutral4", text))
    text = re.sub(r"(M\d+v\d+)(\d+)\.(\d)([RY])", r"\1q\2q\3\4", text)
    bare = "".join(c for c in unicodedata.normalize("NFD", text.lower()) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", bare)


def within(wanted: list[str], text: str | None) -> bool:
    held = plain(text or "")
    return any(held[at : at + len(wanted)] == wanted for at in range(len(held) - len(wanted) + 1))


def cells_of(facts: Facts) -> list[str]:
    found = [facts.object.object + " " + facts.object.title]
    for row in (facts.object, *(row for sheet in FACT_SHEETS for row in getattr(facts, sheet))):
        found += [
            value
            for column in type(row).columns()
            if column.kind not in ("person", "points", "file")
            and column.name not in ("object", "audience")
            and isinstance(value := getattr(row, column.name), str)
        ]
    return found


def meets(facts: Facts, asked: Filters) -> bool:
    """The filters read literally, over records: one coat or decoration for the first four, the object for the rest."""
    states = {p.place: p.state for p in object_survival(Case(facts)).places}
    decorated = {d.decoration: d.state for d in decoration_survival(Case(facts))}
    periods = {s.scheme: s.period for s in facts.schemes}
    places = {s.sample: s.place for s in facts.samples}
    things: list[tuple[str | None, ...]] = [(state, None, None, None) for state in states.values()]
    things += [(None, period, None, None) for period in periods.values()]
    things += [
        (states.get(places[row.sample]), periods[row.scheme] if row.scheme else row.period, row.role, row.colour)
        for row in facts.layers
        if row.coverage != "absent"
    ]
    gone = surely_in_state(facts.decorations, "decoration", "state", ("not found",))
    things += [
        (decorated.get(code), periods.get(row.scheme or ""), row.kind, None)
        for code, row in current(facts.decorations, "decoration").items()
        if code not in gone
    ]
    if (asked.state or asked.period or asked.role or asked.colour) and not any(
        (not asked.state or state in asked.state)
        and (not asked.period or period in asked.period)
        and (not asked.role or role in asked.role)
        and (not asked.colour or any(within(plain(text), colour) for text in asked.colour))
        for state, period, role, colour in things
    ):
        return False
    if asked.unexamined and "not examined" not in states.values():
        return False
    if asked.kind and not any(within(plain(text), facts.object.kind) for text in asked.kind):
        return False
    if asked.agent and not any(
        within(plain(text), name) for test in facts.tests for name in liquids(test.agent) for text in asked.agent
    ):
        return False
    absent = surely_in_state(facts.hazards, "hazard", "status", ("not found",))
    there = [h.kind for h in facts.hazards if h.status != "not found" and h.hazard not in absent]
    return not asked.hazard or any(
        text == "any" or within(plain(text), kind) for kind in there for text in asked.hazard
    )


def some(values: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    listed = st.sampled_from([value for value in values if value])
    return st.just(()) | st.lists(listed, min_size=1, max_size=2, unique=True).map(tuple)


NARROWED = st.builds(
    Filters,
    period=some(PERIODS),
    state=some(words.ZONE_STATE.words),
    role=some((*ROLES, "lettering")),
    colour=some((*COLOURS, "brown", "foncé", "absent colour")),
    kind=some(("tram", "hand pump", "trailer")),
    agent=some(("acetone", "isooctane", "ammonium citrate", "ammonium", "ethanol")),
    hazard=some(("any", "lead", "lead paint", "white lead", "asbestos")),
    unexamined=st.booleans(),
)
ASKED = st.lists(
    st.sampled_from(
        [
            *(w for w in WORDS if w),
            "7.5R 3/8",
            "5R 3/8",
            "7.5R",
            "varnish",
            "Z1",
            "1987.0",
            "between sharp",
            "red",
            "brown",
            "lining",
            "1908",
            "cross-section",
            "Penrose",
            "Quist",
            "green sharp",
            "OHM-191",
            "N 4/",
        ]
    ),
    max_size=2,
    unique=True,
)


@settings(max_examples=200)
@given(seed=st.sampled_from(SEEDS), narrowed=NARROWED, asked=ASKED)
def test_a_search_finds_what_reading_every_record_finds(
    opened: dict[int, Any], known: dict[int, list[Facts]], seed: int, narrowed: Filters, asked: list[str]
) -> None:
    """Words, phrases and every filter, each alone and together, against a reading of all facts."""
    if not asked and not narrowed.given:
        return
    wanted = {
        facts.object.object
        for facts in known[seed]
        if meets(facts, narrowed)
        and (
            all(any(within(plain(word), cell) for cell in cells_of(facts)) for word in asked)
            or (len(asked) == 1 and facts.object.object.startswith(asked[0]))
        )
    }
    answer = search(opened[seed], asked, narrowed, EVERY)
    assert {hit.object for hit in answer.hits} == wanted
    assert answer.total == len(wanted) == len(answer.hits)
    assert (answer.near is None) == bool(wanted)
    assert search(opened[seed], asked, narrowed, 3).hits == answer.hits[:3]


@pytest.mark.parametrize("name", ["period", "state", "role", "colour", "kind", "agent", "hazard", "unexamined"])
def test_every_filter_tells_some_objects_from_others(
    opened: dict[int, database.Database], known: dict[int, list[Facts]], name: str
) -> None:
    """So that the comparison above cannot pass for want of anything to find."""
    value = {
        "period": ("early",),
        "state": ("original covered",),
        "role": ("lettering",),
        "colour": ("green",),
        "kind": ("hand pump",),
        "agent": ("acetone",),
        "hazard": ("lead",),
        "unexamined": True,
    }[name]
    narrowed: dict[str, Any] = {name: value}
    totals = [search(db, [], Filters(**narrowed), EVERY).total for db in opened.values()]
    assert all(0 < total < len(known[seed]) for seed, total in zip(opened, totals, strict=True)) or name == "unexamined"
    assert sum(totals) > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_reason_holds_the_word_and_a_place_its_state(opened: dict[int, database.Database], seed: int) -> None:
    for asked in (["crazed"], ["varnish"], ["7.5R 3/8"], ["green", "dark"], ["naive"], ["lin*"]):
        for hit in search(opened[seed], asked, limit=EVERY).hits:
            wanted = [phrase(word) for word in asked]
            assert all(any(one.in_text(reason.value) for reason in hit.reasons) for one in wanted), (asked, hit)
            assert all(reason.evidence.survey == "S1" for reason in hit.reasons)
            for spot in hit.places:
                stored = (
                    opened[seed]
                    .execute(
                        "SELECT state, present, read, traces FROM survival_places WHERE object = ? AND place = ?",
                        (hit.object, spot.place),
                    )
                    .fetchone()
                )
                assert stored in (None, (spot.state, spot.present, spot.read, spot.traces))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_places_of_filters_hold_one_coat_that_meets_them_all(
    opened: dict[int, database.Database], known: dict[int, list[Facts]], seed: int
) -> None:
    facts = {f.object.object: f for f in known[seed]}
    asked = Filters(
        state=("original covered", "original fragmentary", "original not found"), role=("body colour", "varnish")
    )
    hits = search(opened[seed], [], asked, EVERY).hits
    assert hits
    for hit in hits:
        places = {s.sample: s.place for s in facts[hit.object].samples}
        coated = {
            places[row.sample]
            for row in facts[hit.object].layers
            if row.role in asked.role and row.coverage != "absent"
        }
        assert hit.places
        assert all(spot.state in asked.state and spot.place in coated for spot in hit.places)


# --- codes ----------------------------------------------------------------------------------------------------------


def test_codes_come_exactly_first_then_those_that_begin_so(db: database.Database) -> None:
    codes = read.object_codes(db)
    first = search(db, ["OHM-191"], limit=EVERY).hits
    assert [hit.object for hit in first] == [code for code in codes if code.startswith("OHM-191")]
    assert len(first) > 2
    assert search(db, ["ohm-191"]).hits[0].object == "OHM-191", "as words, case counts for nothing"
    assert search(db, ["OHM-191"], Filters(hazard=("any",)), EVERY).total <= len(first)


@pytest.mark.parametrize(
    ("sheet", "sql"),
    [
        ("zones", "SELECT object, zone FROM zones"),
        ("samples", "SELECT object, sample FROM samples"),
        ("layers", "SELECT object, sample, position FROM layers"),
        ("schemes", "SELECT object, scheme FROM schemes"),
        ("tests", "SELECT object, test FROM tests"),
        ("decorations", "SELECT object, decoration, observed_on FROM decorations WHERE observed_on <> ''"),
    ],
)
def test_a_key_finds_its_record_with_its_place(db: database.Database, sheet: str, sql: str) -> None:
    row = db.execute(f"{sql} ORDER BY 1 LIMIT 1").fetchone()
    key = "/".join(map(str, row))
    hit = search(db, [key]).hits[0]
    reason = hit.reasons[0]
    assert (hit.object, reason.sheet, f"{hit.object}/{reason.code}") == (row[0], sheet, key)
    if sheet == "layers":
        place = db.execute("SELECT place FROM samples WHERE object = ? AND sample = ?", row[:2]).fetchone()[0]
        assert [spot.place for spot in hit.places] == [place]
        assert reason.evidence.text == f"sample {row[1]} (cross-section), 2019-05-02, survey S1, Bela Quist"


def test_among_other_words_a_key_picks_its_object(db: database.Database) -> None:
    code, zone = db.execute("SELECT object, zone FROM zones ORDER BY object LIMIT 1").fetchone()
    assert [hit.object for hit in search(db, [f"{code}/{zone}", "body"]).hits] == [code]


def test_a_renamed_zone_is_found_by_both_codes(db: database.Database) -> None:
    code = db.execute("SELECT object FROM zones WHERE zone = 'Z1' ORDER BY object LIMIT 1").fetchone()[0]
    statements.rename(db, "zones", f"{code}/Z1", "PANEL", "N. N.", "new plan")
    for key in (f"{code}/Z1", f"{code}/PANEL"):
        hit = search(db, [key]).hits[0]
        assert (hit.object, hit.reasons[0].code, [spot.place for spot in hit.places]) == (code, "PANEL", ["PANEL"])
        assert hit.reasons[0].evidence.survey == "S1"


# --- words ----------------------------------------------------------------------------------------------------------


def test_a_munsell_notation_is_found_whole_and_no_other_hue_with_it() -> None:
    """`5R` and `7.5R` are two hues (ASTM D1535); only as figures is one a part of the other."""
    assert phrase("5R 3/8").in_text("5R 3/8")
    assert phrase("7.5R3/8").in_text("a coat of 7.5r 3/8, dull")
    assert not phrase("5R 3/8").in_text("7.5R 3/8")
    assert phrase("7.5R").in_text("7.5R 3/8")
    assert not phrase("3/8").in_text("7.5R 3/8")
    assert phrase("3/8").in_text("on 3/8 of it")
    assert indexed("1924/1931") == "1924/1931"


def test_a_phrase_does_not_run_on_into_the_next_cell(opened: dict[int, database.Database]) -> None:
    """The last word of a cell and the first of the next are no phrase, unless some cell holds them so."""
    tried = 0
    for code, text in opened[1].execute("SELECT object, words FROM documents").fetchall():
        cells = text.split(f" {BETWEEN} ")
        for one, two in pairwise(cells):
            joined = phrase(" ".join((*tokens(one)[-1:], *tokens(two)[:1])))
            if len(joined.tokens) == 2 and not any(joined.in_text(cell) for cell in cells):
                tried += 1
                assert code not in {hit.object for hit in search(opened[1], [joined.text], limit=EVERY).hits}
    assert tried > 100


@settings(max_examples=300)
@given(
    st.lists(
        st.text(max_size=12)
        | st.sampled_from(
            [
                '"',
                '"" OR "',
                "NEAR(a b)",
                "a* OR b",
                "title:x",
                "^red",
                "*",
                "-red",
                "{a}",
                "'; DROP TABLE objects; --",
                "\x00",
                "red*",
                "a" * 3000,
                BETWEEN,
                COAT,
                "1) UNION SELECT 1",
                "%",
                "//",
            ]
        ),
        max_size=3,
    )
)
def test_no_question_breaks_the_search(opened: dict[int, Any], asked: list[str]) -> None:
    """Anything may be asked: an answer, or a sentence that says what cannot be."""
    with suppress(WrongCommand):
        json.dumps(search(opened[1], asked).as_json(), allow_nan=False)


@pytest.mark.parametrize("asked", [[], [""], ["—", "…"], ["*"], [BETWEEN]])
def test_a_question_without_a_word_gets_a_sentence(opened: dict[int, database.Database], asked: list[str]) -> None:
    with pytest.raises(WrongCommand, match="nothing to look for"):
        search(opened[1], asked)


def test_too_short_a_beginning_and_too_many_words_get_a_sentence(opened: dict[int, database.Database]) -> None:
    with pytest.raises(WrongCommand, match="at least 3 letters"):
        search(opened[1], ["re*"])
    with pytest.raises(WrongCommand, match="too many"):
        search(opened[1], ["red"] * 40)


@pytest.mark.parametrize(
    ("given_", "meant"),
    [
        ({"role": ["pinstripe"]}, {"role": ("lining",)}),
        ({"state": ["Exposed"]}, {"state": ("original exposed",)}),
        ({"state": ["not examined"]}, {"state": ("not examined",)}),
        ({"period": ["maker's"]}, {"period": ("original",)}),
    ],
)
def test_filters_take_the_trades_other_names(given_: dict[str, Any], meant: dict[str, Any]) -> None:
    assert filters(**given_) == Filters(**meant)


@pytest.mark.parametrize(
    ("given_", "sentence"),
    [
        ({"role": ["varnsh"]}, "varnish"),
        ({"role": ["gilding"]}, "leaf"),
        ({"state": ["gone"]}, "original removed"),
        ({"colour": ["—"]}, "no letter"),
        ({"period": ["older"]}, "early"),
    ],
)
def test_a_word_outside_its_list_gets_a_sentence(given_: dict[str, Any], sentence: str) -> None:
    with pytest.raises(WrongCommand, match=sentence):
        filters(**given_)


def test_an_agent_is_found_under_the_other_names_of_its_liquid(opened: dict[int, database.Database]) -> None:
    for db in opened.values():
        found = {hit.object for hit in search(db, [], Filters(agent=("isopropanol",)), EVERY).hits}
        assert found == {hit.object for hit in search(db, [], Filters(agent=("2-propanol",)), EVERY).hits}
        assert found == {code for (code,) in db.execute("SELECT object FROM tests WHERE agent = 'isopropanol'")} | {
            code for (code,) in db.execute("SELECT object FROM tests WHERE agent LIKE '%2-propanol%'")
        }


def test_every_sort_of_coat_has_a_token_of_its_own() -> None:
    sorts = list(product((None, *words.ZONE_STATE.words), (None, *words.PERIOD.words), (None, *words.ROLE.words)))
    assert len({coat_facet(*sort) for sort in sorts}) == len(sorts)


# --- kept current ---------------------------------------------------------------------------------------------------


def test_a_withdrawn_record_is_not_found_and_a_reinstated_one_is(db: database.Database) -> None:
    code, sample, position = db.execute(
        "SELECT object, sample, position FROM layers WHERE coverage IS NOT 'absent' LIMIT 1"
    ).fetchone()
    key = f"{code}/{sample}/{position}"
    corrections.correct(db, "layers", key, {"colour": "zinnober"}, "N. N.", "read again")
    assert [hit.object for hit in search(db, ["zinnober"]).hits] == [code]
    assert search(db, [], Filters(colour=("zinnober",))).total == 1
    corrections.withdraw(db, "samples", f"{code}/{sample}", "N. N.", "mislabelled")
    answer = search(db, ["zinnober"])
    assert (answer.total, search(db, [], Filters(colour=("zinnober",))).total) == (0, 0)
    assert search(db, [key]).near.gone == (f"coat {key}",)
    corrections.reinstate(db, "samples", f"{code}/{sample}", "N. N.", "rightly labelled")
    assert search(db, ["zinnober"]).total == search(db, [key]).total == 1
    corrections.withdraw(db, "objects", code, "N. N.", "not ours")
    assert code not in {hit.object for hit in search(db, [code], limit=EVERY).hits}


def test_one_more_survey_is_found_at_once(
    made: dict[int, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "c.db"
    shutil.copy(made[1], path)
    package = tmp_path / "more"
    package.mkdir()
    (package / "survey.toml").write_text('code = "S2"\ntitle = "More"\nlead = "Cy Orme"\nstarted = "2024-05"\n')
    (package / "objects.csv").write_text("object,title,kind\nNEW-1,Signboard of the Lantern,shop sign\n")
    assert run(["search", str(path), "Lantern"]) == 0
    assert "Nothing matches Lantern" in capsys.readouterr().out
    assert run(["ingest", str(path), str(package)]) == 0
    capsys.readouterr()
    assert run(["search", str(path), "lantern", "--kind", "sign", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["total"], answer["results"][0]["object"]) == (1, "NEW-1")
    assert run(["withdraw", str(path), "survey", "S2", "--by", "N. N.", "--reason", "a trial"]) == 0
    capsys.readouterr()
    assert run(["search", str(path), "lantern"]) == 0
    assert "Nothing matches" in capsys.readouterr().out


@pytest.mark.parametrize("few", [0, 400])
def test_among_too_many_to_rank_titles_come_first_then_numbers(
    opened: dict[int, database.Database], monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    """The same objects as when they are ranked; those whose title holds the word first, each group by number."""
    db = opened[2]
    ranked = search(db, ["crazed"], limit=EVERY)
    monkeypatch.setattr(searching, "RANKED", 0)
    monkeypatch.setattr(searching, "FEW", few)
    listed = search(db, ["crazed"], limit=EVERY)
    codes = [hit.object for hit in listed.hits]
    titled = [hit.object for hit in listed.hits if "crazed" in hit.title]
    assert 0 < len(titled) < len(codes) == listed.total
    assert codes == [*sorted(titled), *sorted(set(codes) - set(titled))]
    assert set(codes) == {hit.object for hit in ranked.hits}
    assert search(db, ["crazed"], limit=3).hits == listed.hits[:3]


def test_what_is_not_up_to_date_is_counted_and_marked(db: database.Database) -> None:
    codes = read.object_codes(db)
    assert behind(db) == 0
    with database.writing(db):
        derive.mark_stale(db, codes[:2])
    assert behind(db) == 2
    answer = search(db, [codes[0]])
    assert (answer.behind, answer.hits[0].behind) == (2, True)
    with database.writing(db):
        db.execute("UPDATE facts SET engine = 'older' WHERE object = ?", (codes[4],))
        db.execute("UPDATE survival_objects SET engine = 'older' WHERE object IN (?, ?, ?)", codes[3:6])
        db.execute("UPDATE survival_objects SET engine = 'older' WHERE rowid = 1")
    assert behind(db) >= 3
    with database.writing(db):
        derive.refresh(db)
        for table in ("facts", "documents", "survival_objects"):
            db.execute(f"DELETE FROM {table} WHERE object = ?", (codes[6],))
    assert behind(db) == 1


# --- what is told ---------------------------------------------------------------------------------------------------


def test_the_answer_as_json_keeps_its_keys(opened: dict[int, database.Database]) -> None:
    answer = search(opened[1], ["varnish"], Filters(period=("later", "original", "early"))).as_json()
    assert set(answer) >= {"format", "total", "results"}
    assert answer["results"]
    for result in answer["results"]:
        assert set(result) >= {"object", "title", "places", "why"}
        assert all(isinstance(place, str) for place in result["places"])
        assert result["evidence"][0]["survey"] == "S1"


def test_where_nothing_is_found_it_is_said_what_would_be(
    made: dict[int, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["search", str(made[1]), "crazd"]) == 0
    assert "there is crazed" in capsys.readouterr().out
    assert run(["search", str(made[1]), "crazed", "--kind", "boat"]) == 0
    out = capsys.readouterr().out
    assert "Nothing matches crazed --kind boat" in out
    assert re.search(r"\d+ objects match without --kind", out)
    assert "hand pump, tram" in " ".join(out.split())
    assert run(["search", str(made[1]), "crazed sharp dark"]) == 0
    assert "each word by itself" in capsys.readouterr().out


def test_the_command_groups_by_object_with_place_reason_and_evidence(
    made: dict[int, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["search", str(made[1]), "varnish", "--state", "covered", "--state", "fragmentary", "-n", "2"]) == 0
    out = capsys.readouterr().out
    assert re.match(r"\d+ objects match varnish --state covered or fragmentary; the first 2:", out)
    assert out.count("because ") == 2
    assert "Original finish seen at" in out
    assert re.search(r"original (covered|fragmentary) at \w+", out)
    assert "survey S1" in out
    assert max(map(len, out.splitlines())) <= 100


@pytest.mark.parametrize(
    ("records", "word", "said"),
    [
        (
            ("decorations.csv", "object,decoration,place,kind,description,state\nT,D1,B,lettering,a crest,not found\n"),
            "crest",
            "decoration D1 (not found), description: “a crest”",
        ),
        (
            ("hazards.csv", "object,hazard,kind,status\nT,H1,radium in the pointer,not found\n"),
            "radium",
            "hazard H1 (not found), kind: “radium in the pointer”",
        ),
        (
            ("claims.csv", "object,claim,statement,status\nT,C1,It was a ferry,refuted\n"),
            "ferry",
            "claim C1 (refuted), statement: “It was a ferry”",
        ),
        (
            ("conditions.csv", "object,place,phenomenon,observed_on,severity\nT,B,blistering,2020,0\n"),
            "blistering",
            "condition B/blistering/2020 (looked for, none), phenomenon: “blistering”",
        ),
        (
            (
                "layers.csv",
                "object,sample,position,role,colour,period,coverage\nT,S1,1,varnish,zinnober,original,absent\n",
            ),
            "zinnober",
            "coat S1/1 (looked for, not found), colour: “zinnober”",
        ),
    ],
)
def test_a_reason_says_that_its_record_says_no(tmp_path: Path, records: tuple[str, str], word: str, said: str) -> None:
    """A word found in a record of what was looked for and not found is no sign that it is there."""
    (tmp_path / "p").mkdir()
    for name, text in (
        ("survey.toml", 'code = "S1"\ntitle = "One"\nlead = "N. N."\nstarted = "2020"\n'),
        ("objects.csv", "object,title,kind\nT,Tram,tram\n"),
        ("components.csv", "object,component,name\nT,B,body\n"),
        ("samples.csv", "object,sample,place,method\nT,S1,B,cross-section\n"),
        records,
    ):
        (tmp_path / "p" / name).write_text(text)
    assert run(["init", str(tmp_path / "c.db")]) == 0
    assert run(["ingest", str(tmp_path / "c.db"), str(tmp_path / "p")]) == 0
    with database.opened(tmp_path / "c.db", write=False) as connection:
        (hit,) = search(connection, [word]).hits
    assert hit.why == said
    assert hit.as_json()["evidence"][0]["stands"]


def test_a_coats_reason_gives_its_place_and_not_the_state_of_another_finish(
    opened: dict[int, database.Database],
) -> None:
    """`later scheme, original covered` would say that the later coat is the original one."""
    hits = search(opened[1], [], Filters(period=("later",), role=("body colour",)), EVERY).hits
    assert hits
    for hit in hits:
        assert not any(
            state in reason.value
            for reason in hit.reasons
            if reason.sheet == "layers"
            for state in words.ZONE_STATE.words
        )


@pytest.mark.parametrize("asked", [["a\udcff"], ["--kind", "\udcffa"]])
def test_bytes_that_are_no_text_get_a_sentence(
    made: dict[int, Path], capsys: pytest.CaptureFixture[str], asked: list[str]
) -> None:
    assert run(["search", str(made[1]), *asked]) == 2
    assert "holds bytes that are not UTF-8 text" in capsys.readouterr().err


def test_a_code_may_begin_with_any_sign(opened: dict[int, database.Database]) -> None:
    """U+D7FF has no sign after it that is text."""
    assert search(opened[1], ["a\ud7ff"]).total == 0


# --- parts ----------------------------------------------------------------------------------------------------------


@settings(max_examples=200)
@given(
    st.dictionaries(
        st.sampled_from(FACT_SHEETS),
        st.lists(
            st.dictionaries(
                st.sampled_from(("a", "b", "object", "colour")),
                st.text(max_size=8)
                | st.sampled_from(("},{", '":[{', '"layers":[{', "{", "}", "\\", '"', "red", "Réd", '],"')),
                min_size=1,
            ),
            min_size=1,
            max_size=4,
        ),
    ),
    st.text(min_size=1, max_size=5),
)
def test_rows_picked_from_a_document_are_those_of_the_whole(
    sheets: dict[str, list[dict[str, str]]], title: str
) -> None:
    """Whatever stands in the texts: signs of JSON, brackets, and the sign between two records among them."""
    text = canonical_json({"object": {"title": title, "kind": "x"}, **sheets}).encode()
    document = FactsText(text)
    assert document.object == {"title": title, "kind": "x"}
    for sheet in FACT_SHEETS:
        rows = sheets.get(sheet, [])
        held = [row for row in rows if any("red" in value.lower() or "Réd" in value for value in row.values())]
        picked = FactsText(text).rows_holding(["red"], ["Réd"]).get(sheet, [])
        assert all(row in picked for row in held)
        assert all(row in rows for row in picked)
        for code in {row["a"] for row in rows if "a" in row}:
            assert FactsText(text).row(sheet, "a", code) == next(row for row in rows if row.get("a") == code)
        assert document.rows(sheet) == rows


@given(st.text(max_size=20), st.text(max_size=6))
def test_a_phrase_is_found_in_any_text_that_holds_it_between_blanks(text: str, word: str) -> None:
    one = phrase(word)
    assert isinstance(one, Phrase)
    if one.tokens and not one.longer and word.strip() == word:
        assert one.in_text(f"{text} {word} {text}") or not word.isascii() or "/" in word
