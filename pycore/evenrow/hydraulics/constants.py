"""Physical constants of the hydraulics (SI)."""

from __future__ import annotations

from typing import Final

#: Standard acceleration of gravity [m/s2] (exact by definition, 3rd CGPM 1901).
G: Final = 9.80665

#: Kinematic viscosity used where no temperature is given, water at 20 C [m2/s].
VISCOSITY_20C: Final = 1.004e-6

#: Equivalent sand roughness of drawn polyethylene and PVC [m] (common practice, 0.0015 mm).
ROUGHNESS_SMOOTH: Final = 1.5e-6
