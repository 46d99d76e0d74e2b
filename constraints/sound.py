"""Sound under a curved roof: where concave stretches gather a voice, and the rule of thumb for their radius.

Ray geometry in the plane of the section. It shows where to expect trouble; near a focus only wave methods
hold. The score is soft: it warns and never rejects a design by itself.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.soffit import FOLD, Curvature, inner_nodes, soffit_curvature
from longvault.sections import Strips
from longvault.sections.opening import slot
from longvault.sections.symbols import Array, BoolArray, IntArray

ZONE = (0.5, 2.0)
"""Radii between these multiples of the floor-to-crown height gather sound near the listeners."""


def focusing_score(strips: Strips, *, floor: ArrayLike) -> Array:
    """Share of the curved soffit that gathers sound near the listeners, 0 (none) to 1, weighted by how badly.

    A concave stretch of radius r under a crown H above the floor counts with 1 - |log2(r/H)|: fully at r = H,
    nothing outside H/2 to 2H. The mean is taken along the developed shell.

    Parameters
    ----------
    strips : Strips, batch (...)
    floor : float or array (...)
        Height z of the floor [m]; the crown is the highest node of the shell's inner nodes.

    Returns
    -------
    array (...)
        NaN where a value is not finite; 0 for a shell without inner nodes. A soft score: never a limit.

    Notes
    -----
    Source: a curved ceiling with a radius between half and twice its height is to be avoided (after
    Cremer, quoted in Handbook for Sound Engineers, p. 173; sense from memory). The weight within that
    range is ours.

    Examples
    --------
    >>> a = np.linspace(np.pi, 0, 37)
    >>> barrel = Strips.chain(4 * np.cos(a), 4 * np.sin(a), 0.1, "wing")
    >>> [round(float(focusing_score(barrel, floor=z)), 3) for z in (0.0, -1.0, -4.0)]
    [1.0, 0.678, 0.0]
    """
    curve = soffit_curvature(strips)
    if not len(curve.node):
        return np.zeros(strips.batch)
    crown = np.ascontiguousarray(strips.z[..., curve.node]).max(axis=-1)
    height = (crown - np.asarray(floor, dtype=np.float64))[..., None]
    gathers = (curve.bend > 0.0) & (curve.bend < FOLD) & (height > 0.0)
    ratio = np.where(gathers, np.minimum(curve.radius, 1e9) / np.where(height > 0.0, height, 1.0), 1e9)
    weight = np.maximum(1.0 - np.abs(np.log2(ratio)), 0.0)
    score: Array = (weight * curve.width).sum(axis=-1) / curve.width.sum(axis=-1)
    return score


@dataclass(frozen=True, slots=True, eq=False)
class Foci:
    """Where each concave spot of the soffit gathers the sound of one speaker.

    Parameters
    ----------
    x, z : array (m,)
        The spots of the soffit [m].
    radius : array (m,)
        Their radius [m].
    source_distance, image_distance : array (m,)
        s and s' of the mirror formula [m]; s' below 0 (spread) or infinite (parallel) makes no focus.
    focus_x, focus_z : array (m,)
        The foci [m], NaN where there is none in the room.
    height : float
        Floor to crown [m].
    """

    x: Array
    z: Array
    radius: Array
    source_distance: Array
    image_distance: Array
    focus_x: Array
    focus_z: Array
    height: float


def sound_foci(
    strips: Strips,
    *,
    floor: float,
    speaker_x: float,
    speaker_height: float = 1.5,
    pitch: float | None = None,
) -> Foci:
    """Foci of a voice under the concave stretches of one section.

    A spot of radius r seen from the distance s at the angle i from its normal sends a bundle to a focus
    at s': 1/s + 1/s' = 2/(r cos i). Straight up (i = 0) this is the mirror formula 1/s + 1/s' = 2/r.

    Parameters
    ----------
    strips : Strips
        One section (no batch).
    floor : float
        Height z of the floor [m].
    speaker_x : float
        Where the speaker stands [m].
    speaker_height : float
        Mouth above the floor [m]. Default 1.5.
    pitch : float, optional
        Bay [m]: then the neighbouring modules and the glass between bound the room too. The foci are
        still those of this module alone.

    Notes
    -----
    Source: mirror formula of geometrical optics; oblique bundles by Coddington's tangential equation
    (from memory).

    Examples
    --------
    A speaker at the centre of a half circle hears the voice return to that very place:

    >>> a = np.linspace(np.pi, 0, 181)
    >>> barrel = Strips.chain(4 * np.cos(a), 1.5 + 4 * np.sin(a), 0.1, "wing")
    >>> foci = sound_foci(barrel, floor=0.0, speaker_x=0.0)
    >>> float(np.abs(foci.focus_x).max().round(2)), float(foci.focus_z.max().round(2))
    (0.0, 1.5)
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch of shape {strips.batch}; one section is needed")
    curve = soffit_curvature(strips)
    crown = float(strips.z[curve.node].max()) if len(curve.node) else float(strips.z.max())
    keep = (curve.bend > 0.0) & (curve.bend < FOLD)
    node, radius = curve.node[keep], curve.radius[keep]
    x, z = strips.x[node], strips.z[node]
    normal_x, normal_z = _inward_normals(strips, curve.node[keep])
    to_x, to_z = speaker_x - x, floor + speaker_height - z
    s = np.hypot(to_x, to_z)
    cosine = (to_x * normal_x + to_z * normal_z) / s
    with np.errstate(divide="ignore", invalid="ignore"):
        image = 1.0 / (2.0 / (radius * cosine) - 1.0 / s)
    # Mirror the way to the speaker about the normal.
    back_x, back_z = 2.0 * cosine * normal_x - to_x / s, 2.0 * cosine * normal_z - to_z / s
    focus_x, focus_z = x + image * back_x, z + image * back_z
    in_room = (cosine > 0.0) & (image > 0.0) & (focus_z >= floor) & (focus_z <= crown)
    walls = _walls(strips, pitch)
    spots, foci = np.stack([x, z], axis=-1), np.stack([focus_x, focus_z], axis=-1)
    in_room &= ~_crosses(spots, np.array([speaker_x, floor + speaker_height]), walls) & ~_crosses(
        spots, foci, walls
    )
    return Foci(
        x,
        z,
        radius,
        s,
        image,
        np.where(in_room, focus_x, np.nan),
        np.where(in_room, focus_z, np.nan),
        crown - floor,
    )


def _walls(strips: Strips, pitch: float | None) -> Array:
    """Segments (n, 2, 2) that bound the room: mid-lines and, with a pitch, the neighbours and the glass."""
    own = strips.nodes[strips.ends]
    if pitch is None:
        return own
    found = slot(strips, pitch)
    glass = np.array([[[found.x_left, found.z_left], [found.x_right, found.z_right]]])
    module = np.concatenate([own, glass]) if float(found.width) > 0.0 else own
    step = np.array([pitch, 0.0])
    return np.concatenate([module - step, module, module + step])


def _crosses(start: Array, stop: Array, walls: Array) -> BoolArray:
    """Whether the way from each start to its stop crosses a segment, other than at the start itself."""
    way = (stop - start)[:, None, :]
    along = (walls[:, 1] - walls[:, 0])[None]
    offset = walls[None, :, 0] - start[:, None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = way[..., 0] * along[..., 1] - way[..., 1] * along[..., 0]
        at_way = (offset[..., 0] * along[..., 1] - offset[..., 1] * along[..., 0]) / turn
        at_wall = (offset[..., 0] * way[..., 1] - offset[..., 1] * way[..., 0]) / turn
    hit = (at_way > 1e-6) & (at_way < 1.0) & (at_wall >= 0.0) & (at_wall <= 1.0)
    crossed: BoolArray = np.any(hit, axis=1)
    return crossed


def _inward_normals(strips: Strips, nodes: IntArray) -> tuple[Array, Array]:
    """Return unit normals (x, z) at inner nodes, on the room's side (down)."""
    before, node, after = inner_nodes(strips)
    rows = np.searchsorted(node, nodes)
    dx = strips.x[after[rows]] - strips.x[before[rows]]
    dz = strips.z[after[rows]] - strips.z[before[rows]]
    down = np.where(dx >= 0.0, 1.0, -1.0) / np.hypot(dx, dz)
    return down * dz, -down * dx


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of concave soffit: its mean radius against the rule H/2 to 2H.

    Parameters
    ----------
    first, last : int
        Node numbers at its ends.
    length, radius : float
        Developed length and mean radius [m].
    ratio : float
        Radius over the floor-to-crown height H.
    in_zone : bool
        Whether H/2 < r < 2H: to be avoided where people speak and listen.
    """

    first: int
    last: int
    length: float
    radius: float
    ratio: float
    in_zone: bool


def concave_stretches(strips: Strips, *, floor: float) -> tuple[Stretch, ...]:
    """Find the runs of concave soffit of one section, with the rule H/2 to 2H.

    Neighbouring spots belong together while their radius stays within a quarter of the run's mean.

    Examples
    --------
    A wing of radius 3.9 m under a crown 6.0 m above the floor lies in the bad zone:

    >>> a = np.linspace(2.4, 1.2, 25)
    >>> wing = Strips.chain(3.9 * np.cos(a), 2.1 + 3.9 * np.sin(a), 0.1, "wing")
    >>> [stretch] = concave_stretches(wing, floor=0.0)
    >>> round(stretch.radius, 2), round(stretch.ratio, 2), stretch.in_zone
    (3.9, 0.65, True)
    """
    curve = soffit_curvature(strips)
    if not len(curve.node):
        return ()
    height = float(strips.z[curve.node].max() - floor)
    runs: list[list[int]] = []
    for i, bend in enumerate(curve.bend):
        if not 0.0 < bend < FOLD:
            continue
        joined = runs and runs[-1][-1] == i - 1 and _adjacent(strips, curve.node[i - 1], curve.node[i])
        mean = _mean_radius(curve, runs[-1]) if joined else 0.0
        if joined and 0.75 * mean <= curve.radius[i] <= 1.25 * mean:
            runs[-1].append(i)
        else:
            runs.append([i])
    found = []
    for run in runs:
        radius = _mean_radius(curve, run)
        ratio = radius / height
        first, last = int(curve.node[run[0]]), int(curve.node[run[-1]])
        found.append(
            Stretch(first, last, float(curve.width[run].sum()), radius, ratio, ZONE[0] < ratio < ZONE[1])
        )
    return tuple(found)


def _mean_radius(curve: Curvature, run: list[int]) -> float:
    """Developed length over turning angle."""
    return float(curve.width[run].sum() / curve.bend[run].sum())


def _adjacent(strips: Strips, i: int, j: int) -> bool:
    """Whether one strip joins two nodes."""
    return bool(np.any(np.all(np.sort(strips.ends, axis=1) == sorted((i, j)), axis=1)))
