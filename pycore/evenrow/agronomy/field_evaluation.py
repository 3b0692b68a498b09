"""A field checked with cups and a gauge: how even it is, how sure that is, and what is wrong.

Flows in m3/s, pressure as head in m, everything else a fraction of 1. All summaries are of the
cups as a set: their order changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenrow.agronomy.sampling import variation_band
from evenrow.errors import InputError
from evenrow.hydraulics._check import FloatArray, array, number
from evenrow.hydraulics.uniformity import distribution_uniformity_lq
from evenrow.words import said, tr

#: Lowest field EU (or DUlq) of each class, best first.
EU_CLASSES = (
    (0.9, said("excellent")),
    (0.8, said("good")),
    (0.7, said("fair")),
    (0.0, said("poor")),
)
EU_CLASS_SOURCE = said("Merriam and Keller (1978), Farm Irrigation System Evaluation (from memory)")
#: Lowest and highest statistical uniformity of each class, best first; gaps lie between them.
US_CLASSES = (
    (0.95, 1.00, "excellent"),
    (0.85, 0.90, "good"),
    (0.75, 0.80, "fair"),
    (0.65, 0.70, "poor"),
    (0.00, 0.60, said("unacceptable")),
)
US_CLASS_SOURCE = said("ASAE EP458 (from memory)")
#: Highest CV of new emitters of each class, best first: emitters by themselves, and tapes.
CV_CLASSES = {
    "point": (
        (0.05, "excellent"),
        (0.07, said("average")),
        (0.11, said("marginal")),
        (0.15, "poor"),
        (math.inf, "unacceptable"),
    ),
    "line": ((0.10, "good"), (0.20, "average"), (math.inf, said("marginal to unacceptable"))),
}
CV_CLASS_SOURCE = said("ASAE EP405.1 (from memory)")


def cup_flows(volumes: ArrayLike, times: ArrayLike) -> FloatArray:
    """Return the flows that filled the cups [m3/s].

    Parameters
    ----------
    volumes : array_like
        Caught [m3], at least 0; a dry cup is 0. Shape (n,).
    times : array_like
        That each stood [s], more than 0; one number serves for all.

    Raises
    ------
    InputError
        If a value is out of range, or the shapes do not go together.
    """
    v = np.atleast_1d(array("volumes", volumes, 0.0, unit="m3"))
    t = array("times", times, 0.0, open_low=True, unit="s")
    if t.size not in (1, v.size):
        raise InputError(
            "must be one for all cups or one for each",
            code="length",
            field="times",
            given=t.size,
            accepted=f"1 or {v.size}",
        )
    return np.asarray(v / t)


def _sorted(name: str, values: ArrayLike) -> FloatArray:
    """Return the values in order, so that sums do not depend on the order they came in."""
    found = np.sort(array(name, values, 0.0).ravel())
    if found[-1] == 0.0:
        raise InputError(
            "must not all be zero",
            code="no_flow",
            field=name,
            given=0,
            accepted="at least one above 0",
        )
    return found


def mean(values: ArrayLike) -> float:
    """Return the mean of values of at least 0, in whatever order they stand."""
    return math.fsum(np.sort(np.asarray(values, float).ravel())) / np.size(values)


def variation(values: ArrayLike) -> float:
    """Return the coefficient of variation of readings [-].

    Parameters
    ----------
    values : array_like
        Flows or heads, at least 0 and not all 0; at least two.

    Returns
    -------
    float
        Sample standard deviation (n - 1) over the mean.

    Raises
    ------
    InputError
        If a value is out of range, all are 0 or there is only one.
    """
    found = _sorted("values", values)
    if found.size < 2:
        raise InputError(
            "there must be two at least",
            code="length",
            field="values",
            given=found.size,
            accepted="two or more",
        )
    return float(found.std(ddof=1)) / mean(found)


def low_quarter(flows: ArrayLike) -> float:
    """Return the mean of the lowest quarter over the mean of all: DUlq, and EU in the field [-].

    Parameters
    ----------
    flows : array_like
        Flows of the cups, at least 0 and not all 0.

    Raises
    ------
    InputError
        As `distribution_uniformity_lq`.

    Notes
    -----
    Merriam and Keller (1978), Farm Irrigation System Evaluation: ``EU' = 100 q25 / q``.
    """
    return float(distribution_uniformity_lq(_sorted("flows", flows)))


def pressure_low_quarter(heads: ArrayLike, exponent: float) -> float:
    """Return the low quarter over the mean that the pressures alone would give [-].

    Parameters
    ----------
    heads : array_like
        Pressure heads at the cups [m], at least 0 and not all 0.
    exponent : float
        Emitter exponent [-], 0 to 1.

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    `low_quarter` of ``h ** x``, the flows of emitters that are all alike.
    """
    x = number("exponent", exponent, 0.0, 1.0)
    return low_quarter(_sorted("heads", heads) ** x)


# --- what it is called -------------------------------------------------------------------


def eu_class(eu: float) -> str:
    """Return the class of a field EU or DUlq [-], a name of `EU_CLASSES`; see `EU_CLASS_SOURCE`."""
    return next(name for lowest, name in EU_CLASSES if eu >= lowest)


def us_class(us: float) -> str:
    """Return in words the class of a statistical uniformity [-]; between two classes, both.

    See `US_CLASS_SOURCE`.
    """
    better = ""
    for lowest, highest, name in US_CLASSES:
        if us > highest:
            return tr("{worse} to {better}", worse=tr(name), better=tr(better))
        if us >= lowest:
            return tr(name)
        better = name
    return tr(US_CLASSES[-1][2])


def cv_class(cv: float, kind: str) -> str:
    """Return in words the class of the variation of new emitters [-].

    `kind` is ``"point"`` or ``"line"``.

    See `CV_CLASS_SOURCE`.
    """
    return tr(next(name for highest, name in CV_CLASSES[kind] if cv <= highest))


# --- where it comes from -----------------------------------------------------------------


@dataclass(frozen=True)
class Causes:
    """What the variation of the cups is made of; all coefficients of variation [-].

    Parameters
    ----------
    total : float
        Of the flows.
    pressure : float or None
        What the pressures explain, x times the variation of pressure; None if not measured.
    manufacture : float
        What new emitters have.
    rest : float
        What remains: clogging, wear, leaks and reading errors; 0 where nothing does.
    surely : bool
        Whether so much remains that the luck of a few cups does not explain it.
    """

    total: float
    pressure: float | None
    manufacture: float
    rest: float
    surely: bool

    @property
    def shares(self) -> tuple[float, float, float]:
        """Shares of pressure, manufacture and the rest in the variance; they add up to 1.

        Where nothing varies, all are 0; where the first two explain more than there is, they
        are cut in proportion.
        """
        parts = [(self.pressure or 0.0) ** 2, self.manufacture**2, self.rest**2]
        whole_ = math.fsum(parts)
        if self.total == 0.0 or whole_ == 0.0:
            return 0.0, 0.0, 0.0
        return parts[0] / whole_, parts[1] / whole_, parts[2] / whole_


def causes(
    flows: ArrayLike,
    heads: ArrayLike | None,
    exponent: float,
    cv: float,
    confidence: float = 0.95,
) -> Causes:
    """Split the variation of the cups into pressure, manufacture and the rest.

    Parameters
    ----------
    flows : array_like
        Flows of the cups [m3/s], at least 0 and not all 0; at least two.
    heads : array_like or None
        Pressure heads [m], at least 0, at as many places of the same field as there are;
        fewer than three count as none.
    exponent : float
        Emitter exponent x [-], 0 to 1.
    cv : float
        Coefficient of manufacturing variation of new emitters [-], 0 to 1.
    confidence : float
        With which `Causes.surely` is sure [-].

    Raises
    ------
    InputError
        If an argument is out of range.

    Notes
    -----
    Independent causes add by their squares: ``V_q^2 = (x V_h)^2 + V_m^2 + V_rest^2``. Bralts
    et al. (1981), Trans. ASAE 24(5), 1234-1240; ASAE EP458 (both from memory).
    """
    total = variation(flows)
    x = number("exponent", exponent, 0.0, 1.0)
    made = number("cv", cv, 0.0, 1.0)
    pressure = None
    if heads is not None and np.size(heads) >= 3:
        pressure = x * variation(heads)
    explained = (pressure or 0.0) ** 2 + made**2
    least = variation_band(total, np.size(flows), confidence)[0]
    return Causes(
        total=total,
        pressure=pressure,
        manufacture=made,
        rest=math.sqrt(max(total**2 - explained, 0.0)),
        surely=least**2 > explained,
    )


def expected_flow(flow: float, head: float, exponent: float, measured_head: float) -> float:
    """Return what a sound emitter gives at the pressure measured [m3/s].

    Parameters
    ----------
    flow, head : float
        Rated flow [m3/s] at its rated head [m], both more than 0.
    exponent : float
        Emitter exponent [-], 0 to 1.
    measured_head : float
        [m], at least 0.

    Raises
    ------
    InputError
        If an argument is out of range.
    """
    ratio = number("measured_head", measured_head, 0.0, unit="m") / number(
        "head", head, 0.0, open_low=True, unit="m"
    )
    return number("flow", flow, 0.0, open_low=True, unit="m3/s") * float(
        ratio ** number("exponent", exponent, 0.0, 1.0)
    )
