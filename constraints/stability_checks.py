"""Buckling of a section under the stress of the beam, where no folded plate is solved."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.limit import CAP, Limit
from longvault.constraints.plates import Links, Supports
from longvault.constraints.plates_row import Bay, bay_supports, held_joints
from longvault.constraints.proof_demands import finite_strip_buckling
from longvault.constraints.proving import Proving, covered
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Section, Strips
from longvault.sections.bending import bending_field
from longvault.sections.properties import Properties
from longvault.sections.symbols import Array, IntArray

BUCKLING = "beam_buckling"

QUIET = 0.05
"""Sections of which the quick look asks for less of their resistance are not looked at by finite strips."""


def buckling_asked(basis: Basis) -> bool:
    """Whether buckling is looked at under the stress of the beam: no folded plate covers the roof."""
    return basis.crosswise is not None and not covered(basis)


def beam_buckling(
    strips: Strips,
    p: Properties,
    basis: Basis,
    *,
    sagging: Array,
    hogging: Array,
    pressed: Array | float = 0.0,
) -> Array:
    """Compression along the span over the design buckling stress (...), the larger of both signs of moment.

    The quick look by local radius and panel width and, above `QUIET`, finite strips at a few half-waves,
    whichever asks for more, told in full; bays and settings as `Basis.crosswise` says. The stress of the
    place is taken all along the span: on the heavy side for long half-waves.

    Parameters
    ----------
    strips, p : Strips, Properties
        Batch (...).
    basis : Basis
        ``joints`` and ``crosswise`` say who holds the edges.
    sagging, hogging : array (...)
        Ultimate moments of both signs, >= 0 [N m].
    pressed : array (...) or float
        Ultimate compression all over the section beside them, of a thrust [Pa].
    """
    proving = basis.crosswise
    if proving is None:
        raise ValueError("basis: crosswise is None; buckling needs its bays and settings")
    field = bending_field(
        strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz, held=basis.held
    )
    per_moment = -np.stack([field.first, field.second], axis=-1)
    level = np.asarray(pressed)[..., None, None]
    stresses = [np.asarray(moment)[..., None, None] * per_moment - level for moment in (sagging, -hogging)]
    found = [worst for bay in proving.bays for worst in _bay_buckling(strips, stresses, basis, proving, bay)]
    largest: Array = np.maximum.reduce(found)
    return largest


def _bay_buckling(
    strips: Strips, stresses: list[Array], basis: Basis, proving: Proving, bay: Bay
) -> list[Array]:
    """Demand over capacity in one bay under each of some stresses."""
    section = Section("module", strips, basis.joints)
    held = [joint.node for joint in held_joints(section, bay) if joint.kind == "valley"]
    screen = local_screen(strips, modulus=basis.concrete.ecm, poisson=proving.poisson, held=held)
    supports, links = bay_supports(section, bay), proving.links(strips, basis.joints, bay, basis.pitch)
    quick = [1.0 / (proving.stability.design_share() * screen.factor(stress)) for stress in stresses]
    return [
        _closer(strips, stress, one, (supports, links), basis, proving)
        for stress, one in zip(stresses, quick, strict=True)
    ]


def _closer(
    strips: Strips,
    stress: Array,
    quick: Array,
    held: tuple[Supports, Links],
    basis: Basis,
    proving: Proving,
) -> Array:
    """Finite strips where the quick look asks for more than `QUIET`."""
    rows = np.atleast_1d(quick >= QUIET)
    if not rows.any():
        return quick
    batch = strips if strips.batch else Strips(*_first_axis(strips), strips.parts)
    found, pressed = np.atleast_1d(quick).copy(), stress.reshape(*batch.batch, -1, 2)
    closer = finite_strip_buckling(
        batch[rows], pressed[rows], held[0], basis, proving, links=held[1], coarse=True, known=found[rows]
    )
    found[rows] = np.maximum(found[rows], closer)
    return found.reshape(strips.batch)


def _first_axis(strips: Strips) -> tuple[Array, Array, IntArray, Array]:
    """Arrays of one section as those of a batch of one."""
    return strips.x[None], strips.z[None], strips.ends, strips.thickness[None]


def buckling_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limit on `beam_buckling`, where it is looked at."""
    proving = basis.crosswise
    if proving is None or not buckling_asked(basis):
        return ()
    s, stress = proving.stability, "|M f|" if basis.arch is None else "|H / A + M f|"
    return (
        Limit(
            "beam-buckling", "buckling under the stress of the beam", BUCKLING, 1.0, CAP,
            f"{stress}, ultimate, over classical stress x {s.knock_down:g} / (1 + {s.creep:g}) / "
            f"{s.safety:g}; local radius and panel width; above {QUIET:g} by that, "
            "finite strips of a few half-waves",
            "Timoshenko & Gere; Redshaw 1933; Cheung 1976; reductions after IASS 1979 (from memory)",
        ),
    )  # fmt: skip
