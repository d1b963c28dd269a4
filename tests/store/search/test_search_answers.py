"""The answer to a search: current after every change, ranked, with place, reason and evidence."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from small_collection import EVERY

from collection.cli import run
from collection.language import words
from collection.store import derive
from collection.store.base import database, read
from collection.store.changes import corrections
from collection.store.search import search as searching
from collection.store.search.filters import Filters
from collection.store.search.search import behind, search

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
    assert run(["withdraw", str(path), "survey", "S2", "--yes", "--by", "N. N.", "--reason", "a trial"]) == 0
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
