"""Liquids, binders, applications and touches of the made world, by name; `truth` says what they do."""

LIQUIDS = {
    "acetone": (15.5, 10.4, 7.0),
    "butanone": (16.0, 9.0, 5.1),
    "ethyl acetate": (15.8, 5.3, 7.2),
    "n-butyl acetate": (15.8, 3.7, 6.3),
    "ethanol": (15.8, 8.8, 19.4),
    "2-propanol": (15.8, 6.1, 16.4),
    "1-butanol": (16.0, 5.7, 15.8),
    "benzyl alcohol": (18.4, 6.3, 13.7),
    "diacetone alcohol": (15.8, 8.2, 10.8),
    "1-methoxy-2-propanol": (15.6, 6.3, 11.6),
    "ethyl lactate": (16.0, 7.6, 12.5),
    "toluene": (18.0, 1.4, 2.0),
    "xylene": (17.6, 1.0, 3.1),
    "dichloromethane": (17.0, 7.3, 7.1),
    "n-methyl-2-pyrrolidone": (18.0, 12.3, 7.2),
    "dimethyl sulfoxide": (18.4, 16.4, 10.2),
    "n-heptane": (15.3, 0.0, 0.0),
    "isooctane": (14.1, 0.0, 0.0),
    "cyclohexane": (16.8, 0.0, 0.2),
    "dearomatised white spirit": (16.0, 0.0, 0.0),
    "turpentine": (16.9, 1.8, 3.1),
}
"""Hansen parameters in MPa^½ (Hansen 2007, Table A.1, as `chemicals` 1.5.2 gives them); the last two by stand-ins,
n-dodecane and alpha-pinene."""
DILUENTS = ("isooctane", "n-heptane", "cyclohexane", "dearomatised white spirit")
ACTING = (
    "acetone",
    "ethanol",
    "2-propanol",
    "butanone",
    "ethyl acetate",
    "benzyl alcohol",
    "diacetone alcohol",
    "1-methoxy-2-propanol",
    "n-butyl acetate",
    "ethyl lactate",
    "xylene",
)
SPHERES = {
    "oil": ((16.0, 6.0, 7.0, 5.0),),
    "oleoresin": ((16.0, 6.0, 7.0, 5.0), (16.9, 4.5, 6.5, 9.2)),
    "alkyd": ((17.5, 2.3, 7.7, 10.0), (18.5, 9.21, 4.91, 10.64)),
    "cellulose nitrate": ((16.9, 13.5, 10.3, 9.9), (15.41, 14.73, 8.84, 11.46)),
    "shellac": ((19.7, 10.1, 15.1, 10.7),),
    "natural resin": ((18.4, 4.2, 7.8, 8.3), (19.0, 2.0, 9.0, 9.0)),
    "acrylic": ((17.6, 7.4, 5.6, 9.4), (18.64, 10.52, 7.51, 8.59)),
    "glue": (),
}
"""Published spheres of the binders used here: centre and radius in MPa^½ (Hansen 2007, Table A.2)."""
PH_LIMITS = {
    "oil": (3.5, 9.4),
    "oleoresin": (3.8, 8.9),
    "alkyd": (3.0, 10.0),
    "cellulose nitrate": (2.8, 10.5),
    "shellac": (4.0, 8.6),
    "natural resin": (4.2, 8.7),
    "acrylic": (3.0, 10.5),
    "glue": (4.0, 9.0),
}
"""Middle of the pH below and above which half a minute takes half; invented, in the order that practice knows."""
WATER = {
    "oil": 0.01,
    "oleoresin": 0.02,
    "alkyd": 0.01,
    "cellulose nitrate": 0.01,
    "shellac": 0.05,
    "natural resin": 0.03,
    "acrylic": 0.03,
    "glue": 2.0,
}
SOFTENS = {
    "oil": 110.0,
    "oleoresin": 80.0,
    "alkyd": 100.0,
    "cellulose nitrate": 75.0,
    "shellac": 55.0,
    "natural resin": 60.0,
    "acrylic": 55.0,
    "glue": 140.0,
}
"""°C, invented about the figures that the policy holds."""
ADDITIVES = {"triammonium citrate": 1.0, "household detergent": 0.5, "sodium carbonate": 0.5}
"""How much one per cent adds to the rate of water."""
RANKS = {
    "spray": (1, 0),
    "rolled swab": (1, 1),
    "cloth": (1, 2),
    "sponge": (2, 2),
    "rubbed swab": (2, 3),
    "brush": (3, 3),
    "tissue": (3, 0),
    "gel": (4, 0),
    "poultice": (4, 0),
    "immersion": (5, 0),
}
"""Wetting and rubbing of an application, as section 2 of the design gives them."""
FORCE = {
    "spray": 0.1,
    "rolled swab": 0.3,
    "cloth": 0.5,
    "sponge": 0.5,
    "rubbed swab": 0.7,
    "brush": 0.7,
    "tissue": 0.2,
    "gel": 0.3,
    "poultice": 0.5,
    "immersion": 0.5,
}
TOUCH = {"dust": 0.1, "dry sponge": 0.3, "wrap": 0.05, "operate": 0.03, "move": 0.05}
"""Share of failing finish that a touch takes off."""
PREPARATION = frozenset({"sealer", "primer", "ground"})
FOREIGN = frozenset({"dirt", "wax"})
