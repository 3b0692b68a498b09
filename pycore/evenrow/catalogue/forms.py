"""What an entry of each data file holds: declared once, for reading and for the schema."""

from __future__ import annotations

from evenrow.catalogue.keys import PRICE_MAX, Form, Key

#: Largest loss coefficient of an emitter's body: more than any body that still passes water on.
BODY_LOSS_MAX = 10.0

_SOURCE = Key(
    name="source",
    help="Where the figures come from; without it the source at the head of the file stands.",
    required=False,
)
_LABEL = Key(name="label", help="Generic description, as lists and forms show it.")
_COIL = Key(
    name="coil",
    help="Lengths in which it is sold.",
    kind="length",
    many=True,
    rising=True,
    lo=0.5,
    hi=5000.0,
)
_COIL_PRICE = Key(
    name="price",
    help="Price of each coil, in the order of the coils.",
    kind="price",
    many=True,
    required=False,
    above=0.0,
    hi=PRICE_MAX,
)
_METRE_MASS = Key(
    name="mass_per_metre",
    help="Mass of a metre.",
    kind="mass",
    required=False,
    above=0.0,
    hi=20.0,
)
_PRICE = Key(
    name="price",
    help="Price of one piece.",
    kind="price",
    required=False,
    above=0.0,
    hi=PRICE_MAX,
)
_MASS = Key(
    name="mass", help="Mass of one piece.", kind="mass", required=False, above=0.0, hi=500.0
)


def _pressure(
    name: str, help_: str, *, required: bool = True, hi: float = 160.0, only_for: str = ""
) -> Key:
    """Return a pressure of more than nothing, up to `hi` metres of water."""
    return Key(
        name=name,
        help=help_,
        kind="pressure",
        required=required,
        above=0.0,
        hi=hi,
        only_for=only_for,
    )


DEVICES = Form(
    file="devices.toml",
    what="line",
    keys=(
        Key(name="kind", help="Thin-walled tape or dripline.", choices=("tape", "dripline")),
        _LABEL,
        Key(name="diameter", help="Inside diameter.", kind="diameter", lo=0.001, hi=0.2),
        Key(name="wall", help="Thickness of the wall.", kind="thickness", lo=5e-5, hi=0.01),
        Key(
            name="flow",
            help="Flow of one emitter.",
            kind="emitter_flow",
            above=0.0,
            hi=0.2 / 3600.0,
        ),
        _pressure("at", "Pressure at which that flow is stated."),
        Key(
            name="exponent",
            help="Emitter exponent: how strongly flow follows pressure.",
            kind="number",
            lo=0.0,
            hi=1.0,
        ),
        Key(
            name="cv", help="Coefficient of manufacturing variation.", kind="share", lo=0.0, hi=0.4
        ),
        _pressure("pressure_min", "Lowest pressure it is meant for.", required=False),
        _pressure(
            "compensates_from",
            "Pressure from which the flow stays the same; makes the line pressure-compensating.",
            required=False,
        ),
        _pressure("pressure_max", "Highest pressure it bears."),
        Key(
            name="spacings",
            help="Emitter spacings in which it is sold.",
            kind="spacing",
            many=True,
            rising=True,
            lo=0.02,
            hi=5.0,
        ),
        Key(
            name="passage",
            help="Narrowest water passage of an emitter.",
            kind="diameter",
            lo=5e-5,
            hi=0.02,
        ),
        Key(
            name="body_loss",
            help="Loss coefficient of one emitter's body on the velocity head in the line; "
            "without it nothing is lost there.",
            kind="number",
            required=False,
            lo=0.0,
            hi=BODY_LOSS_MAX,
        ),
        _COIL,
        _COIL_PRICE,
        _METRE_MASS,
        _SOURCE,
    ),
    one_of=("pressure_min", "compensates_from"),
)

PIPES = Form(
    file="pipes.toml",
    what="pipe",
    keys=(
        _LABEL,
        Key(name="bore", help="True inside diameter.", kind="diameter", lo=0.003, hi=1.0),
        _pressure("pressure_max", "Highest pressure it bears.", hi=400.0),
        _COIL,
        Key(
            name="clamped",
            help="Whether each end on a fitting takes a clamp.",
            kind="flag",
        ),
        _COIL_PRICE,
        _METRE_MASS,
        _SOURCE,
    ),
)

#: Kinds of part of a head assembly; a design finds its parts by these.
PART_KINDS = (
    "timer",
    "backflow preventer",
    "standing backflow preventer",
    "reduced-pressure backflow preventer",
    "check valve for injection",
    "check valve",
    "injector",
    "filter",
    "tank filter",
    "regulator",
    "adapter",
    "tank adapter",
    "zone valve",
    "ball valve",
)


def _part_flow(name: str, help_: str, *, required: bool = True) -> Key:
    return Key(name=name, help=help_, kind="flow", required=required, above=0.0, hi=1.0)


PARTS = Form(
    file="assembly.toml",
    what="part",
    keys=(
        Key(name="kind", help="Trade name of its kind.", choices=PART_KINDS),
        _LABEL,
        Key(name="size", help="Nominal thread; all parts of one assembly have the same."),
        _part_flow("flow", "Flow at which the loss is stated."),
        Key(
            name="loss",
            help="Pressure lost at that flow; it grows with the square of the flow.",
            kind="pressure",
            lo=0.0,
            hi=50.0,
        ),
        _part_flow("flow_min", "Least flow at which it works.", required=False),
        _part_flow("flow_max", "Largest flow it passes."),
        Key(
            name="dirty",
            help="Further loss to allow before a filter is cleaned.",
            kind="pressure",
            required=False,
            lo=0.0,
            hi=20.0,
        ),
        _pressure(
            "set", "Outlet pressure that a regulator holds.", required=False, only_for="regulator"
        ),
        _pressure(
            "margin",
            "How much more than its setting a regulator needs before it; 5 psi if left out.",
            required=False,
        ),
        _pressure(
            "pressure_min",
            "Lowest pressure before it at which a zone valve opens and closes.",
            required=False,
        ),
        _pressure(
            "pressure_max",
            "Highest pressure that it bears; not looked at if left out.",
            required=False,
            hi=400.0,
        ),
        _PRICE,
        _MASS,
        _SOURCE,
    ),
)

#: Kinds of fitting; a parts list finds its fittings by these.
FITTING_KINDS = (
    "take-off",
    "take-off with valve",
    "end cap",
    "coupling",
    "repair piece",
    "stake",
    "hole plug",
    "tee",
    "elbow",
    "reducer",
    "clamp",
    "flush valve",
    "thread adapter",
    "elbow thread adapter",
    "swivel",
    "thread seal tape",
    "filter element",
    "controller",
    "valve wire",
    "wire joint",
    "pressure gauge",
    "low pressure gauge",
    "test point",
    "air relief valve",
    "punch",
    "pipe cutter",
)

FITTINGS = Form(
    file="fittings.toml",
    what="fitting",
    keys=(
        Key(name="kind", help="Trade name of its kind.", choices=FITTING_KINDS),
        _LABEL,
        Key(
            name="fits",
            help="Code of the pipe, line or head part, kind of line or thread that it fits; "
            "without it, any.",
            required=False,
        ),
        Key(
            name="to",
            help="Its other side: the smaller pipe of a reducer, the thread of an adapter.",
            required=False,
        ),
        Key(
            name="stations",
            help="Zone valves that a controller can run.",
            kind="count",
            required=False,
            only_for="controller",
            lo=1,
            hi=500,
        ),
        Key(
            name="pack",
            help="Pieces in the smallest pack sold; one if left out.",
            kind="count",
            required=False,
            lo=1,
            hi=10000,
        ),
        Key(
            name="unit",
            help="What price and mass are for; a piece if left out.",
            required=False,
            choices=("piece", "metre"),
        ),
        _PRICE,
        _MASS,
        _SOURCE,
    ),
)

#: The file that names the catalogue; its keys stand at the top level.
ABOUT = Form(
    file="catalogue.toml",
    what="catalogue",
    keys=(
        Key(name="name", help="What the catalogue is called."),
        Key(name="version", help="Its version or date, such as 2026-03."),
        Key(
            name="currency",
            help="Currency of every price, in three capital letters such as USD or EUR.",
            pattern="[A-Z]{3}",
        ),
        Key(name="source", help="Where its figures come from.", required=False),
    ),
)

#: The files with entries, in the order in which they are read.
FORMS = (DEVICES, PIPES, PARTS, FITTINGS)
