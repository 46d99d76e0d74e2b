"""Bending across of a module alone while the roof is built: no neighbour, no strut, both edges free."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.erection import erection_factors
from longvault.constraints.limit import CAP, Limit
from longvault.constraints.measures import ERECTION_USE
from longvault.constraints.plates import folded_plate
from longvault.constraints.plates_midspan import mid_span
from longvault.constraints.plates_records import PlateLoads
from longvault.constraints.proof_demands import mesh_use
from longvault.constraints.proof_loads import spread_on_plan
from longvault.constraints.proving import covered
from longvault.constraints.slice import solved_slices
from longvault.sections import Strips
from longvault.sections.parts import roof_surface
from longvault.sections.symbols import Array


def erection_across_asked(basis: Basis) -> bool:
    """Whether it is looked at: a load of erection is given, and how the section stands across."""
    return basis.loads.erection is not None and basis.crosswise is not None


def erection_use(strips: Strips, basis: Basis) -> Array:
    """Bending and tension across over what the mesh resists (...), of the module alone, ultimate.

    Own weight and people and tools on the plan of the bay, each with its largest factor; neither finish nor
    glass, no neighbour, no struts or collars: they come when the row stands. The folded plate where it covers
    the roof, else the slice (`longvault.constraints.slice`): on the heavy side of short roofs.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    basis : Basis
        ``loads.erection`` and ``crosswise`` are asked for.

    Examples
    --------
    By hand, the slice of a long fold: each wing hangs on the ridge, 1.35 x 2500 N/m2 x 4.4721 m x 2 m
    = 30187 N m/m, over 6.75e3 N m/m of a mesh at mid-depth, and what it pulls.

    >>> from longvault.constraints.actions import Loads
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.proving import Proving
    >>> basis = Basis(span=24.0, pitch=8.0, requirements=Requirements(height_max=2.5), prismatic=False,
    ...               loads=Loads(erection=0.0), crosswise=Proving())
    >>> fold = Strips.chain([-4.0, -2.0, 0.0, 2.0, 4.0], [0.0, 1.0, 2.0, 1.0, 0.0], 0.1, "wing")
    >>> round(float(erection_use(fold, basis)), 2)
    4.47
    """
    proving = basis.crosswise
    if proving is None or basis.loads.erection is None:
        raise ValueError("basis: needs loads.erection and crosswise for the module alone")
    loads, modulus, poisson = _loads(strips, basis), basis.concrete.ecm, proving.poisson
    if covered(basis):
        plate = folded_plate(
            strips, loads, span=basis.span, modulus=modulus, poisson=poisson, harmonics=proving.harmonics
        )
        solved = mid_span((plate,))[0]
        bent, pulled, raised = solved.m_s, solved.n_s, 1.0 + proving.allowance
    else:
        cut = solved_slices(strips, (loads,), modulus=modulus, poisson=poisson)
        bent, pulled, raised = cut.m_s[0], cut.n_s[0], 1.0
    surface = np.flatnonzero(roof_surface(strips))
    t = strips.thickness[..., surface, None]
    use = mesh_use(np.take(bent, surface, axis=-2), np.take(pulled, surface, axis=-2), t, basis)
    return np.asarray(raised * use.max(axis=(-2, -1)))


def _loads(strips: Strips, basis: Basis) -> PlateLoads:
    permanent, variable = erection_factors(basis)
    user = variable * (basis.loads.erection or 0.0)
    everywhere = spread_on_plan(
        strips, basis.joints, np.full_like(strips.thickness, user), np.array(user * basis.pitch)
    )
    return PlateLoads(
        surface=permanent * basis.concrete.weight * strips.thickness,
        plan=everywhere.plan,
        line_down=everywhere.line_down,
    )


def erection_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limit on `erection_use`, where it is looked at."""
    if not erection_across_asked(basis):
        return ()
    how = "folded plate" if covered(basis) else "transverse slice"
    return (
        Limit(
            "erection-transverse", f"module alone, bending across, {how}", ERECTION_USE, 1.0, CAP,
            "|m_s| / m_R + n_s / (a_s f_yd), own weight and the load of erection; edges free, no struts",
            f"a state of its own, EN 1991-1-6 (from memory); {basis.strengths.source_steel}",
        ),
    )  # fmt: skip
