"""Crack width under bending: the cracked elastic section, its tension zone, and EN 1992-1-1, 7.3.4."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import crack_kernels
from longvault.constraints.bars import Bars
from longvault.constraints.materials import Concrete
from longvault.sections.rows import by_field, one_each, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

LASTING = 0.4
"""k_t for load that lasts (EN 1992-1-1, 7.3.4(2))."""
COVERS, BONDS, RIBBED = 3.4, 0.425, 0.8
"""k_3, k_4 and k_1 of ribbed bars (EN 1992-1-1, 7.3.4(3), recommended)."""
LEAST_STRAIN = 0.6
"""The mean strain is at least this share of that of the steel in the crack (EN 1992-1-1, (7.9))."""
BENT = 0.5
"""k_2 of bending: half of what pure tension has (EN 1992-1-1, 7.3.4(3))."""


@dataclass(frozen=True, slots=True, eq=False)
class TensionZone:
    """The tension side of a cracked elastic section; every field is (...).

    Parameters
    ----------
    stress : array
        Largest stress in a group of bars [Pa].
    below : array
        h - x: height from the stretched edge to the neutral axis, where the bars are [m].
    bars : array
        h - d: height of the bars' centroid above that edge [m].
    depth : array
        h_c,ef: what the bars hold together, min(2.5 (h - d), (h - x) / 3, h / 2) [m].
    area : array
        A_c,eff: concrete within that depth [m2].
    evenness : array
        k_2: mean over largest strain of the concrete in tension, `BENT` to 1.
    """

    stress: Array
    below: Array
    bars: Array
    depth: Array
    area: Array
    evenness: Array


def tension_zone(
    strips: Strips,
    bars: Bars,
    *,
    moment: ArrayLike,
    ratio: float,
    sagging: bool = True,
    held: bool = False,
) -> TensionZone:
    """Solve the cracked elastic section under a moment and measure its tension side.

    Plane sections, concrete without tension, bars ``ratio`` times as stiff as concrete (any text on
    reinforced concrete); free bending turns the neutral axis until no moment about the vertical axis is left,
    held bending keeps it level. Strips are cut exactly. The effective zone is that of EN 1992-1-1, 7.3.2(3).
    k_2 = (eps_1 + eps_2) / 2 eps_1 of 7.3.4(3) is taken as the mean over the largest strain of all concrete
    in tension (derived): 0.5 for a web that is bent, 1 for a flange that is pulled.

    Parameters
    ----------
    strips : Strips
        Batch (...); a candidate that cannot be measured is a NaN row.
    bars : Bars
        Bars, (..., b).
    moment : array (...)
        Its size, above 0 [N m].
    ratio : float
        Modulus of steel over that of concrete.
    sagging : bool
        True for compression at the top.
    held : bool
        Bending held straight sideways, or free.

    Examples
    --------
    Beam 0.3 x 0.6 m, 20 cm2 at d = 0.55 m, n = 15: x = 0.2464 m, I = 4.2612e-3 m4, n M (d - x) / I.

    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> bars = Bars(np.array([0.0]), np.array([0.05]), np.array([20e-4]))
    >>> zone = tension_zone(beam, bars, moment=100e3, ratio=15.0)
    >>> round(float(zone.stress) / 1e6, 1), round(float(zone.below), 4), round(float(zone.depth), 4)
    (106.9, 0.3536, 0.1179)
    """
    groups = np.broadcast_shapes(bars.x.shape, bars.z.shape, bars.area.shape)[-1]
    rows = int(np.prod(strips.batch))
    laid = (
        np.array(np.broadcast_to(values, (*strips.batch, groups)), order="C").reshape(rows, groups)
        for values in (bars.x, bars.z, bars.area)
    )
    out = np.empty((rows, crack_kernels.ZONE_FIELDS))
    crack_kernels.zone_rows(
        *strip_rows(strips), *laid, float(ratio), 1.0 if sagging else -1.0, held,
        one_each(moment, strips.batch), out,
    )  # fmt: skip
    stress, below, height, depth, area, evenness = by_field(out, strips.batch)
    return TensionZone(stress, below, height, depth, area, np.clip(evenness, BENT, 1.0))


@dataclass(frozen=True, slots=True)
class Bonded:
    """Bars that hold cracks together, and the concrete they lie in.

    Parameters
    ----------
    bar, cover : float
        Diameter of the bars and the concrete over them [m].
    concrete : Concrete
        f_ct,eff = f_ctm, and the modulus for alpha_e.
    modulus : float
        Of the bars [Pa].
    """

    bar: float
    cover: float
    concrete: Concrete
    modulus: float = 200e9

    @property
    def close(self) -> float:
        """Spacing of bars up to which they hold the concrete between them, 5 (c + phi / 2) [m]."""
        return 5.0 * (self.cover + 0.5 * self.bar)


@dataclass(frozen=True, slots=True, eq=False)
class CrackWidth:
    """Crack width with its steps; every field is (...).

    Parameters
    ----------
    ratio : array
        rho_p,eff = A_s / A_c,eff.
    spacing : array
        s_r,max [m].
    strain : array
        eps_sm - eps_cm.
    width : array
        w_k [m].
    """

    ratio: Array
    spacing: Array
    strain: Array
    width: Array


def crack_width(zone: TensionZone, bonded: Bonded, *, steel: ArrayLike, apart: ArrayLike = 0.0) -> CrackWidth:
    """Crack width of EN 1992-1-1, 7.3.4, under load that lasts.

    w_k = s_r,max (eps_sm - eps_cm); eps_sm - eps_cm = [sigma_s - k_t f_ct,eff / rho (1 + alpha_e rho)] / E_s,
    at least 0.6 sigma_s / E_s; s_r,max = 3.4 c + 0.425 k_1 k_2 phi / rho. Bars wider ``apart`` than
    5 (c + phi / 2) leave cracks between them at 1.3 (h - x), (7.14), if that is more.

    Parameters
    ----------
    zone : TensionZone
        Of the same section under the quasi-permanent moment, fields (...).
    bonded : Bonded
        Bars and concrete.
    steel : array (...)
        A_s [m2].
    apart : array (...)
        Distance of bonded bars in a layer, centre to centre [m].

    Examples
    --------
    By hand: a slab 1 m wide, h 200, d 165 mm, ten bars of 14 mm, cover 28, C30, n = 15: x = 67.2 mm, stress
    200.5 MPa at 44 kNm, (h - x) / 3 = 44.3 mm, rho = 1539 / 44 267, s_r,max = 95.2 + 68.5 mm.

    >>> slab = Strips.chain([0.0, 0.0], [0.0, 0.20], [1.0], "web")
    >>> bars, c30 = Bars(np.array([0.0]), np.array([0.035]), np.array([1.539e-3])), Concrete(30e6)
    >>> zone = tension_zone(slab, bars, moment=44e3, ratio=15.0)
    >>> found = crack_width(zone, Bonded(0.014, 0.028, c30), steel=1.539e-3, apart=0.10)
    >>> round(float(found.spacing) * 1e3, 1), round(float(found.width) * 1e3, 3)
    (163.7, 0.131)
    """
    area = np.asarray(steel, dtype=np.float64)
    ratio = area / zone.area
    stiff = bonded.modulus / bonded.concrete.ecm
    held = LASTING * bonded.concrete.fctm / ratio * (1.0 + stiff * ratio)
    strain = np.maximum(zone.stress - held, LEAST_STRAIN * zone.stress) / bonded.modulus
    spacing = COVERS * bonded.cover + BONDS * RIBBED * zone.evenness * bonded.bar / ratio
    wide = np.maximum(spacing, 1.3 * zone.below)
    spacing = np.where(np.asarray(apart) <= bonded.close, spacing, wide)
    return CrackWidth(ratio, spacing, strain, spacing * strain)


def steel_for_width(
    zone: TensionZone, bonded: Bonded, *, steel: ArrayLike, width: float, apart: ArrayLike = 0.0
) -> Array:
    """Steel that makes the crack ``width`` wide if lever arm and effective zone stay as they are (...) [m2].

    `crack_width` solved for A_s (derived): with u = 1 / A_s, S = sigma_s A_s and F = k_t f_ctm A_c,eff,
    (3.4 c + q u) ((S - F) u - k_t f_ctm alpha_e) = w E_s and (3.4 c + q u) 0.6 S u = w E_s; the smaller u.

    Parameters
    ----------
    zone, bonded, steel, apart
        As for `crack_width`.
    width : float
        Width to keep [m].

    Examples
    --------
    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> bars = Bars(np.array([0.0]), np.array([0.05]), np.array([20e-4]))
    >>> held = Bonded(0.025, 0.04, Concrete(30e6))
    >>> zone = tension_zone(beam, bars, moment=250e3, ratio=15.0)
    >>> now = float(crack_width(zone, held, steel=20e-4).width)
    >>> round(float(steel_for_width(zone, held, steel=20e-4, width=now)) * 1e4, 6)
    20.0
    """
    area = np.asarray(steel, dtype=np.float64)
    found = crack_width(zone, bonded, steel=area, apart=apart)
    base, slope = COVERS * bonded.cover, BONDS * RIBBED * zone.evenness * bonded.bar * zone.area
    wanted = width * bonded.modulus * (base + slope / area) / found.spacing
    force, tension = zone.stress * area, LASTING * bonded.concrete.fctm
    less, fixed = force - tension * zone.area, tension * bonded.modulus / bonded.concrete.ecm
    stiffened = _root(slope * less, base * less - slope * fixed, base * fixed + wanted)
    least = _root(slope * LEAST_STRAIN * force, base * LEAST_STRAIN * force, wanted)
    return np.asarray(1.0 / np.where(less > 0.0, np.minimum(stiffened, least), least))


def _root(square: Array, linear: Array, constant: Array) -> Array:
    """Positive root of square u^2 + linear u = constant."""
    root = np.sqrt(np.maximum(linear**2 + 4.0 * square * constant, 0.0))
    return np.asarray((root - linear) / (2.0 * square))


def american_bar_spacing(fyk: float, cover: float) -> float:
    """Largest spacing of bars nearest the tension face by ACI 318-19, 24.3.2, with f_s = 2/3 f_y [m].

    min(380 (280 / f_s) - 2.5 c_c, 300 (280 / f_s)) mm, f_s in MPa (from memory).

    Examples
    --------
    Grade 60, 2 in of clear cover: 10 in of the US form, 15 (40 / f_s) - 2.5 c_c in.

    >>> round(american_bar_spacing(420e6, 0.0508) * 1e3)
    253
    """
    share = 280e6 / (2.0 / 3.0 * fyk)
    return min(0.380 * share - 2.5 * cover, 0.300 * share)
