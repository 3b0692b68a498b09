"""Blocks and farms with the flow of every emitter: our solve against a network engine's.

Both sides use the same friction law (64/Re, the engine's cubic, Swamee and Jain), so that
their flows can be held against each other; the engine's rounded constants are compensated.
"""

from __future__ import annotations

import math
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from evenrow.hydraulics.assembly import Regulator
from evenrow.hydraulics.block import BlockSolution, Zone, solve_block, solve_zones
from evenrow.hydraulics.emitter import Emitter
from evenrow.hydraulics.header import Header
from evenrow.hydraulics.lateral import Lateral
from evenrow.hydraulics.pipe import Pipe
from evenrow.hydraulics.source import SourceCurve
from evenrow.hydraulics.tree import Branch

__all__ = [
    "block_1e5_vs_engine",
    "block_distinct_vs_engine",
    "emitters_growth_exponent",
    "farm_1e6_vs_engine",
    "memory_1e6_mb",
]

FOOT = 0.3048
LAW = "swamee-jain"
# The engine rounds: g to 32.2 ft/s2 in Darcy-Weisbach, 8/(pi^2 g) to 0.02517 in local losses,
# psi per foot of water to 0.4333. Lengths, coefficients and settings are scaled to cancel it.
_GRAVITY = 32.2 * FOOT / 9.80665
_LOCAL = 8.0 / (math.pi**2 * 9.80665 / FOOT) / 0.02517
_PSI_PER_FOOT = 0.4333
_AGREE = 1e-3


class Model:
    """The engine's input while it is written; nodes are numbered as the engine does.

    Attributes
    ----------
    emitters : list of list of int
        Node numbers of the emitters of each take-off.
    """

    def __init__(self, viscosity: float, exponent: float) -> None:
        self.viscosity, self.exponent = viscosity, exponent
        self.junctions: list[str] = []
        self.pipes: list[str] = []
        self.coefficients: list[str] = []
        self.other: dict[str, list[str]] = {}
        self.level: list[float] = []
        self.emitters: list[list[int]] = []

    def node(self, level: float) -> int:
        """Add a junction at an elevation [m]; return its number."""
        self.level.append(level)
        self.junctions.append(f"J{len(self.level)} {level / FOOT:.12g} 0")
        return len(self.level)

    def pipe(
        self, start: str, end: int, length: float, diameter: float, roughness: float, k: float = 0.0
    ) -> None:
        """Add a pipe between two nodes (SI)."""
        self.pipes.append(
            f"P{len(self.pipes)} {start} J{end} {length / FOOT * _GRAVITY:.12g} "
            f"{diameter / FOOT * 12.0:.12g} {roughness / FOOT * 1000.0:.12g} {k * _LOCAL:.12g} Open"
        )

    def text(self) -> str:
        """Return the whole input."""
        options = [
            "UNITS CFS", "HEADLOSS D-W", f"VISCOSITY {self.viscosity / FOOT**2:.12g}",
            "TRIALS 200", "ACCURACY 1e-8", f"EMITTER EXPONENT {self.exponent:.12g}",
            "BACKFLOW ALLOWED NO",
        ]  # fmt: skip
        sections = {
            "JUNCTIONS": self.junctions, **self.other, "PIPES": self.pipes,
            "EMITTERS": self.coefficients, "OPTIONS": options, "TIMES": ["DURATION 0"],
            "REPORT": ["STATUS NO", "SUMMARY NO"], "END": [],
        }  # fmt: skip
        return "\n".join(f"[{n}]\n" + "\n".join(rows) for n, rows in sections.items()) + "\n"


def block_model(
    source: SourceCurve,
    regulator: Regulator | None,
    main: Sequence[Pipe],
    branches: Sequence[Branch],
    laterals: Sequence[Lateral],
    index: Sequence[Sequence[int]],
    *,
    before: Sequence[Pipe] = (),
) -> Model:
    """Return the engine's model of a block.

    Parameters
    ----------
    source : SourceCurve
        A tank without loss (a reservoir) or a power law (a pump on a reservoir).
    regulator : Regulator or None
        A pressure-reducing valve without loss of its own.
    main, branches, laterals, index
        As in `evenrow.hydraulics.block.solve_block`; all laterals with one exponent.
    before : sequence of Pipe
        What lies between source and regulator.
    """
    emitter = laterals[0].emitter
    model = Model(laterals[0].viscosity, emitter.exponent)
    model.other["RESERVOIRS"] = [f"R {(0.0 if source.k else source.shutoff_head) / FOOT:.12g}"]
    at, level = "R", 0.0
    if source.k:
        q = source.max_flow
        points = [(part * q, float(source.head(part * q)[0])) for part in (0.0, 0.5, 1.0)]
        model.other["CURVES"] = [f"C {x / FOOT**3:.12g} {y / FOOT:.12g}" for x, y in points]
        at = f"J{model.node(0.0)}"
        model.other["PUMPS"] = [f"PUMP R {at} HEAD C"]
    for pipe in before:
        node = model.node(level)
        model.pipe(at, node, max(pipe.length, 1e-3), pipe.diameter, pipe.roughness, pipe.minor_k)
        at = f"J{node}"
    if regulator is not None:
        if at == "R":  # a valve must not touch a reservoir
            first = model.node(0.0)
            model.pipe(at, first, 1e-3, 0.5, 1e-6)
            at = f"J{first}"
        behind = model.node(0.0)
        setting = regulator.set_head / FOOT * _PSI_PER_FOOT
        model.other["VALVES"] = [f"V {at} J{behind} 12 PRV {setting:.12g} 0"]
        at = f"J{behind}"
    for pipe in main:
        level += pipe.rise
        node = model.node(level)
        # The engine takes no pipe of no length.
        length = max(pipe.length, 1e-3)
        model.pipe(at, node, length, pipe.diameter, pipe.roughness, pipe.minor_k)
        at = f"J{node}"
    places: list[list[int]] = []
    for branch, kinds in zip(branches, index, strict=True):
        start, base = at, level
        if branch.parent >= 0:
            node = places[branch.parent][branch.takeoff]
            start, base = f"J{node}", model.level[node - 1]
        if branch.lead is not None:
            base += branch.lead.rise
            node = model.node(base)
            lead = branch.lead
            model.pipe(start, node, lead.length, lead.diameter, lead.roughness, lead.minor_k)
            start = f"J{node}"
        places.append(_write_header(model, branch.header, start, base))
        for i, kind in enumerate(kinds):
            _write_lateral(model, branch.header, i, places[-1][i], laterals[kind])
    return model


def _write_header(model: Model, header: Header, start: str, base: float) -> list[int]:
    """Add a header's segments; return the node of each take-off."""
    mine = [0] * header.count
    for side in (range(header.feed, header.count), range(header.feed - 1, -1, -1)):
        above, level = start, base
        for i in side:
            level += float(header.rise[i])
            mine[i] = model.node(level)
            model.pipe(
                above, mine[i], float(header.length[i]), float(header.diameter[i]),
                float(header.roughness[i]),
            )  # fmt: skip
            above = f"J{mine[i]}"
    return mine


def _write_lateral(model: Model, header: Header, i: int, node: int, lateral: Lateral) -> None:
    """Add the emitters of one take-off; its loss goes to the first pipe, a body's to each."""
    device, line = lateral.emitter, lateral.line
    power = device.exponent
    at_one_metre = device.flow_nominal / device.head_nominal**power
    coefficient = at_one_metre * FOOT ** (power - 3.0) / _PSI_PER_FOOT**power
    bore = float(lateral.diameter)
    k = 0.0
    if header.takeoff_diameter is not None:
        k = float(header.takeoff_k[i]) * (bore / float(header.takeoff_diameter[i])) ** 4
    above, level, mine = f"J{node}", model.level[node - 1], []
    for rise, length in zip(line.rise.tolist(), line.length.tolist(), strict=True):
        here = model.node(level + rise)
        model.pipe(above, here, length, bore, lateral.roughness, k + lateral.barb_k)
        model.coefficients.append(f"J{here} {coefficient:.12g}")
        mine.append(here)
        above, k = f"J{here}", 0.0
    model.emitters.append(mine)


class Engine:
    """The network engine with a model loaded."""

    def __init__(self, model: Model) -> None:
        from epanet import toolkit

        self.kit, self.model = toolkit, model
        self.folder = tempfile.TemporaryDirectory()
        path = Path(self.folder.name)
        start = time.perf_counter()
        (path / "net.inp").write_text(model.text(), encoding="ascii")
        self.project = toolkit.createproject()
        toolkit.open(self.project, *(str(path / f"net.{end}") for end in ("inp", "rpt", "out")))
        toolkit.openH(self.project)
        #: Seconds to write the text to a file and have the engine read it.
        self.loading = time.perf_counter() - start

    def solve(self) -> None:
        """Initialise and solve; nothing else."""
        self.kit.initH(self.project, self.kit.INITFLOW)
        self.kit.runH(self.project)

    def flows(self) -> list[np.ndarray]:
        """Return the emitter flows of each take-off [m3/s]."""
        get, project, what = self.kit.getnodevalue, self.project, self.kit.EMITTERFLOW
        return [
            np.array([get(project, node, what) for node in nodes]) * FOOT**3
            for nodes in self.model.emitters
        ]

    def close(self) -> None:
        """Give the engine's memory and files back."""
        self.kit.closeH(self.project)
        self.kit.close(self.project)
        self.kit.deleteproject(self.project)
        self.folder.cleanup()


DEVICE = Emitter(1.0e-3 / 3600.0, 10.0, 0.5, 0.05, 5.0, 20.0)
TANK = SourceCurve.from_tank(10.0)


def _lateral(count: int, slope: float = 0.0) -> Lateral:
    """Return a tape of some emitters."""
    return Lateral(DEVICE, count, 0.3, 0.022, slope=slope, friction=LAW)


def _header(laterals: int, diameter: float = 0.16) -> Header:
    """Return an end-fed header."""
    return Header(np.full(laterals, 1.5), diameter, friction=LAW)


def _timed(action: Callable[[], Any]) -> float:
    """Return the seconds an action takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def _compare(
    model: Model, ours: Callable[[], Any], flows: Callable[[], BlockSolution], repeats: int,
    times: int = 1,
) -> tuple[float, str]:  # fmt: skip
    """Return engine time (`times` over) by ours, and how it was measured."""
    engine = Engine(model)
    try:
        engine.solve()
        ours()
        pairs = [(_timed(engine.solve), _timed(ours)) for _ in range(repeats)]
        theirs, mine = (statistics.median(side) for side in zip(*pairs, strict=True))
        solution = flows()
        apart = max(
            float(np.abs(a / b - 1.0).max())
            for a, b in zip(solution.emitter_flows, engine.flows(), strict=True)
        )
        loading = engine.loading
    finally:
        engine.close()
    if apart > _AGREE:
        raise RuntimeError(f"the two disagree by {apart:.3%}: nothing to compare")
    over = f" times {times}" if times > 1 else ""
    return times * theirs / mine, (
        f"medians of {repeats} interleaved solves in one run: engine {theirs * 1e3:.0f} ms{over} "
        f"(initialise and solve, accuracy 1e-8), ours {mine * 1e3:.1f} ms with all emitter flows; "
        f"with writing and loading its model (another {loading * 1e3:.0f} ms{over}) the ratio is "
        f"{times * (theirs + loading) / mine:.0f}; largest difference of an emitter flow "
        f"{apart:.1e}, interpolation error at most {solution.error:.1e}"
    )


def _result(name: str, value: float, target: float, method: str) -> dict[str, Any]:
    """Return a ratio that should be high."""
    return {
        "name": name, "value": round(value, 2), "target": target, "better": "higher",
        "unit": "x", "method": method,
    }  # fmt: skip


def block_1e5_vs_engine(repeats: int = 5) -> dict[str, Any]:
    """Solve 100 equal laterals of 1,000 emitters on one header."""
    header, laterals = _header(100), [_lateral(1000)]
    model = block_model(TANK, None, [], [Branch(header)], laterals, [[0] * 100])

    def ours() -> BlockSolution:
        return solve_block(TANK, [], [], header, laterals, 0)

    value, method = _compare(model, ours, ours, repeats)
    return _result("block of 100 x 1,000 emitters, engine time over ours", value, 25.0, method)


def farm_1e6_vs_engine(repeats: int = 5) -> dict[str, Any]:
    """Solve 20 zones of 50 laterals of 1,000 emitters, each at the end of its own main."""
    laterals, header = [_lateral(1000)], _header(50)
    zones = [Zone(header, 0, [Pipe(10.0 * (i + 1), 0.16, friction=LAW)]) for i in range(20)]
    model = block_model(TANK, None, zones[9].main, [Branch(header)], laterals, [[0] * 50])

    def ours() -> tuple[BlockSolution, ...]:
        return solve_zones(TANK, [], zones, laterals)

    value, method = _compare(model, ours, lambda: ours()[9], repeats, times=20)
    return _result(
        "farm of 20 x 50 x 1,000 emitters, engine time over ours", value, 100.0,
        "engine: one of the zones, times 20; " + method,
    )  # fmt: skip


def block_distinct_vs_engine(repeats: int = 5) -> dict[str, Any]:
    """Solve 100 laterals that differ in length, slope and inlet head, 80,000 emitters."""
    count = np.linspace(600, 1000, 100).astype(int)
    slope = 0.008 * np.sin(np.arange(100) * 1.7)
    laterals = [_lateral(int(n), float(s)) for n, s in zip(count, slope, strict=True)]
    header = _header(100)
    model = block_model(TANK, None, [], [Branch(header)], laterals, [list(range(100))])

    def ours() -> BlockSolution:
        return solve_block(TANK, [], [], header, laterals, np.arange(100))

    value, method = _compare(model, ours, ours, repeats)
    return _result(
        f"block of {int(count.sum()):,} emitters, all laterals different, engine time over ours",
        value, 5.0, method,
    )  # fmt: skip


def emitters_growth_exponent(repeats: int = 5) -> dict[str, Any]:
    """Fit time = c n^exponent to blocks of 10^3 to 10^6 emitters."""
    shapes = ((10, 100), (100, 100), (100, 1000), (1000, 1000))
    seconds = []
    for rows, count in shapes:
        header, laterals = _header(rows, 0.16 if rows < 1000 else 0.6), [_lateral(count)]

        def ours(header: Header = header, laterals: list[Lateral] = laterals) -> None:
            solve_block(TANK, [], [], header, laterals, 0)

        ours()
        seconds.append(statistics.median(_timed(ours) for _ in range(repeats)))
    size = [math.log(rows * count) for rows, count in shapes]
    exponent = float(np.polyfit(size, np.log(seconds), 1)[0])
    listed = ", ".join(
        f"{rows * count:,}: {t * 1e3:.1f} ms"
        for (rows, count), t in zip(shapes, seconds, strict=True)
    )
    return {
        "name": "growth of the time with the number of emitters", "value": round(exponent, 3),
        "target": 0.6, "better": "lower", "unit": "exponent",
        "method": f"least squares through medians of {repeats} solves of blocks of equal "
        f"laterals, all emitter flows: {listed}",
    }  # fmt: skip


_MEMORY = """
import resource, sys
sys.path[:0] = [{folder!r}]
import network

zones = [network.Zone(network._header(50), 0) for _ in range(20)]
solved = network.solve_zones(network.TANK, [], zones, [network._lateral(1000)])
assert sum(len(block.flows) for block in solved) == 1_000_000
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def memory_1e6_mb() -> dict[str, Any]:
    """Peak memory of a process that solves 10^6 emitters and keeps all their flows."""
    script = _MEMORY.format(folder=str(Path(__file__).parent))
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    return {
        "name": "peak memory with 1,000,000 emitters", "value": round(int(done.stdout) / 1024.0, 1),
        "target": 400.0, "better": "lower", "unit": "MB",
        "method": "largest resident set of a process of its own, Python and NumPy included, "
        "20 zones of 50 laterals of 1,000 emitters, all flows kept",
    }  # fmt: skip


if __name__ == "__main__":
    for benchmark in (
        block_1e5_vs_engine, farm_1e6_vs_engine, block_distinct_vs_engine,
        emitters_growth_exponent, memory_1e6_mb,
    ):  # fmt: skip
        print(benchmark())
