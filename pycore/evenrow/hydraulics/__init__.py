"""Hydraulics of drip irrigation: emitters, laterals, run length, sources and networks.

All values are SI floats and NumPy arrays: head in metres of water, flow in m3/s.

Water and friction
    `density`, `kinematic_viscosity`; the laws of `FRICTION_LAWS` (`friction_law`,
    `friction_gradient`, `hazen_williams` with another C), local losses
    (`local_loss_factor`, `equivalent_length`), `christiansen_factor`.
Devices and uniformity
    `Emitter`, `fit_emitter`; `emission_uniformity`, `distribution_uniformity_lq`,
    `statistical_uniformity`, `flow_variation`.
One lateral
    `Lateral`, `solve_lateral` for an inlet head, `solve_lateral_for_flow`, `lateral_curve`;
    `rises_from_survey` and `diameters_in_series` make its arrays; `paired_places` says where
    a header should cross a row.
Run length
    `longest_run` under `RunLimits`, `run_length_family` for all combinations at once,
    `longest_header`.
Networks
    `SourceCurve`, `LossComponent`, `Regulator`, `Pipe`, `PipeRun`, `Header` and `Branch`, solved by
    `solve_system` and `solve_tree`, and down to each emitter by `solve_block` and `solve_zones`.
Uncertainty and flushing
    `flow_uncertainty`, `lateral_uncertainty`; `flush_need`, `flush_at` for one lateral,
    `flush_state`, `recap_plan` for a zone.
"""

from __future__ import annotations

from importlib import import_module as _import_module
from typing import TYPE_CHECKING as _TYPE_CHECKING

from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.emitter import Emitter, PowerLawFit, fit_emitter, fit_power_law
from evenrow.hydraulics.flush_lateral import FlushSolution, flush_at, flush_need
from evenrow.hydraulics.friction import christiansen_factor, multiple_outlet_factor_exact
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, LateralSolution, solve_lateral
from evenrow.hydraulics.laws import (
    FRICTION_LAWS,
    FrictionLaw,
    equivalent_length,
    friction_gradient,
    friction_law,
    hazen_williams,
    local_loss_factor,
)
from evenrow.hydraulics.network import SystemSolution, TreeSolution, solve_system, solve_tree
from evenrow.hydraulics.pipe import Pipe, PipeRun, pipe_loss
from evenrow.hydraulics.run_length import LimitCheck, RunLength, longest_run
from evenrow.hydraulics.run_limits import RunLimits
from evenrow.hydraulics.source import (
    BucketStatistics,
    SourceCurve,
    bucket_statistics,
    usable_flow,
)
from evenrow.hydraulics.tree import Branch
from evenrow.hydraulics.uniformity import (
    distribution_uniformity_lq,
    emission_uniformity,
    flow_variation,
    statistical_uniformity,
)
from evenrow.hydraulics.water import density, kinematic_viscosity

if _TYPE_CHECKING:
    from evenrow.hydraulics.block import BlockSolution, Zone, solve_block, solve_zones
    from evenrow.hydraulics.families import LineKind, RunLengthFamily, run_length_family
    from evenrow.hydraulics.flush_many import Closing, EndsState, ManyFlush
    from evenrow.hydraulics.flushing import FlushState, RecapPlan, flush_state, recap_plan
    from evenrow.hydraulics.ground import diameters_in_series, rises_from_survey
    from evenrow.hydraulics.header_length import longest_header
    from evenrow.hydraulics.lateral_flow import solve_lateral_for_flow
    from evenrow.hydraulics.paired import PairedPlaces, paired_places
    from evenrow.hydraulics.uncertainty import Uncertainty, flow_uncertainty, lateral_uncertainty

__all__ = [  # noqa: RUF022 - in groups, as above
    # Water and friction
    "FRICTION_LAWS",
    "FrictionLaw",
    "christiansen_factor",
    "density",
    "equivalent_length",
    "friction_gradient",
    "friction_law",
    "hazen_williams",
    "kinematic_viscosity",
    "local_loss_factor",
    "multiple_outlet_factor_exact",
    # Devices and uniformity
    "Emitter",
    "PowerLawFit",
    "distribution_uniformity_lq",
    "emission_uniformity",
    "fit_emitter",
    "fit_power_law",
    "flow_variation",
    "statistical_uniformity",
    # One lateral
    "Lateral",
    "LateralCurve",
    "LateralSolution",
    "PairedPlaces",
    "diameters_in_series",
    "lateral_curve",
    "paired_places",
    "rises_from_survey",
    "solve_lateral",
    "solve_lateral_for_flow",
    # Run length
    "LimitCheck",
    "LineKind",
    "RunLength",
    "RunLengthFamily",
    "RunLimits",
    "longest_header",
    "longest_run",
    "run_length_family",
    # Networks
    "BlockSolution",
    "Branch",
    "BucketStatistics",
    "Header",
    "LossComponent",
    "Pipe",
    "PipeRun",
    "Regulator",
    "SourceCurve",
    "SystemSolution",
    "TreeSolution",
    "Zone",
    "bucket_statistics",
    "pipe_loss",
    "solve_block",
    "solve_system",
    "solve_tree",
    "solve_zones",
    "usable_flow",
    # Uncertainty and flushing
    "Closing",
    "EndsState",
    "FlushSolution",
    "FlushState",
    "ManyFlush",
    "RecapPlan",
    "Uncertainty",
    "flow_uncertainty",
    "flush_at",
    "flush_need",
    "flush_state",
    "lateral_uncertainty",
    "recap_plan",
]

#: What the site does not need is loaded when it is first asked for, so that a page starts sooner.
_LATER = {
    "block": (
        "BlockSolution",
        "Zone",
        "solve_block",
        "solve_zones",
    ),
    "flushing": (
        "FlushState",
        "RecapPlan",
        "flush_state",
        "recap_plan",
    ),
    "flush_many": (
        "Closing",
        "EndsState",
        "ManyFlush",
    ),
    "ground": (
        "diameters_in_series",
        "rises_from_survey",
    ),
    "header_length": ("longest_header",),
    "lateral_flow": ("solve_lateral_for_flow",),
    "paired": (
        "PairedPlaces",
        "paired_places",
    ),
    "families": (
        "LineKind",
        "RunLengthFamily",
        "run_length_family",
    ),
    "uncertainty": (
        "Uncertainty",
        "flow_uncertainty",
        "lateral_uncertainty",
    ),
}


def __getattr__(name: str) -> object:
    """Load a name of `_LATER` from its module."""
    for module, names in _LATER.items():
        if name in names:
            found: object = getattr(_import_module(f"{__name__}.{module}"), name)
            globals()[name] = found
            return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *(name for names in _LATER.values() for name in names)})
