"""Ultimate bending of the cracked section: concrete in compression, steel in tension."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import cracked_kernels
from longvault.constraints.bars import Bars
from longvault.constraints.design_strengths import StressBlock
from longvault.sections.rows import by_field, one_each, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class CrackedSection:
    """Ultimate bending about the horizontal axis; every field is (...).

    Parameters
    ----------
    moment : array
        Bending moment reached, >= 0 [N m].
    force : array
        Compression in the concrete [N].
    arm : array
        Lever arm, moment over force [m].
    depth : array
        Depth of the neutral axis from the compressed edge, square to that axis [m].
    effective_depth : array
        Depth of the centroid of the bars, likewise [m].
    limit_depth : array
        Depth of the neutral axis at which that centroid just yields [m].
    angle : array
        Inclination of the neutral axis, from x towards -z for a positive angle; 0 held [rad].
    steel_area : array
        Steel area: as given, or as needed [m2].
    """

    moment: Array
    force: Array
    arm: Array
    depth: Array
    effective_depth: Array
    limit_depth: Array
    angle: Array
    steel_area: Array


def bending_resistance(
    strips: Strips,
    bars: Bars,
    *,
    block: StressBlock,
    steel: float,
    modulus: float = 200e9,
    sagging: bool = True,
    held: bool = False,
) -> CrackedSection:
    """Bending resistance of a thin-walled section with given bars.

    Plane sections; a rectangular block of concrete compression over ``block.depth_ratio`` of the depth of the
    neutral axis, concrete in tension left out; steel elastic, then plastic at its design strength both ways
    (EN 1992-1-1, 3.1.7(3), 3.2.7(2b), 6.1). Free bending turns the neutral axis until compression stands
    above tension, so that no moment about the vertical axis is left; held bending keeps it horizontal.

    Parameters
    ----------
    strips : Strips
        Batch (...). A candidate without an answer (bars that cannot balance sideways) is a NaN row.
    bars : Bars
        Bars, (..., b).
    block : StressBlock
        From `longvault.constraints.materials`.
    steel, modulus : float
        Design strength and modulus of the bars [Pa].
    sagging : bool
        True for compression at the top.
    held : bool
        Bending held straight sideways, or free.

    Notes
    -----
    Every strip counts as its rectangle, cut exactly. The block is not reduced where the zone narrows towards
    the edge (the note of 3.1.7(3)), nor for thin flanges under nearly uniform compression (6.1(5)): with
    under-reinforced sections neither moves the moment by more than about 1 %.

    Examples
    --------
    Beam 0.3 x 0.6 m with 20 cm2 at d = 0.55 m: x = A_s f_yd / (0.8 b f_cd), M = A_s f_yd (d - 0.4 x).

    >>> from longvault.constraints.design_strengths import eurocode_block
    >>> from longvault.constraints.materials import Concrete
    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> bars = Bars(np.array([0.0]), np.array([0.05]), np.array([20e-4]))
    >>> r = bending_resistance(beam, bars, block=eurocode_block(Concrete(30e6)), steel=435e6)
    >>> round(float(r.depth), 6), round(float(r.moment), 1)
    (0.18125, 415425.0)
    """
    return _solve(strips, bars, np.zeros(()), block, (steel, modulus), sagging, held)


def steel_for_moment(
    strips: Strips,
    bars: Bars,
    *,
    moment: ArrayLike,
    block: StressBlock,
    steel: float,
    modulus: float = 200e9,
    sagging: bool = True,
    held: bool = False,
    slant: ArrayLike = 0.0,
) -> CrackedSection:
    """Steel area that carries a moment, laid out in the proportions of ``bars``.

    As `bending_resistance`, all bars scaled together. Where the compressed concrete cannot carry the moment
    before the steel yields, ``moment`` is what it can carry and ``steel_area`` the area there
    in the ratio of the moments: a figure to grade by, not to build.

    Parameters
    ----------
    strips, bars, block, steel, modulus, sagging, held
        As for `bending_resistance`.
    moment : array (...)
        Design moment, its size [N m]; no moment asks for no steel, and no concrete is compressed.
    slant : array (...)
        Sideways moment (that pulls the right side) over the vertical one (sagging positive): the neutral axis
        turns until the line from tension to compression lies in the plane of the load, H / M = (x_T - x_C) /
        (z_C - z_T) (equilibrium). Free bending only.

    Raises
    ------
    ValueError
        If a moment is below 0.

    Examples
    --------
    >>> from longvault.constraints.design_strengths import eurocode_block
    >>> from longvault.constraints.materials import Concrete
    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> bars = Bars(np.array([0.0]), np.array([0.05]), np.array([1.0]))
    >>> c30 = eurocode_block(Concrete(30e6))
    >>> r = steel_for_moment(beam, bars, moment=415425.0, block=c30, steel=435e6)
    >>> round(float(r.steel_area) * 1e4, 6)
    20.0
    """
    wanted = np.asarray(moment, dtype=np.float64)
    if np.any(wanted < 0.0):
        raise ValueError(
            f"moment: got {np.nanmin(wanted):g} N m; must be 0 or more, the sign goes to sagging"
        )
    none = np.broadcast_to(wanted, strips.batch) == 0.0
    if not none.any():
        return _solve(strips, bars, wanted, block, (steel, modulus), sagging, held, slant)
    # any small moment and any bars stand in: nothing of them is told
    stand_in = Bars(bars.x, bars.z, np.where(none[..., None], 1.0, bars.area))
    found = _solve(
        strips, stand_in, np.where(none, 1.0, wanted), block, (steel, modulus), sagging, held, slant
    )
    told = {"depth": 0.0, "steel_area": 0.0, "limit_depth": 1.0, "moment": 1.0}
    return replace(found, **{key: np.where(none, value, getattr(found, key)) for key, value in told.items()})


def _solve(
    strips: Strips,
    bars: Bars,
    moment: Array,
    block: StressBlock,
    steel: tuple[float, float],
    sagging: bool,
    held: bool,
    slant: ArrayLike = 0.0,
) -> CrackedSection:
    groups = np.broadcast_shapes(bars.x.shape, bars.z.shape, bars.area.shape)[-1]
    rows = int(np.prod(strips.batch))

    def spread(values: Array) -> Array:
        return np.array(np.broadcast_to(values, (*strips.batch, groups)), order="C").reshape(rows, groups)

    out = np.empty((rows, cracked_kernels.CRACKED_FIELDS))
    cracked_kernels.cracked_rows(
        *strip_rows(strips),
        spread(bars.x),
        spread(bars.z),
        spread(bars.area),
        (block.depth_ratio, block.stress, block.strain),
        (float(steel[0]), float(steel[1])),
        1.0 if sagging else -1.0,
        one_each(slant, strips.batch),
        held,
        one_each(moment, strips.batch),
        out,
    )
    return CrackedSection(*by_field(out, strips.batch))
