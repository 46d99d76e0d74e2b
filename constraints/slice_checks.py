"""The transverse slice in the search: moment across, use of the mesh, movement of the slot edges."""

from collections.abc import Mapping, Sequence

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.limit import CAP, COMMON_PRACTICE, Limit
from longvault.constraints.measures import SLICE_MEASURES
from longvault.constraints.plates_row import Bay, bay_supports
from longvault.constraints.proof_demands import combinations, mesh_force, mesh_moment
from longvault.constraints.proof_loads import unit_loads
from longvault.constraints.proving import Proving, covered
from longvault.constraints.slice import laid_out
from longvault.constraints.slice_peaks_kernel import slice_peak_rows
from longvault.sections import Section, Strips
from longvault.sections.parts import roof_surface
from longvault.sections.rows import by_field
from longvault.sections.symbols import Array


def slice_asked(basis: Basis) -> bool:
    """Whether the basis of design says how the section stands across."""
    return basis.crosswise is not None


def slice_measures(strips: Strips, measures: Mapping[str, Array], basis: Basis) -> dict[str, Array]:
    """Bending across and sideways movement of a slice one metre long, the largest of the bays looked at.

    Parameters
    ----------
    strips : Strips
        Batch (...); joints and bays as `Basis.joints` and `Basis.crosswise` say.
    measures : mapping
        Beam-level measures of the same strips: ``opening`` and ``permanent_load`` are read.

    Returns
    -------
    dict of array (...)
        ``slice_moment`` [N m/m], ``slice_use`` (over what the mesh resists) of the roof surface, ultimate;
        ``slice_movement`` of the slot edges [m], characteristic, elastic.

    Notes
    -----
    The beam-arch method (`longvault.constraints.slice`): right for long roofs. Short ones bend less across
    than it says, so that where the folded plate covers the roof its answer is the limit, not the slice's.
    Of patterned loads on several spans each case lies on the slice in full.

    Examples
    --------
    By hand: each wing hangs on the ridge, 1.35 x 2500 N/m2 x 4.4721 m x 2 m = 30187 N m/m.

    >>> from longvault.constraints.basis import Requirements
    >>> need, lone = Requirements(height_max=2.5), Proving(bays=("lone",))
    >>> basis = Basis(span=24.0, pitch=8.0, requirements=need, crosswise=lone)
    >>> fold = Strips.chain([-4.0, -2.0, 0.0, 2.0, 4.0], [0.0, 1.0, 2.0, 1.0, 0.0], 0.1, "wing")
    >>> known = {"opening": np.array(0.0), "permanent_load": np.array(22361.0)}
    >>> found = slice_measures(fold, known, basis)
    >>> round(float(found["slice_moment"])), round(float(found["slice_use"]), 2)
    (30187, 4.47)
    """
    proving = basis.crosswise
    if proving is None:
        return {}
    found = [_bay(strips, measures, basis, proving, bay) for bay in proving.bays]
    return {key: np.maximum.reduce([one[key] for one in found]) for key in SLICE_MEASURES}


def _bay(
    strips: Strips, measures: Mapping[str, Array], basis: Basis, proving: Proving, bay: Bay
) -> dict[str, Array]:
    section = Section("slice", strips, basis.joints)
    slots = [joint.node for joint in section.joints if joint.kind != "valley"]
    given = laid_out(
        strips, unit_loads(strips, basis.joints, measures["opening"], basis), modulus=basis.concrete.ecm,
        poisson=proving.poisson, supports=bay_supports(section, bay),
        links=proving.links(strips, basis.joints, bay, basis.pitch),
    )  # fmt: skip
    surface, designs = np.flatnonzero(roof_surface(strips)), len(given.x)
    factors = [_factors(combinations(measures, basis, s)) for s in (ULTIMATE, CHARACTERISTIC)]
    peaks = np.empty((designs, len(SLICE_MEASURES)))
    slice_peak_rows(
        tuple(given), surface, np.array(slots, dtype=np.intp), mesh_moment(given.thickness, basis),
        mesh_force(basis), *factors, peaks,
    )  # fmt: skip
    return dict(zip(SLICE_MEASURES, by_field(peaks, strips.batch), strict=True))


def _factors(rows: Sequence[tuple[Array | float, ...]]) -> Array:
    """Factors of the combinations on the cases, of each design or one for all (D or 1, R, P)."""
    table = np.array(rows, dtype=np.float64)
    return np.ascontiguousarray(np.moveaxis(table.reshape(*table.shape[:2], -1), -1, 0))


def slice_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits on the slice, where the folded plate does not cover the roof: there it is all there is.

    Where it does, the slice is told beside it and refuses nothing: it is on the heavy side of short roofs.
    """
    proving = basis.crosswise
    if proving is None or covered(basis):
        return ()
    strength = basis.strengths
    words = "transverse slice, " + " and ".join(proving.bays) + " bay"
    return (
        Limit(
            "slice-moment", f"bending across, {words}", "slice_use", 1.0, CAP,
            "|m_s| / m_R + n_s / (a_s f_yd) of one metre under load and w Q / I, m_R = a_s f_yd z"
            + ("" if basis.arch is None else "; all load by bending, on the safe side of a thrust"),
            f"Lundgren, Cylindrical Shells 1, 1949; {strength.source_steel}",
        ),
        Limit(
            "slice-movement", f"sideways movement of a slot edge, {words}", "slice_movement",
            proving.slot_movement, CAP, "elastic, characteristic", COMMON_PRACTICE,
        ),
    )  # fmt: skip
