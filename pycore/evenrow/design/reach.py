"""How much a source brings, and through what."""

from __future__ import annotations

import numpy as np

from evenrow.design.assembly import HeadAssembly, loss_at
from evenrow.hydraulics.source import SourceCurve

#: Flows tried at once, and rounds between the two nearest: to the last digits of a float.
POINTS, ROUNDS = 33, 10
#: More than any source gives. [m3/s]
FLOW_MAX = 1e3


class SourceReach:
    """What a source brings to a zone, part of it kept in reserve.

    Parameters
    ----------
    source : SourceCurve
        Its head by flow.
    reserve : float
        Share of its flow that is left for others.
    """

    def __init__(self, source: SourceCurve, reserve: float) -> None:
        self.source = source
        self.kept = 1.0 - reserve
        self._brought: dict[HeadAssembly, float | None] = {}

    def usable(self, head: float | None) -> float:
        """Return the flow that the source holds at a head, less the reserve [m3/s].

        Without a head, its open flow or the last point of its curve; a tank whose outlet loses
        nothing gives any flow, and pipe and filter then limit it.
        """
        source = self.source
        if head is None:
            flow = source.max_flow
        elif head >= source.shutoff_head:
            flow = 0.0
        else:
            flow = min(float(source.flow_at(head)), source.max_flow)
        return self.kept * min(flow, FLOW_MAX)

    def through(self, assembly: HeadAssembly) -> float | None:
        """Return the most that the source brings through an assembly [m3/s], None if no limit."""
        if assembly not in self._brought:
            self._brought[assembly] = self._through(assembly)
        return self._brought[assembly]

    def _through(self, assembly: HeadAssembly) -> float | None:
        set_head = assembly.set_head
        if set_head is None:
            usable = self.usable(None)
            return usable if usable < self.kept * FLOW_MAX else None
        # The parts before the regulator take more as the flow grows, and the source gives
        # less: the most that it brings through them is where both meet.
        low, high = 0.0, self.usable(set_head)
        loss = loss_at(assembly.up_to_regulator, 1.0)
        for _ in range(ROUNDS):
            flows = np.linspace(low, high, POINTS)
            brought, _ = self.source.head(flows / self.kept)
            enough = int(np.count_nonzero(brought >= set_head + loss * flows**2))
            low, high = (float(flows[max(enough - 1, 0)]), float(flows[min(enough, POINTS - 1)]))
        return low
