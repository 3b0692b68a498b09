"""Hydraulics of drip irrigation: emitters, laterals, run length, sources and networks.

All values are SI floats and NumPy arrays: head in metres of water, flow in m3/s.
"""

from __future__ import annotations

from evenrow.hydraulics.assembly import LossComponent, Regulator
from evenrow.hydraulics.curve import LateralCurve, lateral_curve
from evenrow.hydraulics.emitter import Emitter, fit_power_law
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral, LateralSolution, solve_lateral
from evenrow.hydraulics.network import SystemSolution, solve_system
from evenrow.hydraulics.pipe import Pipe, pipe_loss
from evenrow.hydraulics.run_length import LimitCheck, RunLength, RunLimits, longest_run
from evenrow.hydraulics.source import (
    BucketStatistics,
    SourceCurve,
    bucket_statistics,
    usable_flow,
)

__all__ = [
    "BucketStatistics",
    "Emitter",
    "Header",
    "Lateral",
    "LateralCurve",
    "LateralSolution",
    "LimitCheck",
    "LossComponent",
    "Pipe",
    "Regulator",
    "RunLength",
    "RunLimits",
    "SourceCurve",
    "SystemSolution",
    "bucket_statistics",
    "fit_power_law",
    "lateral_curve",
    "longest_run",
    "pipe_loss",
    "solve_lateral",
    "solve_system",
    "usable_flow",
]
