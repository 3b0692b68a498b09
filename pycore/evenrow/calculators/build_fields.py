"""What the builder may choose about the parts, as folded fields of a form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenrow.calculators.spec import Choice, Field
from evenrow.design.choices import SPARE_SHARE_MAX, BuildChoices

_GROUP = "Choices for building"


def _flag(name: str, label: str, default: str, help_text: str) -> Field:
    return Field(
        name=f"build.{name}",
        label=label,
        kind="flag",
        default=default,
        help=help_text,
        group=_GROUP,
        folded=True,
        assumed=True,
    )


BUILD_FIELDS = (
    _flag(
        "takeoff_valves",
        "Small valve at each take-off",
        "no",
        "Shuts a single run, to mend it or to rest it. Dearer than a plain take-off.",
    ),
    _flag(
        "couplings",
        "Runs may be joined",
        "yes",
        "Whether a run may be made of two cuts with a coupling. No = only whole runs.",
    ),
    _flag(
        "flush_valves",
        "Flush valve at the end of each header",
        "no",
        "Opens by hand to flush a header. Otherwise a cap comes off.",
    ),
    _flag(
        "repair_kit",
        "Repair pieces for the line",
        "no",
        "Short pieces with a coupling at each end, ready for a cut line.",
    ),
    Field(
        name="build.adapter",
        label="Adapter from head assembly to main",
        kind="choice",
        choices=(
            Choice(value="auto", label="by the height of the tap"),
            Choice(value="straight", label="straight"),
            Choice(value="elbow", label="elbow"),
        ),
        default="auto",
        help="Below a low tap an elbow keeps the pipe from kinking.",
        group=_GROUP,
        folded=True,
        assumed=True,
    ),
    Field(
        name="build.tap_height",
        label="Height of the tap above the ground",
        kind="length",
        lo=0.0,
        hi=10.0,
        required=False,
        help="Under 0.3 m (1 ft) an elbow is taken. Leave empty if it is higher or not known.",
        group=_GROUP,
        folded=True,
    ),
    Field(
        name="build.spare_share",
        label="Spare fittings",
        kind="share",
        lo=0.0,
        hi=SPARE_SHARE_MAX,
        default="5 %",
        help="How many more small fittings to have over. 5 % is usual.",
        group=_GROUP,
        folded=True,
        assumed=True,
    ),
)


def build_choices(inputs: Mapping[str, Any], *, timer: bool) -> BuildChoices:
    """Return the choices that the ``build`` part of a read form describes.

    Parameters
    ----------
    inputs : mapping
        Its values by the last part of the field's name.
    timer : bool
        Whether watering shall start by itself.
    """
    adapter = inputs["adapter"]
    return BuildChoices(
        takeoff_valves=inputs["takeoff_valves"],
        timer=timer,
        adapter=None if adapter == "auto" else adapter,
        tap_height=inputs["tap_height"],
        repair_kit=inputs["repair_kit"],
        couplings=inputs["couplings"],
        spare_share=inputs["spare_share"],
        flush_valves=inputs["flush_valves"],
    )
