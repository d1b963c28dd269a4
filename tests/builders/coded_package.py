"""A small package with a row in every sheet and a code in every column that may hold one, for tests of codes."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from site_packages import png

SURVEY = 'code = "{}"\ntitle = "Harbour survey"\nlead = "Ada Penrose"\nstarted = "2019-05"\n'
SHEETS = {
    "objects": "object,title,kind,part_of\nT1,Tram 1,tram,\nT2,Bogie,bogie,T1\n",
    "sources": "object,source,kind,title\nT1,Q1,report,Workshop book\n",
    "components": "object,component,name,parent,area_m2,source,observed_on\n"
    "T1,body,body,,6,Q1,2001\nT1,body,body,,6,,2019\nT1,door,door,body,1,,\n",
    "drawings": "object,drawing,file,title\nT1,G1,side.png,side\n",
    "zones": "object,zone,component,within,drawing,area_m2\nT1,Z1,body,,G1,3\nT1,Z2,body,Z1,,1\n",
    "schemes": "object,scheme,name,period,rank,basis,component\n"
    "T1,1,first finish,original,1,,body\nT1,2,repaint,later,2,lies on dirt,\n",
    "samples": "object,sample,place,method,taken_on,reaches_support\nT1,S1,Z1,cross-section,2018,yes\n"
    "T1,S2,Z2,cross-section,2018,no\n",
    "layers": "object,sample,position,role,colour,scheme,coverage,thickness_um\nT1,S1,1,primer,grey,1,intact,20\n"
    "T1,S1,2,body colour,red,1,intact,30\nT1,S1,3,body colour,green,2,intact,40\n"
    "T1,S2,1,body colour,red,1,partial,30\n",
    "analyses": "object,analysis,technique,result,sample,position,place\nT1,A1,XRF,lead,S1,2,Z1\n",
    "decorations": "object,decoration,place,kind,scheme,state,observed_on\nT1,D1,Z1,lining,1,covered,2001\n"
    "T1,D1,Z1,lining,1,covered,2019\n",
    "reserves": "object,reserve,place,kind\nT1,R1,Z2,reserve\n",
    "tests": "object,test,place,agent,sample,dwell_s,application,tested_on\n"
    "T1,X1,Z1,acetone,S1,60,rolled swab,2018\nT1,X2,Z2,isooctane,,60,rolled swab,2018\n",
    "responses": "object,test,response,scheme,role,sample,position,decoration\nT1,X1,softened,2,,,,\n"
    "T1,X1,none seen,,,S1,2,\nT1,X1,none seen,,,,,D1\nT1,X2,none seen,1,body colour,,,\n",
    "conditions": "object,place,phenomenon,observed_on,scheme,extent_pct\nT1,Z1,flaking,2019,2,5\n",
    "proposals": "object,proposal,title,proposed_by,proposed_on,instead_of,permission\n"
    "T1,P1,take the green off,N. N.,2020,,letter\nT1,P2,dust it,N. N.,2020,P1,letter\n",
    "proposal_steps": "object,proposal,step,place,action,agent,dwell_s,application,removes,stop_at,spares\n"
    "T1,P1,1,Z1,solvent,acetone,30,rolled swab,2,1/body colour,\n"
    "T1,P1,2,body,solvent,isooctane,30,rolled swab,,,\nT1,P2,1,all,dust,,,,,,body; R1; Z1\n",
    "treatments": "object,treatment,purpose,started,proposal\nT1,W1,trial,2017,P1\n",
    "treatment_steps": "object,treatment,step,place,action,removed,stopped_at\nT1,W1,1,Z2,scrape,2,1/primer\n",
    "advice": "object,advice,what,given_on,place,done_by,against,replaced_by\nT1,V1,keep it dry,2016,Z1,W1,wash,\n"
    "T1,V2,do not strip it,2010,Z1,,strip; blast,V1\n",
    "claims": "object,claim,statement,status,place,decoration,observed_on\n"
    "T1,C1,a number lies under,untested,Z1,D1,2001\nT1,C1,a number lies under,supported,Z1,D1,2019\n",
    "hazards": "object,hazard,kind,status,component,observed_on\nT1,H1,lead paint,confirmed,body,2018\n",
    "pictures": "object,picture,file,place,sample,test,treatment\nT1,I1,front.png,Z1,S1,X1,W1\n",
}
PLACE = [
    (sheet, "place")
    for sheet in (
        "samples",
        "analyses",
        "decorations",
        "reserves",
        "tests",
        "conditions",
        "proposal_steps",
        "treatment_steps",
        "advice",
        "claims",
        "pictures",
    )
]
SPARED = ("proposal_steps", "spares")
COATS = [
    ("proposal_steps", "removes"),
    ("proposal_steps", "stop_at"),
    ("treatment_steps", "removed"),
    ("treatment_steps", "stopped_at"),
]
HELD_IN: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "objects": ("T1", [(sheet, "object") for sheet in SHEETS] + [("objects", "part_of")]),
    "sources": ("Q1", [(sheet, "source") for sheet in SHEETS]),
    "components": (
        "body",
        [
            ("components", "component"),
            ("components", "parent"),
            ("zones", "component"),
            ("schemes", "component"),
            ("hazards", "component"),
            SPARED,
            *PLACE,
        ],
    ),
    "drawings": ("G1", [("drawings", "drawing"), ("zones", "drawing")]),
    "zones": ("Z1", [("zones", "zone"), ("zones", "within"), SPARED, *PLACE]),
    "schemes": (
        "2",
        [(sheet, "scheme") for sheet in ("schemes", "layers", "decorations", "responses", "conditions")] + COATS,
    ),
    "samples": (
        "S1",
        [(sheet, "sample") for sheet in ("samples", "layers", "analyses", "tests", "responses", "pictures")],
    ),
    "analyses": ("A1", [("analyses", "analysis")]),
    "decorations": ("D1", [("decorations", "decoration"), ("responses", "decoration"), ("claims", "decoration")]),
    "reserves": ("R1", [("reserves", "reserve"), SPARED]),
    "tests": ("X1", [("tests", "test"), ("responses", "test"), ("pictures", "test")]),
    "proposals": (
        "P1",
        [
            ("proposals", "proposal"),
            ("proposals", "instead_of"),
            ("proposal_steps", "proposal"),
            ("treatments", "proposal"),
        ],
    ),
    "treatments": (
        "W1",
        [
            ("treatments", "treatment"),
            ("treatment_steps", "treatment"),
            ("advice", "done_by"),
            ("pictures", "treatment"),
        ],
    ),
    "advice": ("V1", [("advice", "advice"), ("advice", "replaced_by")]),
    "claims": ("C1", [("claims", "claim")]),
    "hazards": ("H1", [("hazards", "hazard")]),
    "pictures": ("I1", [("pictures", "picture")]),
}
"""Per kind one code of the package, and every cell of a package that may hold a code of the kind: written out here
by hand, as the sheets of a survey are described."""


def coded_package(folder: Path, survey: str = "harbour-1", sheets: Mapping[str, str] = SHEETS) -> Path:
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(SURVEY.format(survey), encoding="utf-8")
    for sheet, text in sheets.items():
        (folder / f"{sheet}.csv").write_text(text, encoding="utf-8")
    for name, width in (("side.png", 4), ("front.png", 6)):
        if name in "".join(sheets.values()):
            (folder / name).write_bytes(png(width=width))
    return folder


def in_other_words(kind: str, old: str, new: str, sheets: Mapping[str, str] = SHEETS) -> dict[str, str]:
    """The sheets as somebody would write them who has always called a thing `new`."""
    found = {}
    for sheet, text in sheets.items():
        rows = list(csv.DictReader(io.StringIO(text)))
        for row in rows:
            if kind != "objects" and row["object"] != "T1":
                continue
            for where, column in HELD_IN[kind][1]:
                if where == sheet and column in row:
                    row[column] = _other(row[column], old, new, coat=(where, column) in COATS)
        out = io.StringIO()
        writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        found[sheet] = out.getvalue()
    return found


def _other(cell: str, old: str, new: str, *, coat: bool) -> str:
    if coat:
        scheme, slash, role = cell.partition("/")
        return (new if scheme == old else scheme) + slash + role
    return "; ".join(new if part == old else part for part in cell.split("; "))
