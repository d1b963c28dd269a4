"""Where solvents lie, their relative distances from published spheres, and the binders that have one.

Published values are of Hansen 2007, Hansen Solubility Parameters: A User's Handbook, Tables A.1 and A.2, single rows as
transcribed in public, and of the package chemicals 1.5.2; each is named where it is used.
"""

from __future__ import annotations

from objects import REFERENCE as TABLES

INSIDE = "the published sphere of shellac (Hansen 2007, Table A.2, row 219) puts it inside (RED 0.84)"

# Solvents by the package chemicals 1.5.2, default data; spheres by the rows of Hansen 2007, Table A.2. A cell is
# Ra / R0, worked out outside this project.
COLUMNS = (
    ("oil", "366"),
    ("alkyd", "188"),
    ("cellulose nitrate", "222"),
    ("shellac", "219"),
    ("natural resin", "201"),
    ("acrylic", "365"),
    ("polyvinyl acetate", "67"),
    ("acrylic", "66"),
    ("epoxy", "7"),
)
RED = {
    "acetone": (0.90, 0.91, 0.54, 1.09, 1.03, 0.57, 0.82, 0.73, 0.95),
    "ethanol": (2.54, 1.38, 1.06, 0.84, 1.63, 1.52, 1.05, 1.55, 1.26),
    "2-propanol": (1.88, 1.01, 0.99, 0.83, 1.23, 1.22, 0.97, 1.33, 1.13),
    "toluene": (1.58, 0.59, 1.50, 1.50, 0.78, 0.75, 1.01, 1.25, 1.27),
    "o-xylene": (1.46, 0.48, 1.47, 1.45, 0.70, 0.73, 1.00, 1.24, 1.24),
    "n-heptane": (1.87, 0.92, 1.75, 1.89, 1.30, 1.10, 1.36, 1.69, 1.72),
    "n-dodecane": (1.84, 0.86, 1.72, 1.83, 1.21, 1.04, 1.30, 1.63, 1.65),
    "ethyl acetate": (0.17, 0.46, 0.91, 1.13, 0.64, 0.47, 0.88, 0.90, 1.02),
    "benzyl alcohol": (1.65, 0.74, 0.86, 0.45, 0.75, 0.89, 0.60, 0.87, 0.63),
    "butanone": (0.71, 0.78, 0.72, 1.17, 0.88, 0.38, 0.81, 0.70, 0.95),
    "dichloromethane": (0.48, 0.51, 0.71, 0.94, 0.51, 0.20, 0.67, 0.54, 0.73),
    "dimethylformamide": (1.85, 1.20, 0.14, 0.65, 1.24, 0.90, 0.56, 0.64, 0.63),
    "n-methyl-2-pyrrolidone": (1.49, 1.01, 0.40, 0.83, 0.98, 0.55, 0.47, 0.26, 0.53),
    "diacetone alcohol": (0.88, 0.75, 0.58, 0.85, 0.87, 0.68, 0.79, 0.81, 0.87),
    "water": (7.34, 3.74, 3.25, 2.72, 4.45, 4.03, 2.53, 4.16, 3.38),
}
names = ("oil", "alkyd", "shellac", "natural resin", "acrylic", "oleoresin", "cellulose nitrate")


def hansen(name: str) -> tuple[float, float, float]:
    found = TABLES.solvents.find(name)
    assert found is not None
    assert found.hansen is not None
    return found.hansen
