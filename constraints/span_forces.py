"""Internal forces of one span under a uniform line load that need not pass through the shear centre."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.stress import SectionForces
from longvault.constraints.torsion import ENDS, load_torque, span_torsion
from longvault.sections.symbols import Array
from longvault.sections.torsion import TorsionProperties


def span_forces(
    torsion: TorsionProperties,
    *,
    load: ArrayLike,
    x: ArrayLike,
    span: float,
    modulus: float,
    shear_modulus: float,
    support: str = "simple",
    stations: int = 9,
) -> SectionForces:
    """Moment, shear, bimoment and torque at equal stations of one span under a uniform vertical load.

    Moments by statics with the end moments of a beam table (0; w L^2 / 2; w L^2 / 8; w L^2 / 12; e.g.
    Roark, from memory), torsion by `longvault.constraints.torsion.span_torsion` with the load's lever about
    the shear centre. The strain of the shear flow is counted on a simple span only (see `SectionForces`).

    Parameters
    ----------
    torsion : TorsionProperties
        Of the section, batch (...).
    load, x : array (...)
        Line load, down positive [N/m], and the line in which it acts [m].
    span : float
        [m].
    modulus, shear_modulus : float
        E and G of the concrete [Pa].
    support : str
        ``simple``, ``cantilever``, ``propped`` or ``fixed``; the fixed end is the near one.
    stations : int
        At least 2, both ends among them.

    Examples
    --------
    >>> from longvault.sections.strips import Strips
    >>> from longvault.sections.torsion import torsion_properties
    >>> angle = torsion_properties(Strips.chain([0.0, 0.0, 1.0], [1.0, 0.0, 0.0], 0.1, "wall"))
    >>> at = span_forces(angle, load=8e3, x=0.5, span=4.0, modulus=30e9, shear_modulus=12.5e9)
    >>> float(at.moment[4]), float(at.shear[0])  # w L^2 / 8, w L / 2
    (16000.0, 16000.0)
    """
    if support not in ENDS:
        raise ValueError(f"support: got {support!r}; must be one of {', '.join(ENDS)}")
    w = np.asarray(load, dtype=np.float64)[..., None]
    moment, shear = _bending(w, span, support, stations)
    line = span_torsion(
        torsion,
        span=span,
        torque=load_torque(torsion, down=load, x=x),
        modulus=modulus,
        shear_modulus=shear_modulus,
        support=support,
        stations=stations,
    )
    free = 1.0 if support == "simple" else 0.0
    return SectionForces(
        moment,
        shear,
        line.bimoment,
        line.warping_torque,
        line.uniform_torque,
        load=free * w,
        warping_change=free * line.warping_change,
    )


def _bending(w: Array, span: float, support: str, stations: int) -> tuple[Array, Array]:
    y = np.linspace(0.0, span, stations)
    if support == "cantilever":
        return -0.5 * w * (span - y) ** 2, w * (span - y)
    near = {"simple": 0.0, "propped": 1 / 8, "fixed": 1 / 12}[support] * w * span**2
    far = near if support == "fixed" else 0.0 * near
    return 0.5 * w * y * (span - y) - near + (near - far) * y / span, w * (0.5 * span - y) + (
        near - far
    ) / span
