"""One lateral of 300 emitters: our solve against a general network engine's."""

from __future__ import annotations

import math
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.lateral import Lateral, solve_lateral

__all__ = [
    "lateral_300_vs_engine",
]

FOOT = 0.3048
# The engine rounds its constants: g to 32.2 ft/s2 in Darcy-Weisbach and psi per foot of
# water to 0.4333, and 8 / (pi^2 g) of a local loss to 0.02517.  Lengths, emitter and loss
# coefficients are scaled so that all three cancel.
_GRAVITY = 32.2 * FOOT / 9.80665
_PSI_PER_FOOT = 0.4333
_LOCAL = 8.0 / (math.pi**2 * 9.80665 / FOOT) / 0.02517


def engine_input(lateral: Lateral, inlet_head: float) -> str:
    """Return the engine's input text for a lateral fed at a fixed head.

    Parameters
    ----------
    lateral : Lateral
        The lateral. Compensating emitters are taken as fixed demands, so that all heads
        must come out above the head from which they are flat.
    inlet_head : float
        Pressure head at its inlet [m].

    Returns
    -------
    str
        Model in the engine's own units (ft, inch, ft3/s), Darcy-Weisbach.
    """
    device, line = lateral.emitter, lateral.line
    power = device.law_exponent
    at_one_metre = device.flow_nominal / device.head_nominal**power
    coefficient = at_one_metre * FOOT ** (power - 3.0) / _PSI_PER_FOOT**power
    # cfs of a compensating emitter, which the engine has no law for
    demand = device.flow_nominal / FOOT**3 if device.compensating else 0.0
    junctions = [f"J{i} {z / FOOT:.12g} {demand:.12g}" for i, z in enumerate(line.rise)]
    emitters = [f"J{i} {coefficient:.12g}" for i in range(lateral.count) if not demand]
    inches = np.broadcast_to(line.diameter, (lateral.count,)) / FOOT * 12.0
    pipes = [
        f"P{i} {'R' if i == 0 else f'J{i - 1}'} J{i} {size / FOOT * _GRAVITY:.12g} "
        f"{inches[i]:.12g} {lateral.roughness / FOOT * 1000.0:.12g} "
        f"{lateral.barb_k * _LOCAL:.12g} Open"
        for i, size in enumerate(line.length)
    ]
    options = [
        "UNITS CFS", "HEADLOSS D-W", f"VISCOSITY {lateral.viscosity / FOOT**2:.12g}",
        "TRIALS 200", "ACCURACY 1e-8", f"EMITTER EXPONENT {power:.12g}", "BACKFLOW ALLOWED NO",
    ]  # fmt: skip
    sections = {
        "JUNCTIONS": junctions,
        "RESERVOIRS": [f"R {inlet_head / FOOT:.12g}"],
        "PIPES": pipes,
        "EMITTERS": emitters,
        "OPTIONS": options,
        "TIMES": ["DURATION 0"],
        "REPORT": ["STATUS NO", "SUMMARY NO"],
        "END": [],
    }
    return "\n".join(f"[{name}]\n" + "\n".join(rows) for name, rows in sections.items()) + "\n"


class Engine:
    """The network engine with one lateral loaded."""

    def __init__(self, lateral: Lateral, inlet_head: float) -> None:
        from epanet import toolkit

        self.kit = toolkit
        self.count = lateral.count
        fixed = lateral.emitter.compensating
        self.outflow = toolkit.DEMAND if fixed else toolkit.EMITTERFLOW
        self.folder = tempfile.TemporaryDirectory()
        path = Path(self.folder.name)
        (path / "line.inp").write_text(engine_input(lateral, inlet_head), encoding="ascii")
        self.project = toolkit.createproject()
        names = (str(path / name) for name in ("line.inp", "line.rpt", "line.out"))
        toolkit.open(self.project, *names)
        toolkit.openH(self.project)

    def solve(self) -> None:
        """Initialise and solve; nothing else."""
        self.kit.initH(self.project, self.kit.INITFLOW)
        self.kit.runH(self.project)

    def heads_and_flows(self) -> tuple[np.ndarray, np.ndarray]:
        """Return pressure heads [m] and emitter flows [m3/s]."""
        kit, project = self.kit, self.project
        nodes = range(1, self.count + 1)
        total = np.array([kit.getnodevalue(project, i, kit.HEAD) for i in nodes])
        level = np.array([kit.getnodevalue(project, i, kit.ELEVATION) for i in nodes])
        return (total - level) * FOOT, self.flows()

    def flows(self) -> np.ndarray:
        """Return the emitter flows alone [m3/s]."""
        kit, project = self.kit, self.project
        nodes = range(1, self.count + 1)
        flow = [kit.getnodevalue(project, i, self.outflow) for i in nodes]
        return np.array(flow) * FOOT**3

    def close(self) -> None:
        """Give the engine's memory and files back."""
        self.kit.closeH(self.project)
        self.kit.close(self.project)
        self.kit.deleteproject(self.project)
        self.folder.cleanup()


def lateral_300_vs_engine(repeats: int = 41) -> dict[str, Any]:
    """Time both on the same lateral, turn by turn, and return the ratio of the medians."""
    device = Emitter(1.6e-3 / 3600.0, 10.0, 0.5, 0.05, 5.0, 20.0)
    lateral = Lateral(device, 300, 0.3, 0.0142)
    loading: list[float] = []
    for _ in range(5):
        start = time.perf_counter()
        engine = Engine(lateral, 10.0)
        loading.append(time.perf_counter() - start)
        engine.close()
    engine = Engine(lateral, 10.0)
    ours: list[float] = []
    theirs: list[float] = []
    try:
        for turn in range(repeats + 3):
            start = time.perf_counter()
            engine.solve()
            middle = time.perf_counter()
            solution = solve_lateral(lateral, 10.0)
            end = time.perf_counter()
            if turn >= 3:  # the first turns only warm up
                theirs.append(middle - start)
                ours.append(end - middle)
        _, flow = engine.heads_and_flows()
    finally:
        engine.close()
    apart = float(np.max(np.abs(solution.flow / flow - 1.0)))
    if apart > 0.01:
        raise RuntimeError(f"the two disagree by {apart:.3%}: nothing to compare")
    ratio = statistics.median(theirs) / statistics.median(ours)
    with_model = ratio + statistics.median(loading) / statistics.median(ours)
    return {
        "name": "lateral of 300 emitters, engine time over ours",
        "value": round(ratio, 3),
        "target": 2.0,
        "better": "higher",
        "unit": "x",
        "method": (
            f"medians of {repeats} interleaved solves in one run: engine "
            f"{statistics.median(theirs) * 1e6:.0f} us (initialise and solve, accuracy 1e-8, "
            "writing and reading the model left out), ours "
            f"{statistics.median(ours) * 1e6:.0f} us; "
            f"with writing and reading the model {with_model:.1f}; "
            f"largest difference of an emitter flow {apart:.2%} (different friction laws)"
        ),
    }


if __name__ == "__main__":
    print(lateral_300_vs_engine())
