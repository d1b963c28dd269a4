"""`show`: an object on one screen, one of its records, and its history, as a curator reads them."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from collection.cli import run
from collection.cli.text.object import CAUTION, LEAD, LINES, Standing, screen
from collection.cli.text.record import record_lines
from collection.compute.case import Case
from collection.compute.survival.survival import object_survival
from collection.language.words import SEVERITY_SPOKEN
from collection.records.facts import facts_of
from collection.records.sheets import (
    BY_SHEET,
    Advice,
    Claim,
    Component,
    Condition,
    Hazard,
    Layer,
    Object,
    Proposal,
    Reserve,
    Response,
    Sample,
    Scheme,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.records.sheets import Test as Swab
from collection.rules.assess import assess
from collection.rules.track_record import Outturn, Seen
from collection.store.base import database, keys, read
from collection.store.changes import corrections, statements
from collection.store.changes.history import changes_of

SAMPLE = Path(__file__).resolve().parents[2] / "sample_db" / "harbour"
AMENDED = ("--amend", "put right by the second look", "--by", "R. Person")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("show") / "c.db"
    assert run(["init", str(path)]) == 0
    for package in sorted(p for p in SAMPLE.iterdir() if (p / "survey.toml").is_file()):
        assert run(["ingest", str(path), str(package), *AMENDED]) == 0
    return path


@pytest.fixture
def db(filled: Path, tmp_path: Path) -> Path:
    shutil.copytree(filled.parent, tmp_path / "own")
    return tmp_path / "own" / filled.name


def shown(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> str:
    capsys.readouterr()
    assert run(["show", *map(str, words)]) == code
    out = capsys.readouterr()
    return out.out if code == 0 else out.err


def codes(path: Path) -> list[str]:
    with database.opened(path, write=False) as connection:
        return read.object_codes(connection)


def test_every_object_of_the_sample_fits_one_screen(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for code in codes(filled):
        lines = shown(capsys, filled, code).splitlines()
        assert len(lines) <= LINES + 2, code
        assert max(map(len, lines)) <= 100, code
        assert lines[0].startswith(f"{code}  ")


def test_what_can_hurt_what_must_stay_and_what_is_worst_is_never_folded_away(
    filled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for code in codes(filled):
        out = shown(capsys, filled, code)
        with database.opened(filled, write=False) as connection:
            facts = read.facts_rows(connection, code)
            proposals = [
                read.load_proposal(connection, *key) for key in read.proposal_keys(connection) if key[0] == code
            ]
        assert (LEAD in out and CAUTION in out) or not facts.layers
        assert object_survival(Case(facts)).sentence in " ".join(out.split())
        for hazard in {row.hazard for row in facts.hazards} - {
            row.hazard for row in facts.hazards if row.status == "not found"
        }:
            assert re.search(rf"^  {hazard}  ", out, re.M), (code, hazard)
        worst = sorted((assess(Case(facts), p).outcome for p in proposals), key=list(SEVERITY_SPOKEN).index)[-1:]
        assert all(SEVERITY_SPOKEN[outcome].upper() in out for outcome in worst)


def test_all_shows_every_record_that_is_open(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for code in codes(filled):
        out = shown(capsys, filled, code, "--all")
        with database.opened(filled, write=False) as connection:
            facts = read.facts_rows(connection, code)
        # Every state of a claim in the sample has its own day.
        newest = {r.claim: r.status for r in sorted(facts.claims, key=lambda r: r.observed_on)}
        rows = [
            *(("schemes", r.scheme) for r in facts.schemes),
            *(("reserves", r.reserve) for r in facts.reserves),
            *(("treatments", r.treatment) for r in facts.treatments),
            *(("claims", code) for code, status in newest.items() if status in ("untested", "supported")),
            *(("advice", r.advice) for r in facts.advice if r.done_by is None),
        ]
        for sheet, name in rows:
            assert re.search(rf"^  {re.escape(name)}  ", out, re.M), (code, sheet, name)
        assert "more with --all" not in out


def many(layers: int = 0, zones: int = 40) -> list:
    rows = [
        Component(object="T", component="B", name="body"),
        *(Zone(object="T", zone=f"Z{n}", component="B", name=f"panel {n}") for n in range(zones)),
        *(Scheme(object="T", scheme=str(n), name=f"scheme {n}", period="later", rank=n) for n in range(30)),
        *(Reserve(object="T", reserve=f"R{n}", place="B", kind="reserve") for n in range(20)),
        *(
            Claim(object="T", claim=f"C{n}", statement="A number under the paint.", status="untested")
            for n in range(20)
        ),
        Hazard(object="T", hazard="H1", kind="asbestos in the lining", status="confirmed", observed_on="2001"),
    ]
    for n in range(layers):
        rows += [
            Sample(object="T", sample=f"S{n}", place=f"Z{n % zones}", method="cross-section"),
            Layer(object="T", sample=f"S{n}", position=1, role="body colour", scheme="0"),
        ]
    return rows


def test_an_object_with_much_to_tell_is_folded_with_counts() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), many(layers=50))
    standing = [
        Standing(
            Proposal(object="T", proposal=f"P{n}", title="Strip it", proposed_by="N. N.", proposed_on="2020"),
            "destroys" if n == 11 else "clear",
            None,
        )
        for n in range(12)
    ]
    lines = screen(facts, object_survival(Case(facts)), standing)
    assert len(lines) <= LINES
    assert any(line.startswith("  P11  DESTROYS") for line in lines)
    left = sum(int(found[1]) for line in lines if (found := re.search(r"; (\d+) more with --all", line)))
    everything = screen(facts, object_survival(Case(facts)), standing, lines=None)
    assert left > 50
    assert len(everything) > 90
    assert sum(line.startswith("  C") for line in everything) == 20


def test_temporary_work_and_reserves_past_their_date_are_told() -> None:
    rows = [
        Treatment(object="T", treatment="W1", purpose="facing", started="2010", temporary_until="2012-05"),
        Treatment(object="T", treatment="W2", purpose="netting", started="2010", temporary_until="2031"),
        Reserve(object="T", reserve="R1", place="all", kind="reserve", until="2015"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = [line.strip() for line in screen(facts, object_survival(Case(facts)), today="2024-01-01")]
    assert "W1  until 2012-05; facing" in told
    assert "reserve R1  until 2015; at all" in told
    assert not any("W2  until" in line for line in told)
    assert not any("PAST ITS DATE" in line for line in screen(facts, object_survival(Case(facts))))


def test_what_became_of_a_carried_out_proposal_stands_beside_it() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [])
    became = Outturn(
        "T/P1",
        ("W1",),
        (
            Seen("all/1/varnish", "destroys", "lost", "W1/1"),
            Seen("all/1/body colour", "destroys", "not looked since", None),
        ),
    )
    head = Proposal(object="T", proposal="P1", title="Strip it", proposed_by="N. N.", proposed_on="2020")
    told = " ".join(screen(facts, object_survival(Case(facts)), [Standing(head, "destroys", None, became)]))
    assert "carried out (W1): 1 lost, 1 not looked since" in told


def test_an_object_of_which_nothing_is_known_says_so() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [])
    text = "\n".join(screen(facts, object_survival(Case(facts))))
    assert "No place has been looked at for original finish" in text
    assert "HAZARDS" not in text


def test_a_hazard_that_was_ruled_out_later_is_not_told_as_one() -> None:
    rows = [
        Hazard(object="T", hazard="H1", kind="asbestos", status="suspected", observed_on="2001"),
        Hazard(object="T", hazard="H1", kind="asbestos", status="not found", observed_on="2019"),
        Hazard(object="T", hazard="H2", kind="mercury", status="not found"),
        Hazard(object="T", hazard="H2", kind="mercury", status="suspected", observed_on="2019"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    text = "\n".join(screen(facts, object_survival(Case(facts))))
    assert "asbestos" not in text
    assert "mercury: suspected" in text


def condition(day: str, active: str | None, severity: int | None = 2) -> Condition:
    return Condition(object="T", place="all", phenomenon="flaking", observed_on=day, active=active, severity=severity)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([condition("2014", "unknown")], ["activity not known; moderate; 2014"]),
        ([condition("2014", None)], ["activity not known; moderate; 2014"]),
        ([condition("2014-05", "yes"), condition("2014", "no")], ["active; moderate; 2014-05"]),
        ([condition("2014-05", "yes"), condition("2014", "yes", 0)], ["active; moderate; 2014-05"]),
        ([condition("2014", "yes"), condition("2024", "no")], []),
        ([condition("2014", "yes"), condition("2024", "yes", 3)], ["active; severe; 2024"]),
    ],
)
def test_a_condition_is_at_rest_only_where_a_surely_later_row_says_so(rows: Any, told: Any) -> None:
    """A condition stays in view until somebody records that it stopped; dates that may overlap clear nothing."""
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    lines = screen(facts, object_survival(Case(facts)))
    assert [line.removeprefix("  flaking at all; ") for line in lines if line.startswith("  flaking")] == told


def test_advice_is_not_said_to_have_been_left_undone() -> None:
    """A prohibition needs no treatment, and what was advised last year is not late."""
    facts = facts_of(
        Object(object="T", title="Tram", kind="tram"),
        [Advice(object="T", advice="A1", what="Stop polishing the plate", given_on="2024")],
    )
    lines = screen(facts, object_survival(Case(facts)))
    assert lines[lines.index("ADVICE in force") + 1].startswith("  A1  2024; Stop polishing")


def test_advice_in_force_tells_what_it_speaks_against_and_until_when() -> None:
    facts = facts_of(
        Object(object="T", title="Tram", kind="tram"),
        [
            Advice(object="T", advice="A1", what="Lay the flakes", given_on="2024"),
            Advice(
                object="T", advice="A2", what="Leave it alone", given_on="2010", against="wash; strip", until="2030"
            ),
            Advice(object="T", advice="A3", what="Nothing wet", given_on="2001", against="wash", replaced_by="A2"),
            Advice(object="T", advice="A4", what="Keep it dark", given_on="2001", until="2005"),
        ],
    )
    lines = screen(facts, object_survival(Case(facts)), lines=None, today="2026-01-01")
    at = lines.index("ADVICE in force")
    assert lines[at + 1 : at + 3] == [
        "  A2  2010; against wash, strip; Leave it alone; until 2030",
        "  A1  2024; Lay the flakes",
    ]
    past = lines.index("ADVICE no longer in force")
    assert lines[past + 1 : past + 3] == [
        "  A3  2001; against wash; Nothing wet; replaced by A2",
        "  A4  2001; Keep it dark; until 2005",
    ]


def test_a_treatment_tells_how_its_steps_really_ran() -> None:
    rows = [
        Treatment(object="T", treatment="W1", purpose="Varnish thinned", started="2019", outcome="partly"),
        TreatmentStep(
            object="T",
            treatment="W1",
            step=1,
            place="all",
            action="aqueous",
            agent="water",
            ph=8.5,
            dwell_s=30.0,
            passes=2,
            application="rolled swab",
            arrested_with="isooctane",
            removed="2",
            removed_m2=0.2,
            stopped_at="1/varnish",
            gloss_after_gu=41.0,
            area_m2=0.5,
            outcome="partly",
            hours=6.5,
        ),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = " ".join(" ".join(screen(facts, object_survival(Case(facts)))).split())
    assert "W1 2019; Varnish thinned; partly; aqueous at all with water, pH 8.5, 30 s, 2 passes, rolled swab; " in told
    assert "; took off 2 (0.2 m²); stopped at 1/varnish; arrested with isooctane; 0.5 m² worked on; " in told
    assert "; gloss 41 GU afterwards; 6.5 h; partly" in told


def test_claims_tell_their_latest_state_and_its_date() -> None:
    rows = [
        Claim(object="T", claim="C1", statement="It was number 4", status="untested", observed_on="2014"),
        Claim(
            object="T",
            claim="C1",
            statement="It was number 4",
            status="confirmed",
            observed_on="2024",
            resolved_by="Sample S9",
        ),
        Claim(object="T", claim="C2", statement="It was silver", status="supported", observed_on="2024-06"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    lines = screen(facts, object_survival(Case(facts)), lines=None)
    assert lines[lines.index("CLAIMS not settled") + 1] == "  C2  supported 2024-06; It was silver"
    assert lines[lines.index("CLAIMS settled") + 1] == "  C1  confirmed 2024; It was number 4; by Sample S9"
    row = next(row for row in facts.claims if row.status == "confirmed")
    told = record_lines(facts, "claims", vars(row), "")
    assert told[-2:] == ["  2014  untested", "  2024  confirmed, by Sample S9"]


def test_a_test_tells_on_what_finish_it_was_made_and_whether_it_was_looked_at_dry() -> None:
    rows = [
        Component(object="T", component="B", name="body"),
        Swab(
            object="T",
            test="X1",
            place="B",
            agent="water",
            ph=7.0,
            dwell_s=20.0,
            passes=1,
            finish="failing",
            after_drying="no",
            tested_on="2020",
        ),
        Response(object="T", test="X1", scheme="1", response="none seen"),
    ]
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), rows)
    told = record_lines(facts, "components", vars(facts.components[0]), "")
    assert "  X1  water, pH 7, 20 s, 1 pass, B, 2020; on failing finish; looked at wet only: scheme 1 none seen" in told


def test_one_place_is_one_place() -> None:
    facts = facts_of(Object(object="T", title="Tram", kind="tram"), [Component(object="T", component="B", name="body")])
    assert "; 1 place never examined" in " ".join(screen(facts, object_survival(Case(facts))))


def test_a_coat_read_elsewhere_only_is_not_shown_as_read_here(filled: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """B-REAR was read down to a varnish; what lies deeper is taken from the rest of the part."""
    out = " ".join(shown(capsys, filled, "OHM-1937/3/B-REAR").split())
    assert "Not examined: no reading." in out
    assert re.search(r"KEPT scheme 1, vermilion body colour, covers [^(]*\(not read here, but at S01/4", out)
    assert re.search(r"bright red body colour, covers [^(]*\(S05/3\)", out)


def test_history_does_not_say_what_private_cells_hold(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(db)[0]
    corrections.correct(
        db,
        "objects",
        code,
        {
            "owner": "Ada Penrose, Mill Lane",
            "store_place": "Bay 9, key with Bo",
            "notes": "She wants it back",
            "title": "New title",
        },
        "R. Person",
        "letter",
    )
    out = " ".join(shown(capsys, db, code, "--history").split())
    assert "“New title”" in out
    assert "owner: changed (private)" in out
    assert not re.search("Mill Lane|Bay 9|wants it back", out)
    assert not re.search("Mill Lane|Bay 9|wants it back", shown(capsys, db, code, "--all"))


def test_bytes_that_are_no_text_get_a_sentence(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["show", str(filled), "OHM\udcff"]) == 2
    assert "holds bytes that are not UTF-8 text" in capsys.readouterr().err


def test_each_kind_of_record_is_shown_with_its_evidence(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with database.opened(filled, write=False) as connection:
        for sheet, record in BY_SHEET.items():
            if sheet in ("survey", "objects"):
                continue
            row = connection.execute(f"SELECT {', '.join(record.key)} FROM live_{record.table} LIMIT 1").fetchone()
            if row is None:
                continue
            key = keys.shown(sheet, tuple(row))
            out = shown(capsys, filled, key)
            assert f"{key}  " in out, (sheet, key)
            assert "evidence: " in out


def test_a_zone_shows_its_build_up_outermost_first_and_what_is_kept(
    filled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with database.opened(filled, write=False) as connection:
        code, place = connection.execute(
            "SELECT object, place FROM survival_places WHERE state = 'original covered' "
            "AND read >= 1 ORDER BY object, place LIMIT 1"
        ).fetchone()
    out = shown(capsys, filled, f"{code}/{place}")
    assert "Original covered: original finish in" in out
    assert "BUILD-UP, outermost first" in out
    assert "KEPT  " in out
    assert "SAMPLES" in out


def test_an_unknown_object_or_code_names_the_nearest(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(filled)[0]
    assert f"Did you mean '{code}'" in shown(capsys, filled, f"{code}x", code=1)
    with database.opened(filled, write=False) as connection:
        zone = connection.execute("SELECT zone FROM live_zones WHERE object = ? LIMIT 1", (code,)).fetchone()[0]
    assert zone in shown(capsys, filled, f"{code}/{zone}x", code=1)


def test_the_json_keeps_its_keys(filled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = codes(filled)[0]
    document = json.loads(shown(capsys, filled, code, "--json", "--history"))
    assert {"format", "facts", "decisions", "history"} <= set(document)
    assert document["facts"]["object"]["object"] == code


def test_history_reads_as_sentences_with_who_and_why(db: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with database.opened(db, write=False) as connection:
        code, zone = connection.execute("SELECT object, zone FROM live_zones WHERE name IS NOT NULL LIMIT 1").fetchone()
        sample = connection.execute("SELECT sample FROM live_samples WHERE object = ? LIMIT 1", (code,)).fetchone()[0]
        proposal = connection.execute("SELECT object, proposal FROM live_proposals LIMIT 1").fetchone()
        name = connection.execute("SELECT name FROM zones WHERE object = ? AND zone = ?", (code, zone)).fetchone()[0]
    corrections.correct(
        db,
        "zones",
        f"{code}/{zone}",
        {"name": "New name", "area_m2": "not recorded"},
        "Ada Penrose",
        "the plan says so",
    )
    corrections.withdraw(db, "samples", f"{code}/{sample}", "Ada Penrose", "mislabelled")
    corrections.reinstate(db, "samples", f"{code}/{sample}", "Bo Quist", "rightly labelled")
    statements.rename(db, "zones", f"{code}/{zone}", "PANEL-9", "Bo Quist", "new plan")
    out = " ".join(shown(capsys, db, code, "--history").split())
    assert "correct by Ada Penrose: the plan says so" in out
    assert f"zone {zone}, name: “{name}” → “New name”" in out
    assert "→ not recorded" in out or "area_m2" not in out
    assert f"withdraw by Ada Penrose: mislabelled sample {sample} was taken out of account." in out
    assert f"reinstate by Bo Quist: rightly labelled sample {sample} counts again." in out
    assert f"zone {code}/{zone} is read as {code}/PANEL-9" in out
    assert f"{code}/{zone} was renamed PANEL-9" in shown(capsys, db, f"{code}/{zone}")
    assert run(["decide", str(db), "/".join(proposal), "--refuse", "--by", "Cy Orme", "--reason", "not now"]) == 0
    assert f"proposal {proposal[1]} was refused: not now" in " ".join(
        shown(capsys, db, proposal[0], "--history").split()
    )


def test_every_record_is_brought_by_one_change(filled: Path) -> None:
    with database.opened(filled, write=False) as connection:
        for code in read.object_codes(connection):
            counts = [
                connection.execute(f"SELECT count(*) FROM {record.table} WHERE object = ?", (code,)).fetchone()[0]
                for sheet, record in BY_SHEET.items()
                if sheet != "survey"
            ]
            brought = [
                sentence
                for change in changes_of(connection, code)
                for sentence in change.sentences
                if sentence.startswith("brought ")
            ]
            assert sum(int(number) for sentence in brought for number in re.findall(r"\d+", sentence)) == sum(counts)
