"""First bounce of light off a reflector under a slot, or off the back of a scoop, in the section.

Facets are segments (n, 2, 2): two end points (x, z) each [m]; the bright side lies to the left of the way
from the first to the second. All are matt (they send light on by the cosine law) and run without end
along the span.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.soffit import EDGE_PARTS
from longvault.sections import Strips
from longvault.sections.symbols import Array


def exchange_length(one: ArrayLike, other: ArrayLike) -> Array:
    """View factor times length between facets, L1 F12 = L2 F21 = (crossed - uncrossed strings)/2 [m].

    Each facet is first cut to the part that lies on the bright side of the other. Nothing may stand in
    between.

    Parameters
    ----------
    one : array (n, 2, 2)
    other : array (m, 2, 2)

    Returns
    -------
    array (n, m)

    Notes
    -----
    Source: H. C. Hottel's method of crossed strings (from memory).

    Examples
    --------
    A slot 1 m wide, 4 m above a floor of 6 m: 0.598 of its light falls on the floor.

    >>> slot, floor = [[[0.5, 4.0], [-0.5, 4.0]]], [[[-3.0, 0.0], [3.0, 0.0]]]
    >>> round(float(exchange_length(slot, floor)[0, 0]), 7)
    0.5980823
    """
    first, second = (np.asarray(v, dtype=np.float64) for v in (one, other))
    a, b = np.broadcast_arrays(first[:, None], second[None, :])
    a, b = _bright_part(a, b), _bright_part(b, a)

    def string(i: int, j: int) -> Array:
        length: Array = np.hypot(a[..., i, 0] - b[..., j, 0], a[..., i, 1] - b[..., j, 1])
        return length

    exchange: Array = 0.5 * np.abs(string(0, 0) + string(1, 1) - string(0, 1) - string(1, 0))
    return exchange


def _bright_part(a: Array, b: Array) -> Array:
    """Cut the facets ``a`` to the bright side of the facets ``b``; a point is left where nothing remains."""
    along = b[..., 1, :] - b[..., 0, :]
    offset = a - b[..., :1, :]
    # Distance to the line of b, times its length: positive on the left.
    side = along[..., None, 0] * offset[..., 1] - along[..., None, 1] * offset[..., 0]
    span = side[..., 1] - side[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        cut = np.where(span == 0.0, 0.0, -side[..., 0] / span)
    start = np.where(side[..., 0] >= 0.0, 0.0, np.clip(cut, 0.0, 1.0))
    stop = np.where(side[..., 1] >= 0.0, 1.0, np.clip(cut, 0.0, 1.0))
    dark = (side[..., 0] < 0.0) & (side[..., 1] < 0.0)
    start, stop = np.where(dark, 0.0, start), np.where(dark, 0.0, stop)
    way = a[..., 1, :] - a[..., 0, :]
    first, last = (a[..., 0, :] + v[..., None] * way for v in (start, stop))
    return np.stack([first, last], axis=-2)


def soffit_facets(strips: Strips) -> Array:
    """Facets of the shell with the bright side down, on the mid-line; kerbs, edge beams and gutters left out.

    Examples
    --------
    >>> soffit_facets(Strips.chain([0.0, 1.0], [3.0, 3.5], 0.1, "wing")).tolist()
    [[[1.0, 3.5], [0.0, 3.0]]]
    """
    keep = [i for i, part in enumerate(strips.parts) if part not in EDGE_PARTS]
    pairs = strips.nodes[strips.ends[keep]]
    rightwards = pairs[:, 1, 0] >= pairs[:, 0, 0]
    facets: Array = np.where(rightwards[:, None, None], pairs[:, ::-1], pairs)
    return facets


def facet_lengths(facets: ArrayLike) -> Array:
    """Length of each facet [m].

    Examples
    --------
    >>> facet_lengths([[[0.0, 0.0], [3.0, 4.0]]]).tolist()
    [5.0]
    """
    f = np.asarray(facets, dtype=np.float64)
    length: Array = np.hypot(f[:, 1, 0] - f[:, 0, 0], f[:, 1, 1] - f[:, 0, 1])
    return length


@dataclass(frozen=True, slots=True, eq=False)
class FirstBounce:
    """Light of a slot after one bounce. Illuminances are shares of the light that leaves each m2 of the slot.

    Parameters
    ----------
    on_reflector : array (m,)
        Illuminance of each facet of the reflector.
    on_target : array (k,)
        Illuminance of each target from the reflector alone.
    caught : float
        Share of the slot's light that meets the reflector.
    sent : float
        Share of the slot's light that reaches the targets after the bounce.
    """

    on_reflector: Array
    on_target: Array
    caught: float
    sent: float


def first_bounce(
    slot: ArrayLike, reflector: ArrayLike, target: ArrayLike, *, reflectance: float = 0.8
) -> FirstBounce:
    """Light that a slot sends to a reflector and the reflector sends on, once.

    Use the soffit as the target for a reflector hung under a crown slot, the floor as the target for a
    scoop whose back is the reflector.

    Parameters
    ----------
    slot : array (1, 2, 2)
        The bright opening, as an even, matt source.
    reflector : array (m, 2, 2)
        Facets of the reflector.
    target : array (k, 2, 2)
        Facets of the surface that is lit.
    reflectance : float
        Of the reflector, 0 to 1. Default 0.8, white paint (common practice).

    Notes
    -----
    Range: a clear line between all facets; light of the first bounce only. Source: view factors by
    crossed strings (Hottel) and the balance of light.

    Examples
    --------
    A flat reflector 1.6 m wide hung 0.8 m under a slot of 1 m lights a flat soffit on both sides of it:

    >>> slot, plate = [[[0.5, 4.0], [-0.5, 4.0]]], [[[-0.8, 3.2], [0.8, 3.2]]]
    >>> soffit = [[[-0.5, 4.0], [-3.0, 4.0]], [[3.0, 4.0], [0.5, 4.0]]]
    >>> light = first_bounce(slot, plate, soffit)
    >>> round(light.caught, 3), round(light.sent, 3)
    (0.672, 0.292)
    """
    if not 0.0 <= reflectance <= 1.0:
        raise ValueError(f"reflectance: got {reflectance:g}; must be from 0 to 1")
    source = np.asarray(slot, dtype=np.float64)
    plates, lit = np.asarray(reflector, dtype=np.float64), np.asarray(target, dtype=np.float64)
    received = exchange_length(source, plates).sum(axis=0)
    on_reflector = received / facet_lengths(plates)
    light = exchange_length(plates, lit) * (reflectance * on_reflector)[:, None]
    width = float(facet_lengths(source).sum())
    on_target = light.sum(axis=0) / facet_lengths(lit)
    return FirstBounce(on_reflector, on_target, float(received.sum()) / width, float(light.sum()) / width)
