"""What the choice of a line asks for: crop, soil, bed, row and pressure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from evenrow.calculators.catalogue_choices import CatalogueChoices
from evenrow.calculators.fields import (
    EU_TARGET,
    HEAD_MAX,
    LENGTH_MAX,
    ROW_SLOPE,
    TEMPERATURE,
)
from evenrow.calculators.spec import Choice, Field
from evenrow.catalogue.growing import crop, crops, soil, soils
from evenrow.design.planting import Planting
from evenrow.errors import InputError
from evenrow.hydraulics.water import kinematic_viscosity
from evenrow.words import tr

_MORE = "More about crop and water"

CROP = Field(
    name="planting.crop",
    label="Crop",
    kind="choice",
    choices=CatalogueChoices(crops),
    default="lettuce",
    help="It says how deep and wide the roots go, and whether the line stays for years. Yours is "
    "not there? Take one with roots like it.",
    group="Crop and soil",
)

SOIL = Field(
    name="planting.soil",
    label="Soil",
    kind="choice",
    choices=CatalogueChoices(soils),
    default="loam",
    help="Squeeze a moist handful: sand falls apart, loam holds its shape until you poke it, clay "
    "rolls into a long ribbon.",
    group="Crop and soil",
)

LAYOUT = Field(
    name="planting.layout",
    label="How the plants stand",
    kind="choice",
    choices=(
        Choice(value="bed", label="all over a bed"),
        Choice(value="row", label="one row of plants"),
    ),
    default="bed",
    help="A bed with several rows of plants is watered over its whole width; a single row only "
    "where its roots are.",
    group="Bed or row",
)

BED_WIDTH = Field(
    name="planting.bed_width",
    label="Width of the bed",
    kind="length",
    lo=0.1,
    hi=10.0,
    default={"us": "3 ft", "metric": "0.9 m"},
    required=False,
    help="The part that plants stand on, without the path.",
    group="Bed or row",
    only_for=("planting.layout", ("bed",)),
)

PLANT_SPACING = Field(
    name="planting.plant_spacing",
    label="Plants apart in the row",
    kind="spacing",
    lo=0.01,
    hi=20.0,
    required=False,
    help="Empty = usual for the crop.",
    group="Bed or row",
)

ROW_LENGTH = Field(
    name="planting.row_length",
    label="Longest row",
    kind="length",
    lo=0.5,
    hi=LENGTH_MAX,
    default={"us": "100 ft", "metric": "30 m"},
    help="From one end of the row to the other.",
    group="Bed or row",
)

BENDS = Field(
    name="planting.bends",
    label="The row bends",
    kind="flag",
    default="no",
    help="Round a corner or along a curve.",
    group="Bed or row",
    assumed=True,
)

PRESSURE = Field(
    name="pressure",
    label="Pressure at hand",
    kind="pressure",
    above=0.0,
    hi=HEAD_MAX,
    default={"us": "40 psi", "metric": "2.8 bar"},
    help="Gauge on the tap. For a tank: the height of its water above the rows, such as 4 ft of "
    "water.",
    group="Pressure",
)

REGULATED = Field(
    name="regulated",
    label="A pressure regulator will be fitted",
    kind="flag",
    default="yes",
    help="It brings the pressure down to what the line is made for.",
    group="Pressure",
    assumed=True,
)

ROOT_WIDTH = Field(
    name="planting.root_width",
    label="Width of the root zone along a single row",
    kind="length",
    lo=0.05,
    hi=10.0,
    required=False,
    help="Width of ground along the row that the watering aims at. Empty = usual for the crop.",
    group=_MORE,
    folded=True,
)

SHARE = Field(
    name="planting.share",
    label="Share of the ground to wet",
    kind="share",
    lo=0.05,
    hi=1.0,
    required=False,
    help="Empty = 80 % of a bed, 50 % of the root zone of a single row.",
    group=_MORE,
    folded=True,
)

STAYS = Field(
    name="planting.stays",
    label="How long the line stays",
    kind="choice",
    choices=(
        Choice(value="crop", label="as long as the crop"),
        Choice(value="season", label="one season"),
        Choice(value="years", label="several years"),
    ),
    default="crop",
    help="Thin tape is made for a season.",
    group=_MORE,
    folded=True,
    assumed=True,
)

BURIED = Field(
    name="planting.buried",
    label="The line is buried",
    kind="flag",
    default="no",
    help="A little under the surface, emitters up.",
    group=_MORE,
    folded=True,
    assumed=True,
)

PLANTING_FIELDS = (
    CROP,
    SOIL,
    LAYOUT,
    BED_WIDTH,
    PLANT_SPACING,
    ROW_LENGTH,
    BENDS,
    PRESSURE,
    REGULATED,
    ROOT_WIDTH,
    SHARE,
    STAYS,
    BURIED,
    replace(ROW_SLOPE, group=_MORE, folded=True),
    replace(EU_TARGET, group=_MORE, folded=True),
    TEMPERATURE,
)


def planting_of(inputs: Mapping[str, Any]) -> Planting:
    """Return what a read form describes.

    Parameters
    ----------
    inputs : mapping
        As `evenrow.calculators.reading.read` returns it.

    Raises
    ------
    InputError
        A bed without its width.
    """
    planting = inputs["planting"]
    chosen = crop(planting["crop"], field="planting.crop")
    bedded = planting["layout"] == "bed"
    if bedded and planting["bed_width"] is None:
        raise InputError(
            tr("a bed needs its width"),
            code="missing",
            field="planting.bed_width",
            accepted=tr("a width such as 3 ft or 0.9 m"),
            hint=tr("or choose one row of plants"),
        )
    stays = planting["stays"]
    return Planting(
        crop=chosen,
        soil=soil(planting["soil"], field="planting.soil"),
        bed_width=planting["bed_width"] if bedded else None,
        root_width=planting["root_width"] or chosen.root_width,
        plant_spacing=planting["plant_spacing"] or chosen.plant_spacing,
        row_length=planting["row_length"],
        row_slope=inputs["ground"]["row_slope"],
        head=inputs["pressure"],
        regulated=inputs["regulated"],
        bends=planting["bends"],
        years=chosen.perennial if stays == "crop" else stays == "years",
        eu=inputs["limits"]["eu"],
        viscosity=float(kinematic_viscosity(inputs["ground"]["water_temperature"])),
        share=planting["share"],
    )
