"""The reference tables against the packages and lists they were taken from."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterator

import pytest
from chemicals import safety, solubility

from collection.language import words, work_words
from collection.language.errors import OurFault
from collection.values import agents, reference, reference_rows, resources
from collection.values.reference import Solvent, SolventNames

SOLVENTS = reference.packaged().solvents


def row(name: str) -> Solvent:
    found = SOLVENTS.find(name)
    assert found is not None
    return found


def library_triple(cas: str) -> tuple[float, float, float]:
    """LIBRARY: `chemicals.solubility`, default method; the package returns Pa^½."""
    d, p, h = (f(cas) / 1000 for f in (solubility.hansen_delta_d, solubility.hansen_delta_p, solubility.hansen_delta_h))
    return d, p, h


@pytest.mark.parametrize(
    "solvent", [s for s in reference.solvents() if s.hansen_status == "library"], ids=lambda s: s.name
)
def test_hansen_values_are_what_the_named_package_gives(solvent: Solvent) -> None:
    assert solvent.hansen is not None
    assert solvent.cas is not None
    assert solvent.hansen == pytest.approx(library_triple(solvent.cas), abs=0.005)
    assert solvent.hansen_source is not None
    assert solvent.cas in solvent.hansen_source


@pytest.mark.parametrize(
    "solvent",
    [s for s in reference.solvents() if "library" in (s.fire_status, s.exposure_status)],
    ids=lambda s: s.name,
)
def test_fire_and_exposure_values_are_what_the_named_package_gives(solvent: Solvent) -> None:
    cas = solvent.cas
    if solvent.flash is not None:
        assert solvent.flash == pytest.approx(safety.T_flash(cas) - 273.15, abs=0.05)
    if solvent.lower_limit is not None:
        assert solvent.lower_limit == pytest.approx(safety.LFL(CASRN=cas) * 100, abs=0.005)
    if solvent.upper_limit is not None:
        assert solvent.upper_limit == pytest.approx(safety.UFL(CASRN=cas) * 100, abs=0.005)
    if solvent.twa is not None:
        assert solvent.twa == pytest.approx(safety.TWA(cas)[0], abs=0.05)
        assert safety.TWA_methods(cas)[0] == "Ontario Limits"
        assert (solvent.exposure_body or "").startswith("Ontario")


# RED = Ra/R0 of the package's solvents (chemicals 1.5.2, default method) against single spheres of Hansen
# 2007, Table A.2 (rows in SPHERES, which are the columns), worked out by hand to two decimals.
SPHERES = [
    ("oil", "366"),
    ("alkyd", "188"),
    ("cellulose nitrate", "222"),
    ("shellac", "219"),
    ("natural resin", "201"),
    ("acrylic", "365"),
    ("polyvinyl acetate", "67"),
    ("acrylic", "66"),
    ("epoxy", "7"),
]
RED = {
    "acetone": "0.90 0.91 0.54 1.09 1.03 0.57 0.82 0.73 0.95",
    "ethanol": "2.54 1.38 1.06 0.84 1.63 1.52 1.05 1.55 1.26",
    "2-propanol": "1.88 1.01 0.99 0.83 1.23 1.22 0.97 1.33 1.13",
    "toluene": "1.58 0.59 1.50 1.50 0.78 0.75 1.01 1.25 1.27",
    "o-xylene": "1.46 0.48 1.47 1.45 0.70 0.73 1.00 1.24 1.24",
    "n-heptane": "1.87 0.92 1.75 1.89 1.30 1.10 1.36 1.69 1.72",
    "n-dodecane": "1.84 0.86 1.72 1.83 1.21 1.04 1.30 1.63 1.65",
    "ethyl acetate": "0.17 0.46 0.91 1.13 0.64 0.47 0.88 0.90 1.02",
    "benzyl alcohol": "1.65 0.74 0.86 0.45 0.75 0.89 0.60 0.87 0.63",
    "butanone": "0.71 0.78 0.72 1.17 0.88 0.38 0.81 0.70 0.95",
    "dichloromethane": "0.48 0.51 0.71 0.94 0.51 0.20 0.67 0.54 0.73",
    "dimethylformamide": "1.85 1.20 0.14 0.65 1.24 0.90 0.56 0.64 0.63",
    "n-methyl-2-pyrrolidone": "1.49 1.01 0.40 0.83 0.98 0.55 0.47 0.26 0.53",
    "diacetone alcohol": "0.88 0.75 0.58 0.85 0.87 0.68 0.79 0.81 0.87",
    "water": "7.34 3.74 3.25 2.72 4.45 4.03 2.53 4.16 3.38",
}


@pytest.mark.parametrize("name", RED)
def test_relative_energy_differences_agree_with_the_table(name: str) -> None:
    cas = row(name).cas
    assert cas is not None
    for (binder, source_row), expected in zip(SPHERES, RED[name].split(), strict=True):
        sphere = next(s for s in reference.spheres(binder) if s.source_row == source_row)
        red = agents.ra(library_triple(cas), sphere.centre) / sphere.radius
        assert red == pytest.approx(float(expected), abs=0.0051), (binder, source_row)


def test_known_disagreements_of_the_sources_are_told() -> None:
    """Where the package's default data and its copy of Hansen 2007, Table A.1, differ."""
    for name in (
        "dichloromethane",
        "1,4-dioxane",
        "methanol",
        "diethyl ether",
        "propylene glycol",
        "gamma-butyrolactone",
    ):
        assert "disagree" in (row(name).note or ""), name
    assert {s.source_row for s in reference.spheres("acrylic")} >= {"365", "227", "66", "208"}


def test_the_table_says_how_far_each_value_is_to_be_trusted() -> None:
    for solvent in reference.solvents():
        for values, source in (
            (solvent.hansen, solvent.hansen_source),
            (solvent.molar_volume, solvent.molar_volume_source),
            (solvent.flash, solvent.fire_source),
            (solvent.twa, solvent.exposure_source),
            (solvent.other_limits, solvent.other_limits_source),
            (solvent.h_statements or None, solvent.h_source),
        ):
            assert (source is None) <= (values is None), solvent.name
        if solvent.h_status == "memory":
            assert "from memory" in (solvent.h_source or "")
        if solvent.stand_in is not None:
            assert solvent.hansen is None
            assert row(solvent.stand_in).hansen is not None
    # Only acetone's statements were read in a source, two safety data sheets; the others are memory.
    assert [s.name for s in reference.solvents() if s.h_status == "seen"] == ["acetone"]


def test_undefined_mixtures_have_no_hansen_values() -> None:
    for name in (
        "white spirit",
        "dearomatised white spirit",
        "white spirit 17%",
        "turpentine",
        "petroleum spirit",
        "kerosene",
    ):
        assert row(name).hansen is None, name
    assert row("dearomatised white spirit").stand_in == "n-dodecane"


def test_names_lead_to_one_liquid_and_families_agree_on_what_thins() -> None:
    kinds: dict[str, set[bool]] = {}
    for solvent in reference.solvents():
        kinds.setdefault(solvent.family, set()).add(solvent.diluent)
        for name in (solvent.name, *solvent.aliases):
            assert SOLVENTS.find(f" {name.upper()} ") is solvent
            assert agents.parse(name, SOLVENTS).text == solvent.name
    assert all(len(kind) == 1 for kind in kinds.values())
    assert {s.family for s in reference.solvents() if "white spirit" in s.name} == {"white spirit"}
    with pytest.raises(OurFault, match="two liquids"):
        SolventNames(
            [
                row("acetone"),
                row("acetone").__class__(
                    **{**{f: getattr(row("ethanol"), f) for f in Solvent.__slots__}, "name": "acetone"}
                ),
            ]
        )


def cas_check_digit(cas: str) -> int:
    """The rule of the Chemical Abstracts Service: digits weighted 1, 2, 3 … from the right, modulo 10."""
    digits = cas[:-2].replace("-", "")
    return sum(weight * int(digit) for weight, digit in enumerate(reversed(digits), 1)) % 10


def test_registry_numbers_carry_their_check_digit() -> None:
    for solvent in reference.solvents():
        if solvent.cas is not None:
            assert cas_check_digit(solvent.cas) == int(solvent.cas[-1]), solvent.name


def test_every_binder_word_has_a_line_and_only_published_spheres_count() -> None:
    assert set(reference.binder_notes()) == set(words.BINDER.words)
    assert {s.binder for s in reference.all_spheres()} <= set(words.BINDER.words)
    assert reference.spheres("unknown") == reference.spheres(None) == ()
    assert reference.binder_notes()["bitumen"]


def test_only_spheres_of_every_binder_itself_let_a_weaker_mixture_pass() -> None:
    packaged = reference.packaged()
    assert len(packaged.spheres_of(["cellulose nitrate"])) == 3
    assert len(packaged.spheres_of(["oil", "alkyd"])) == 4
    assert packaged.spheres_of([]) == packaged.spheres_of(["oil", "bitumen"]) == ()
    assert packaged.spheres_of(["oleoresin"]) == (), "stand-ins may alarm, never clear"
    assert packaged.spheres["oleoresin"]


# Labels and numbers of the Getty Art & Architecture Thesaurus (ODC-By 1.0), read in the lists of
# github.com/cbinding/rematch2 (patterns_en_AAT_*_20231018.json) and github.com/thegetty/crom (vocab.py).
AAT = """
cleaning 300053027|conservation 300404519|conservation 300054238|consolidation 300219960
inpainting 300053723|retouching 300136723|overpainting 300053403|repainting 300260743|stripping 300053712
varnishing 300053825|gilding 300053789|water gilding 300053795|oil gilding 300230058|japanning 300053797
graining 300053809|marbling 300053812|stencilling 300053433|facing 300053725|filling 300053092
restoration 300053742|repair 300053737|sandblasting 300053031|scraping 300053711|polishing 300053867
sampling 300379429|abrasion 300053077|blistering 300054122|blisters 300228340|craquelure 300228345
alligatoring 300228347|cracking 300054124|cracks 300209168|flaking 300054129|peeling 300054127
delamination 300054128|cleavage 300220007|cupping 300220569|tenting 300251330|chalking 300386687
corrosion 300054107|rust 300213355|bloom 300186215|blanching 300252414|fading 300053048
discoloration 300053045|yellowing 300225196|wear 300219449|scratches 300380562|dents 300400799
weathering 300054115|patina 300065245|soiling 300379469|paint 300015029|oil paint 300015050
enamel paint 300147678|alkyd paint 300379651|varnish 300014974|shellac 300014918|lacquer 300014916
cellulose nitrate 300014444|primer 300015304|gesso 300014952|bole 300230251|gold leaf 300264831
wax 300014585|linseed oil 300014292|dammar 300012922|copal 300012910|white lead 300013754
red lead 300013647|solvent 300015217|acetone 300015269|ethanol 300015231|toluene 300015247
xylene 300015249|white spirit 300015275|benzyl alcohol 300435290|condition statement 300435425
condition report 300379544|sample 300028875|support 300014844|ground 300015297|ground 300183765
turpentine 300015288|turpentine 300375603
"""


def terms() -> list[dict[str, str]]:
    """The lines of terms.csv; the program stores them in the database and reads them no further."""
    return list(csv.DictReader(resources.schema_file("reference/terms.csv").read_text("utf-8").splitlines()))


def test_thesaurus_numbers_are_those_of_the_published_list() -> None:
    published = {tuple(pair.rsplit(" ", 1)) for line in AAT.split("\n") for pair in line.split("|") if pair}
    for term in terms():
        assert (term["aat_label"], term["aat_id"]) in published, term


def test_ambiguous_thesaurus_words_are_marked() -> None:
    for kind, word in (("role", "ground"), ("agent", "turpentine"), ("action", "strip"), ("document", "conservation")):
        assert any(t["match"] == "ambiguous" for t in terms() if (t["kind"], t["word"]) == (kind, word))
    assert {t["match"] for t in terms()} <= {"exact", "narrower", "broader", "related", "ambiguous"}
    assert all(t["source"] and t["status"] in reference_rows.STATUSES for t in terms())


def test_our_words_in_the_thesaurus_table_are_words_of_the_closed_lists() -> None:
    lists = {"role": words.ROLE, "binder": words.BINDER, "action": work_words.ACTION}
    for term in terms():
        kind, word = term["kind"], term["word"]
        if kind in lists:
            assert word in lists[kind].words, term
        elif kind == "agent":
            assert word == "solvent" or SOLVENTS.find(word) is not None
        else:
            assert kind in ("phenomenon", "document")


def test_other_published_parameters_of_a_liquid_are_those_of_the_handbook() -> None:
    """SEEN: Hansen 2007, Table A.1, as transcribed at github.com/xueannafang/hsp_toolkit_solv_pred_v_2.0; where it and
    the package chemicals 1.5.2 differ by more than a rounding."""
    assert reference.packaged().alternatives == {
        "methanol": ((15.1, 12.3, 22.3),),
        "dichloromethane": ((18.2, 6.3, 6.1),),
        "1,4-dioxane": ((19.0, 1.8, 7.4),),
        "diethyl ether": ((14.5, 2.9, 5.1),),
        "propylene glycol": ((16.8, 9.4, 23.3),),
        "gamma-butyrolactone": ((19.0, 16.6, 7.4),),
    }
    for name, points in reference.packaged().alternatives.items():
        row = reference.packaged().solvents.find(name)
        assert row is not None
        assert row.hansen not in points


def test_bands_and_effects_of_a_class_name_binders_and_liquids_that_exist_and_their_sources() -> None:
    """The band of dried oil: 8.8 to 11 (cal/cm³)^½ times √4.184 (Phenix 1998 after Stolow, fig. 4-15)."""
    tables = reference.packaged()
    low, high = (edge * 4.184**0.5 for edge in (8.8, 11.0))
    assert [(round(low, 1), round(high, 1))] == [(band.low, band.high) for band in tables.bands["oil"]]
    families = {solvent.family for solvent in tables.solvents}
    for binder, effects in tables.class_effects.items():
        assert binder in words.BINDER.words
        for effect in effects:
            assert effect.liquid in families, effect
            assert effect.status == "seen" or effect.source == "common practice, no published source", effect
            assert effect.ph_low is None or effect.ph_low > 7, effect
            assert effect.ph_high is None or effect.ph_high < 7, effect


def test_the_hash_is_of_the_files_bytes() -> None:
    digest = hashlib.sha256()
    for name in ("solvents.csv", "binders.csv", "terms.csv", "bands.csv", "class_effects.csv", "alternatives.csv"):
        content = resources.schema_file(f"reference/{name}").read_bytes()
        digest.update(f"{name} {len(content)}\n".encode() + content)
    assert reference.sha256() == reference.packaged().sha256 == digest.hexdigest()


@pytest.fixture
def damaged(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, bytes]]:
    """Tables in memory that replace the packaged ones."""
    tables: dict[str, bytes] = {}
    cached = (
        reference.solvents,
        reference.all_spheres,
        reference.bands,
        reference.class_effects,
        reference.alternatives,
    )
    for each in cached:
        each.cache_clear()
    monkeypatch.setattr(reference_rows, "content_of", lambda name: tables[name])
    yield tables
    for each in cached:
        each.cache_clear()


def edited(name: str, line: int, column: str, value: str) -> bytes:
    rows = list(csv.reader(resources.schema_file(f"reference/{name}").read_text("utf-8").splitlines()))
    rows[line][rows[0].index(column)] = value
    return "\n".join(",".join(f'"{cell}"' for cell in row) for row in rows).encode()


@pytest.mark.parametrize(
    ("table", "column", "value", "said"),
    [
        ("solvents.csv", "hansen_h", "", "incomplete"),
        ("solvents.csv", "hansen_d", "x", "no number"),
        ("solvents.csv", "hansen_status", "guess", "allowed are"),
        ("solvents.csv", "diluent", "", "blank"),
        ("binders.csv", "radius", "0", "centre and a radius"),
        ("bands.csv", "delta_low", "30", "lower first"),
        ("class_effects.csv", "response", "gone", "allowed are"),
        ("alternatives.csv", "hansen_h", "", "incomplete"),
        ("alternatives.csv", "status", "told", "allowed are"),
    ],
)
def test_a_damaged_table_is_named_with_its_line(
    damaged: dict[str, bytes], table: str, column: str, value: str, said: str
) -> None:
    """A partial triple is refused, not filled with zeros."""
    damaged[table] = edited(table, 1, column, value)
    loaders = (
        reference.solvents,
        reference.all_spheres,
        reference.bands,
        reference.class_effects,
        reference.alternatives,
    )
    load = dict(zip((name for name in reference.TABLES if name != "terms.csv"), loaders, strict=True))
    with pytest.raises(OurFault, match=f"{table}, line 2.*{said}"):
        load[table]()
