"""A small survey package of one tram, whole or with the sheets that a test asks for."""

from __future__ import annotations

from pathlib import Path

SURVEY = 'code = "{}"\ntitle = "Harbour survey"\nlead = "Ada Penrose"\nstarted = "2019-05"\n'

OBJECTS = "object,title,kind,made,owner\nT1,Tram 1,tram,1908~,Harbour town\n"

COMPONENTS = "object,component,name,observed_on\nT1,body,body,\nT1,door,door,2001\nT1,door,door,2019\n"

ZONES = "object,zone,component,area_m2\nT1,Z1,body,2.5\nT1,Z2,body,\n"

SCHEMES = "object,scheme,name,period\nT1,1,first finish,original\n"

SAMPLES = "object,sample,place,method\nT1,S01,Z1,cross-section\n"

LAYERS = (
    "object,sample,position,role,colour,thickness_um,scheme\n"
    "T1,S01,1,primer,grey,20,1\nT1,S01,2,pinstripe,cream,35.5,1\n"
)


def package(folder: Path, survey: str = "harbour-1", **sheets: str | None) -> Path:
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(SURVEY.format(survey), encoding="utf-8")
    given = {
        "objects": OBJECTS,
        "components": COMPONENTS,
        "zones": ZONES,
        "schemes": SCHEMES,
        "samples": SAMPLES,
        "layers": LAYERS,
        **sheets,
    }
    for sheet, text in given.items():
        if text is not None:
            (folder / f"{sheet}.csv").write_text(text, encoding="utf-8")
    return folder


def only(folder: Path, survey: str = "harbour-1", **sheets: str) -> Path:
    """A package with nothing but these sheets."""
    none: dict[str, str | None] = dict.fromkeys(("objects", "components", "zones", "schemes", "samples", "layers"))
    return package(folder, survey, **{**none, **sheets})
