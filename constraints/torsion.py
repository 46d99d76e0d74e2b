"""Torsion of the module along its span: St Venant and warping together, bimoment, twist."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import torsion_kernels
from longvault.sections.parts import roof_surface
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray
from longvault.sections.torsion import TorsionProperties

ENDS = {
    "simple": ((True, False), (True, False)),
    "cantilever": ((True, True), (False, False)),
    "propped": ((True, True), (True, False)),
    "fixed": ((True, True), (True, True)),
}
"""Support -> (twist held, warping held) at the near and the far end. A fork holds the twist only."""


@dataclass(frozen=True, slots=True, eq=False)
class TorsionLine:
    """Torsion at stations along the span; every field is (..., k).

    Parameters
    ----------
    twist : array
        phi, from x to z [rad].
    rate : array
        phi' [rad/m].
    bimoment : array
        B = -E Gamma phi'' [N m2]; sigma = B omega / Gamma.
    warping_torque, uniform_torque : array
        B' and G J phi'; their sum is the torque [N m].
    warping_change : array
        B'' = (G J / E Gamma) B - m [N].
    """

    twist: Array
    rate: Array
    bimoment: Array
    warping_torque: Array
    uniform_torque: Array
    warping_change: Array

    @property
    def torque(self) -> Array:
        """Whole torque (..., k) [N m]."""
        return self.warping_torque + self.uniform_torque

    def rows(self, start: int, stop: int) -> "TorsionLine":
        """Return those of some of the torques (..., R, k) alone."""
        own = (getattr(self, name)[..., start:stop, :] for name in TorsionLine.__slots__)
        return TorsionLine(*own)


def load_torque(
    torsion: TorsionProperties,
    *,
    down: ArrayLike = 0.0,
    x: ArrayLike = 0.0,
    right: ArrayLike = 0.0,
    z: ArrayLike = 0.0,
) -> Array:
    """Torque per metre of span of a line load about the shear centre, positive from x to z (...) [N].

    Parameters
    ----------
    torsion : TorsionProperties
        Holds the shear centre.
    down, x : array (...)
        Vertical load, down positive [N/m], and where it acts [m].
    right, z : array (...)
        Horizontal load, to the right positive [N/m], and its height [m].

    Examples
    --------
    >>> from longvault.sections.torsion import torsion_properties
    >>> channel = Strips.chain([1.0, 0.0, 0.0, 1.0], [2.0, 2.0, 0.0, 0.0], 0.01, "wall")
    >>> t = torsion_properties(channel)
    >>> round(float(load_torque(t, down=1e3, x=0.0)), 1)  # e = 3 b^2 / (h + 6 b) = 0.375 m behind the web
    -375.0
    """
    lever_x = np.asarray(x, dtype=np.float64) - torsion.shear_centre_x
    lever_z = np.asarray(z, dtype=np.float64) - torsion.shear_centre_z
    torque: Array = -np.asarray(down) * lever_x - np.asarray(right) * lever_z
    return torque


def surface_centre(strips: Strips) -> Array:
    """Where a load per developed metre of roof surface acts: its mean x, beams and kerbs left out (...) [m].

    Examples
    --------
    >>> roof = Strips.chain([0.0, 1.0, 3.0, 3.0], [0.0, 0.0, 0.0, 1.0], 0.1, ["wing", "wing", "kerb"])
    >>> float(surface_centre(roof))
    1.5
    """
    length = strips.length * roof_surface(strips)
    middle = 0.5 * (strips.at_first(strips.x) + strips.at_second(strips.x))
    centre: Array = np.einsum("...e,...e->...", length, middle) / length.sum(axis=-1)
    return centre


def span_torsion(
    torsion: TorsionProperties,
    *,
    span: ArrayLike,
    torque: ArrayLike,
    modulus: float,
    shear_modulus: float,
    support: str = "simple",
    stations: int = 9,
) -> TorsionLine:
    """Torsion of one prismatic span under a uniform torque.

    Solves G J phi' - E Gamma phi''' = T, T' = -m (Vlasov, Thin-Walled Elastic Beams; Megson, Aircraft
    Structures, ch. 27) by `beam_torsion`, exact at the stations.

    Parameters
    ----------
    torsion : TorsionProperties
        Of the section, batch (...).
    span : float or array (...)
        [m].
    torque : array (...)
        m, torque per metre of span, from x to z [N] (`load_torque`).
    modulus, shear_modulus : float
        E and G [Pa].
    support : str
        One of `ENDS`.
    stations : int
        Equally spaced, both ends among them; at least 2.

    Raises
    ------
    ValueError
        If there is no such support or fewer than 2 stations.

    Examples
    --------
    >>> from longvault.sections.torsion import torsion_properties
    >>> channel = Strips.chain([1.0, 0.0, 0.0, 1.0], [2.0, 2.0, 0.0, 0.0], 0.01, "wall")
    >>> t = span_torsion(torsion_properties(channel), span=8.0, torque=1e3, modulus=30e9, shear_modulus=12e9)
    >>> round(float(t.bimoment[4]))  # m L^2 / 8 = 8000, less what St Venant torsion takes
    7990
    """
    if support not in ENDS:
        raise ValueError(f"support: got {support!r}; must be one of {', '.join(ENDS)}")
    if stations < 2:
        raise ValueError(f"stations: got {stations}; must be 2 or more")
    batch = torsion.warping_constant.shape
    pieces = (*batch, stations - 1)
    near, far = ENDS[support]
    fast = np.zeros((stations, 2), dtype=np.bool_)
    fast[0], fast[-1] = near, far

    def spread(values: ArrayLike) -> Array:
        return np.broadcast_to(np.asarray(values, dtype=np.float64)[..., None], pieces)

    return beam_torsion(
        length=spread(np.asarray(span) / (stations - 1)),
        warping=spread(modulus * torsion.warping_constant),
        uniform=spread(shear_modulus * torsion.torsion_constant),
        torque=spread(torque),
        held=fast,
    )


def beam_torsion(
    *,
    length: ArrayLike,
    warping: ArrayLike,
    uniform: ArrayLike,
    torque: ArrayLike,
    held: BoolArray | Sequence[Sequence[bool]],
    twice: Sequence[int] = (),
) -> TorsionLine:
    """Torsion of a beam of p pieces, each prismatic and uniformly loaded: steps, overhangs, several spans.

    The pieces have the exact stiffness of E Gamma phi'''' - G J phi'' = m, the equation of a beam under
    tension (derived; Vlasov's equation), so that the values at their ends are exact.

    Parameters
    ----------
    length, warping, uniform, torque : array (..., p)
        Length [m], E Gamma [N m4], G J [N m2], torque per metre [N] of each piece.
    held : bool array (p + 1, 2)
        Whether twist and warping are held at each joint; twist must be held somewhere.
    twice : sequence of int
        Inner joints to be given twice, before and behind: the torque jumps where a support holds the twist.

    Returns
    -------
    TorsionLine
        At the p + 1 joints (..., p + 1), those of ``twice`` doubled. At an inner joint given once the values
        of the piece behind it (towards the far end).

    Raises
    ------
    ValueError
        If ``held`` does not have that shape or leaves the beam free to turn.

    Examples
    --------
    Two equal spans without St Venant stiffness are two beams: B = -m L^2 / 8 over the support.

    >>> one = np.ones(2)
    >>> line = beam_torsion(length=one, warping=one, uniform=0 * one, torque=one,
    ...                     held=[[True, False]] * 3)
    >>> line.bimoment.round(6).tolist()[1]
    -0.125
    """
    given = [np.asarray(v, dtype=np.float64) for v in (length, warping, uniform, torque)]
    shape = np.broadcast_shapes(*(v.shape for v in given))
    stiff, *batch = np.broadcast_shapes(*(v.shape for v in given[:3])), *shape[:-1]
    pieces, fast = shape[-1], np.array(held, dtype=np.bool_)
    if fast.shape != (pieces + 1, 2):
        raise ValueError(f"held: got shape {fast.shape}; must be {(pieces + 1, 2)}, one row for each joint")
    if not fast[:, 0].any() or (fast[:, 0].sum() == 1 and not fast[:, 1].any() and np.all(given[2] == 0.0)):
        raise ValueError("held: nothing stops the beam from turning; hold the twist at one joint at least")
    # several torques on one beam are solved together
    one_beam = len(shape) > 1 and (len(stiff) < 2 or stiff[-2] == 1)
    lead, loads = (shape[:-2], shape[-2]) if one_beam else (shape[:-1], 1)
    whole = (*lead, 1, pieces) if one_beam else (*lead, pieces)
    rows = [np.array(np.broadcast_to(v, whole), order="C").reshape(-1, pieces) for v in given[:3]]
    torques = np.array(np.broadcast_to(given[3], shape), order="C").reshape(-1, loads, pieces)
    out = np.empty((len(torques), loads, pieces, 2, torsion_kernels.LINE_FIELDS))
    torsion_kernels.line_rows(*rows, torques, fast.reshape(-1), out)
    places = [(p - 1, 1) for p in twice] + [(p, 0) for p in range(pieces)] + [(pieces - 1, 1)]
    piece, end = np.array(sorted(places, key=sum)).T
    joints = out.reshape(-1, *out.shape[2:])[:, piece, end]
    lines = np.ascontiguousarray(np.moveaxis(joints, -1, 0)).reshape(-1, *batch, len(places))
    return TorsionLine(*lines)
