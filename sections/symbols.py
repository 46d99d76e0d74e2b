"""Axes, signs, symbols and units, in one place.

Axes: x across the roof, z up, y along the span. Right-handed.
Signs: tension positive; a sagging moment is positive (compression on top).
Units inside the packages: m, N, Pa, kg, rad. Files and screens convert once, in ``studies``.

========  ==========================================================  =====
symbol    meaning                                                     unit
========  ==========================================================  =====
A         area of the cross-section of one structural module          m2
I_xx      second moment of area about the horizontal axis, z2 dA      m4
I_zz      second moment of area about the vertical axis, x2 dA        m4
I_xz      product of area, x z dA                                     m4
S         section modulus: moment over the largest stress             m3
h         overall height, outer bottom to outer top                   m
k         shape efficiency, S / (A h)                                 --
rho       stress efficiency, I_xx / (A z_top z_bottom)                --
t         thickness of a strip                                        m
s         length along the mid-line                                   m
Q         static (first) moment of area about a centroidal axis       m3
q         shear flow along the mid-line                               N/m
M, V, w   bending moment, shear force, load per metre of span         N m, N, N/m
L, b      span, bay (the distance at which modules repeat)            m
========  ==========================================================  =====
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
AnyArray = NDArray[Any]

CAUTION = (
    "Preliminary design only. Local codes and a licensed engineer decide; "
    "nothing here replaces their calculation."
)
