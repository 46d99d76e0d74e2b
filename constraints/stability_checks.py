"""Buckling of a section under the stress of the beam, where no folded plate is solved."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.limit import CAP, Limit
from longvault.constraints.plates import Links, Supports
from longvault.constraints.plates_row import Bay, bay_supports, held_joints
from longvault.constraints.proof_demands import PANEL_WAVES, finite_strip_buckling
from longvault.constraints.proving import Proving, covered
from longvault.constraints.stability import half_waves
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Section, Strips
from longvault.sections.bending import bending_field
from longvault.sections.properties import Properties
from longvault.sections.symbols import Array, IntArray

BUCKLING = "beam_buckling"

APART = 2.0
"""Half-wavelengths are tried about this many times apart, from the span down to those of panels."""

QUIET = 0.1
"""Finite strips are not asked what less than this share of the resistance is asked for."""

STILL = 1e-3
"""Below this by the quick look nothing is looked at: the section as a whole would have to be a hundred times
weaker than its panels to come to `QUIET`; tips of cantilevers and moments that hardly occur are such."""


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

    The quick look by local radius and panel width, and finite strips at half-waves from the span down to
    those of panels, whichever asks for more: what a section does as a whole the quick look cannot tell. Bays
    and settings as `Basis.crosswise` says. The stress of the place is taken all along the span: on the heavy
    side for long half-waves. Where finite strips ask for less than `QUIET`, the quick look is told.

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
    worst = np.zeros(strips.batch)
    for bay in proving.bays:
        worst = _bay_buckling(strips, stresses, worst, basis, proving, bay)
    return worst


def _bay_buckling(
    strips: Strips, stresses: list[Array], worst: Array, basis: Basis, proving: Proving, bay: Bay
) -> Array:
    """Largest demand over capacity so far, with that of one bay under each of some stresses."""
    section = Section("module", strips, basis.joints)
    held = [joint.node for joint in held_joints(section, bay) if joint.kind == "valley"]
    screen = local_screen(strips, modulus=basis.concrete.ecm, poisson=proving.poisson, held=held)
    ties = bay_supports(section, bay), proving.links(strips, basis.joints, bay, basis.pitch)
    share = proving.stability.design_share()
    quick = [1.0 / (share * screen.factor(stress)) for stress in stresses]
    worst = np.maximum.reduce([worst, *quick])
    for stress, local in zip(stresses, quick, strict=True):
        worst = _closer(strips, stress, (local, worst), ties, basis, proving)
    return worst


def _closer(
    strips: Strips,
    stress: Array,
    known: tuple[Array, Array],
    ties: tuple[Supports, Links],
    basis: Basis,
    proving: Proving,
) -> Array:
    """Look by finite strips where the stress is no trifle; what they ask for counts where it is more.

    ``known`` are what the quick look asks for under this stress, and the largest demand so far.
    """
    local, worst = known
    rows = np.atleast_1d((local > STILL) & np.isfinite(worst))
    if not rows.any():
        return worst
    batch = strips if strips.batch else Strips(*_first_axis(strips), strips.parts)
    found, pressed = np.atleast_1d(worst).copy(), stress.reshape(*batch.batch, -1, 2)
    shortest = min(basis.span, PANEL_WAVES[-1] * basis.detailing.thickness_floor)
    least = np.maximum(found[rows], QUIET)
    closer = finite_strip_buckling(
        batch[rows], pressed[rows], ties[0], basis, proving, links=ties[1], coarse=True, known=least,
        waves=half_waves(basis.span, shortest=shortest, ratio=APART),
    )  # fmt: skip
    found[rows] = np.where(closer > least, closer, found[rows])
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
            f"{s.safety:g}; local radius and panel width, and finite strips from the "
            "span down to short half-waves",
            "Timoshenko & Gere; Redshaw 1933; Cheung 1976; reductions after IASS 1979 (from memory)",
        ),
    )  # fmt: skip
