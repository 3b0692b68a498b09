"""What the source gives: bucket readings and gauge in, curve and usable flow out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenrow.errors import InputError
from evenrow.hydraulics.source import SourceCurve, bucket_statistics, usable_flow
from evenrow.words import said, tr

#: Share of the open flow that is planned on when no pressure is known.
SHARE_WITHOUT_GAUGE = 0.75

RULE_CURVE = said(
    "The flow at which the source curve still holds the pressure that the system needs."
)
RULE_SHARE = said(
    "75 % of the open flow, because no static pressure was given and the fall of pressure "
    "with flow is not known."
)


#: Exponents of a service line with its valve: between friction alone and fittings alone.
EXPONENTS = (1.5, 2.1)
#: Throttled readings that lie further off the curve than this share of the static head are
#: pointed at.
MISFIT = 0.1


@dataclass(frozen=True, kw_only=True)
class FlowTest:
    """A flow test worked out; flows in m3/s, heads in metres of water.

    `spread` is the largest less the smallest reading over the mean; `half_width` that of the
    95 % interval of the mean (0 for one reading).  `curve` is None when no static pressure
    was given.
    """

    open_flow: float
    count: int
    spread: float
    half_width: float
    curve: SourceCurve | None
    exponent: float
    usable_flow: float
    rule: str
    source: str
    verdict: str
    warnings: tuple[str, ...]

    def curve_points(self, shares: Sequence[float]) -> list[tuple[float, float, float]]:
        """Return (share, head, flow) at those shares of the open flow."""
        if self.curve is None:
            return []
        flows = self.open_flow * np.asarray(shares)
        heads, _ = self.curve.head(flows)
        return [
            (float(s), max(float(h), 0.0), float(q))
            for s, h, q in zip(shares, heads, flows, strict=True)
        ]


def _check_throttled(
    static_head: float, open_flow: float, throttled: Sequence[tuple[float, float]]
) -> None:
    """Refuse throttled readings that cannot belong to this tap."""
    for index, (head, flow) in enumerate(throttled):
        if head >= static_head:
            raise InputError(
                tr("a throttled pressure is not below the static pressure"),
                code="out_of_range",
                field=f"source.throttled.{index}.pressure",
                accepted=tr("less than the static pressure"),
                hint=tr("read both gauges again"),
            )
        if flow >= open_flow:
            raise InputError(
                tr("a throttled flow is not below the open flow of the bucket"),
                code="out_of_range",
                field=f"source.throttled.{index}.flow",
                accepted=tr("less than the open flow"),
                hint=tr("measure with the valve partly closed"),
            )
    for (high, slow), (low, fast) in pairwise(sorted(throttled, key=lambda r: r[1])):
        if fast > slow and low >= high:
            raise InputError(
                tr("with more flow the pressure must be lower"),
                code="inconsistent",
                field="source.throttled",
                accepted=tr("pressures that fall as the flow grows"),
                hint=tr("read both again, while nobody else draws water"),
            )


def tap_curve(
    static_head: float, open_flow: float, throttled: Sequence[tuple[float, float]] = ()
) -> tuple[SourceCurve, float]:
    """Return the curve of a tap or supply, and how far the throttled readings lie off it.

    H = H0 − k Q^m through the static head and the open flow; m is 2 without throttled
    readings and otherwise that of least squares in the logarithms, within `EXPONENTS`.

    Parameters
    ----------
    static_head : float
        Head with no water running, > 0. [m]
    open_flow : float
        Flow of the fully open outlet, > 0. [m3/s]
    throttled : sequence of (head, flow)
        Readings with the outlet partly closed. [m], [m3/s]

    Returns
    -------
    (SourceCurve, float)
        The curve, and the largest miss of a reading as a share of the static head.

    Raises
    ------
    InputError
        At ``source.throttled``: readings that cannot belong to this tap.
    """
    _check_throttled(static_head, open_flow, throttled)
    exponent = 2.0
    if throttled:
        heads, flows = np.array(throttled).T
        along = np.log(flows / open_flow)
        up = np.log(1.0 - heads / static_head)
        exponent = float(np.clip(along @ up / (along @ along), *EXPONENTS))
    curve = SourceCurve.from_flow_test(static_head, open_flow, exponent=exponent)
    if not throttled:
        return curve, 0.0
    return curve, float(np.max(np.abs(curve.head(flows)[0] - heads)) / static_head)


def _warnings(count: int, spread: float, gauge: bool, misfit: float) -> tuple[str, ...]:
    found = []
    if misfit > MISFIT:
        found.append(
            tr(
                "The throttled readings do not lie on one curve with the static "
                "pressure and the bucket: one of them is off."
            )
        )
    if count == 1:
        found.append(tr("One reading only: take two more, the second and third often differ."))
    if spread > 0.1:
        found.append(
            tr(
                "The readings differ by more than 10 %: measure again while nobody "
                "else draws water."
            )
        )
    if not gauge:
        found.append(
            tr(
                "No static pressure: the usable flow is a rough share of the open "
                "flow. A gauge on the tap makes it exact."
            )
        )
    return tuple(found)


def flow_test(
    *,
    readings: Sequence[tuple[float, float]],
    static_head: float | None,
    throttled: Sequence[tuple[float, float]] = (),
    required_head: float,
) -> FlowTest:
    """Work out a flow test.

    Parameters
    ----------
    readings : sequence of (volume, time)
        Bucket readings at the fully open outlet, both > 0. [m3], [s]
    static_head : float or None
        Head with no water running, if known. [m]
    throttled : sequence of (head, flow)
        Readings with the outlet partly closed. [m], [m3/s]
    required_head : float
        Head that the system needs at the source, >= 0. [m]

    Returns
    -------
    FlowTest

    Raises
    ------
    InputError
        No reading at all; a required head at or above the static head.
    """
    if not readings:
        raise InputError(
            tr("at least one bucket reading is needed"),
            code="missing",
            field="source.readings",
            accepted=tr("a volume and the time it took"),
            hint=tr("fill a bucket with the tap fully open and time it"),
        )
    statistics = bucket_statistics(
        np.array([volume for volume, _ in readings]), np.array([time for _, time in readings])
    )
    misfit = 0.0
    if static_head is None:
        usable = SHARE_WITHOUT_GAUGE * statistics.mean
        curve = None
        exponent, rule, source = 2.0, RULE_SHARE, tr("common practice, no source")
        verdict = tr("Plan on three quarters of what the bucket showed until you have a gauge.")
    else:
        if required_head >= static_head:
            raise InputError(
                tr(
                    "the system needs as much pressure as the source has standing "
                    "still, so no flow is left"
                ),
                code="out_of_range",
                field="required_pressure",
                accepted=tr("less than the static pressure"),
                hint=tr("a lower regulator setting, or a source with more pressure"),
            )
        curve, misfit = tap_curve(static_head, statistics.mean, throttled)
        usable = usable_flow(curve, required_head)
        exponent = curve.exponent
        rule, source = (
            RULE_CURVE,
            tr("energy balance: H = H0 − k Q^m through static head and open flow"),
        )
        share = usable / statistics.mean
        verdict = tr(
            "With that pressure kept, {share:.0%} of the open flow is left to water with.",
            share=share,
        )
    return FlowTest(
        open_flow=statistics.mean,
        count=statistics.count,
        spread=statistics.spread,
        half_width=statistics.half_width,
        curve=curve,
        exponent=exponent,
        usable_flow=usable,
        rule=tr(rule),
        source=source,
        verdict=verdict,
        warnings=_warnings(statistics.count, statistics.spread, curve is not None, misfit),
    )
