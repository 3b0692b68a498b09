"""Density and viscosity of water between 0 and 60 C."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenrow.hydraulics._check import FloatArray, array


def density(temperature_c: ArrayLike = 20.0) -> FloatArray:
    """Return the density of air-free water at atmospheric pressure.

    Parameters
    ----------
    temperature_c : array_like
        Temperature [C], 0 to 60, any shape.

    Returns
    -------
    numpy.ndarray
        Density [kg/m3], same shape.

    Raises
    ------
    InputError
        If a temperature is not finite or outside 0 to 60 C.

    Notes
    -----
    Kell, G. S. (1975), J. Chem. Eng. Data 20(1), 97-105; coefficients from memory,
    checked against the recalled values 999.84, 998.21 and 983.20 kg/m3 at 0, 20 and 60 C.
    """
    t = array("temperature_c", temperature_c, 0.0, 60.0, unit="C")
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return np.asarray(top / (1.0 + 16.879850e-3 * t))


def kinematic_viscosity(temperature_c: ArrayLike = 20.0) -> FloatArray:
    """Return the kinematic viscosity of water at atmospheric pressure.

    Parameters
    ----------
    temperature_c : array_like
        Temperature [C], 0 to 60, any shape.

    Returns
    -------
    numpy.ndarray
        Kinematic viscosity [m2/s], same shape.

    Raises
    ------
    InputError
        If a temperature is not finite or outside 0 to 60 C.

    Notes
    -----
    Dynamic viscosity by the four-term equation for liquid water at 0.1 MPa of IAPWS
    Supplementary Release SR6-08(2011) (Patek et al. 2009, J. Phys. Chem. Ref. Data 38, 21),
    divided by `density`. Coefficients from memory; they return the recalled IAPWS value
    1.0016 mPa s at 20 C.
    """
    t = array("temperature_c", temperature_c, 0.0, 60.0, unit="C")
    ratio = (t + 273.15) / 300.0
    dynamic = 1e-6 * (
        280.68 * ratio**-1.9 + 511.45 * ratio**-7.7 + 61.131 * ratio**-19.6 + 0.45903 * ratio**-40.0
    )
    return np.asarray(dynamic / density(t))
