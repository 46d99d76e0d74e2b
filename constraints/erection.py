"""The module alone while the roof is built: own weight and a user's load, unpropped, free sideways."""

import numpy as np

from longvault.constraints.along import influences
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import ULTIMATE
from longvault.constraints.effects import Governing
from longvault.constraints.strength import moduli
from longvault.sections.properties import Properties
from longvault.sections.symbols import Array


def erection_factors(basis: Basis) -> tuple[float, float]:
    """Largest ultimate factors on permanent load and on people and tools, by the standard in force.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> erection_factors(Basis(span=20.0, pitch=6.0, requirements=Requirements(height_max=2.0)))
    (1.35, 1.5)
    """
    rules = [c for c in basis.standard.combinations if c.state == ULTIMATE and c.maintenance > 0]
    return max(c.permanent for c in rules), max(c.maintenance for c in rules)


def erection_case(basis: Basis, batch: tuple[int, ...]) -> Governing:
    """Name the load of a module alone, and where its moment is largest, for each of a batch."""
    permanent, variable = erection_factors(basis)
    name = f"{permanent:g} own weight + {variable:g} erection"
    line = influences(basis.line).moment
    at = int(np.argmax(np.abs(line.positive + line.negative)))
    return Governing((name,), np.zeros(batch, dtype=np.intp), float(line.y[at]))


def erection_measures(p: Properties, basis: Basis) -> dict[str, Array]:
    """Moment, stresses and movements of a module alone: no neighbour, no finish, no glass, nothing holds it.

    Bending is free whatever the finished roof does. Stresses are elastic, compression under ultimate loads,
    tension under characteristic ones.
    """
    own = basis.concrete.weight * p.area
    user = (basis.loads.erection or 0.0) * basis.pitch
    on_permanent, on_variable = erection_factors(basis)
    line = influences(basis.line)
    moment = line.moment.positive + line.moment.negative
    largest = float(moment[np.argmax(np.abs(moment))])
    sag = float(np.abs(line.sag.positive + line.sag.negative).max())
    compressed, stretched = moduli(p, sagging=largest > 0, held=False)
    ultimate = abs(largest) * (on_permanent * own + on_variable * user)
    service = own + user
    down = sag * service / basis.concrete.ecm * p.izz / (p.ixx * p.izz - p.ixz**2)
    return {
        "erection_moment": ultimate,
        "erection_compression": ultimate / compressed,
        "erection_tension": abs(largest) * service / stretched,
        "erection_deflection": down,
        "erection_sideways": down * p.ixz / p.izz,
    }
