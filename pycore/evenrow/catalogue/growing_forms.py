"""How soils and crops are declared, and read: those of the package and those of one's own."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from evenrow.agronomy.wetting import TEXTURES
from evenrow.catalogue.keys import Entry, Form, Key, read_entry
from evenrow.errors import InputError

#: Kinds of crop.
GROUPS = ("vegetable", "berry", "vine", "fruit tree", "flower")

_LABEL = Key(name="label", help="What lists and forms call it.")


def _pair(name: str, help_: str, kind: str, *, hi: float) -> Key:
    """Return a range, the smaller end first."""
    return Key(name=name, help=help_, kind=kind, many=True, exactly=2, above=0.0, hi=hi)


def _shares(name: str, help_: str) -> Key:
    return Key(
        name=name, help=help_, kind="number", required=False, many=True, exactly=2, lo=0.0, hi=0.7
    )


def _coefficient(name: str, help_: str) -> Key:
    return Key(name=name, help=help_, kind="number", required=False, above=0.0, hi=2.0)


def _three_coefficients(name: str, help_: str) -> Key:
    return replace(_coefficient(name, help_), many=True, exactly=3)


def _flag(name: str, help_: str) -> Key:
    return Key(name=name, help=help_, kind="flag")


SOILS = Form(
    file="soils.toml",
    what="soil",
    keys=(
        _LABEL,
        Key(name="texture", help="Class of the table of wetted widths.", choices=tuple(TEXTURES)),
        Key(
            name="conductivity",
            help="Saturated hydraulic conductivity.",
            kind="velocity",
            above=0.0,
            hi=0.01,
        ),
        _shares("field_capacity", "Range of the water content at field capacity, from 0 to 1."),
        _shares("wilting_point", "Range of the water content at the wilting point, from 0 to 1."),
        Key(
            name="available_water",
            help="Water that plants can reach, where the two ranges are not given.",
            kind="share",
            required=False,
            above=0.0,
            hi=0.6,
        ),
        _pair("intake", "Range of the rate at which it takes up water.", "velocity", hi=0.01),
        Key(
            name="evaporable",
            help="Range of the water that dries off its surface as fast as the sun allows.",
            kind="water_depth",
            required=False,
            many=True,
            exactly=2,
            above=0.0,
            hi=0.05,
        ),
    ),
    one_of=("available_water", "field_capacity"),
)

CROPS = Form(
    file="crops.toml",
    what="crop",
    keys=(
        _LABEL,
        Key(name="group", help="Kind of crop.", choices=GROUPS),
        _pair("root_depth", "Range of the greatest rooting depth.", "length", hi=10.0),
        Key(
            name="depletion",
            help="Share of the available water that may be used before the crop suffers.",
            kind="number",
            above=0.0,
            hi=1.0,
        ),
        _three_coefficients(
            "kc", "Crop coefficients of the initial stage, mid-season and the end."
        ),
        _coefficient("kc_mid", "Crop coefficient of mid-season, where the initial is unknown."),
        _coefficient("kc_end", "Crop coefficient of the end, where the initial is unknown."),
        _three_coefficients("kcb", "Basal crop coefficients, with dry ground, of the same three."),
        Key(
            name="height",
            help="Height of the plants when grown.",
            kind="length",
            required=False,
            above=0.0,
            hi=30.0,
        ),
        Key(
            name="stages",
            help="Days of the initial, development, mid-season and late stage.",
            kind="count",
            required=False,
            many=True,
            exactly=4,
            lo=0,
            hi=400,
        ),
        Key(
            name="stages_for",
            help="Planting month and region for which the stages hold.",
            required=False,
        ),
        Key(
            name="plant_spacing",
            help="Usual distance between plants in the row.",
            kind="spacing",
            above=0.0,
            hi=20.0,
        ),
        Key(
            name="root_width",
            help="Width of ground along the row that the watering aims at.",
            kind="length",
            above=0.0,
            hi=20.0,
        ),
        _flag("bedded", "Whether its rows usually share beds."),
        _flag("perennial", "Whether it stays for years."),
    ),
    one_of=("kc", "kc_mid"),
)

#: Keys that stand together or not at all.
_PARTNERS = {
    "field_capacity": "wilting_point",
    "kc_mid": "kc_end",
    "kcb": "height",
    "stages": "stages_for",
}


def read_grown(form: Form, entry: Entry, complaints: list[InputError]) -> dict[str, Any] | None:
    """Read a soil or a crop through its form.

    Parameters
    ----------
    form : Form
        `SOILS` or `CROPS`.
    entry : Entry
        As it stands in a file.
    complaints : list of InputError
        Every complaint is added here.

    Returns
    -------
    dict or None
        SI value by key, see `evenrow.catalogue.keys.read_entry`. None after a complaint.
    """
    before = len(complaints)
    values = read_entry(form, entry, complaints)
    _check_partners(form, entry, complaints)
    for key in form.keys:
        found = () if values is None else values.get(key.name, ())
        if key.exactly == 2 and list(found) != sorted(found):
            complaints.append(
                InputError(
                    f"the range of {key.name} is the wrong way round",
                    code="not_rising",
                    field=entry.place(key.name),
                    given=entry.values[key.name],
                    accepted="two values, the smaller first",
                )
            )
    return values if len(complaints) == before else None


def _check_partners(form: Form, entry: Entry, complaints: list[InputError]) -> None:
    """Refuse one of two keys that only make sense together."""
    names = {key.name for key in form.keys}
    for first, second in _PARTNERS.items():
        if first in names and (first in entry.values) != (second in entry.values):
            given, missing = (first, second) if first in entry.values else (second, first)
            complaints.append(
                InputError(
                    f"{given} stands without {missing}",
                    code="missing",
                    field=entry.place(given),
                    accepted=f"{first} and {second} together, or neither",
                )
            )
