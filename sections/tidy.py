"""Sections from outside made ready to measure: coincident nodes joined, unused ones dropped, faults named."""

from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from longvault.sections.section_file import Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import IntArray
from longvault.sections.topology import section_walk

MAX_NODES = 20_000
SAME_PLACE = 1e-9
"""Nodes nearer than this share of the section's size are one node."""


def tidy_section(section: Section) -> Section:
    """Join nodes that stand at one place, drop nodes without a strip, and check that one piece is left.

    Strips drawn one by one, each with its own end nodes, become a chain again; the way round (clockwise or
    not) and the place of the origin do not matter. Joints follow their nodes.

    Parameters
    ----------
    section : Section
        One section as read.

    Raises
    ------
    ValueError
        With one message that names the strip or node: too many nodes, a value that is not finite, a strip
        without length or thickness, a strip drawn twice, separate pieces.

    Examples
    --------
    >>> twin = Strips([0, 1, 1, 2], [0, 0, 0, 1], [[0, 1], [2, 3]], [0.1, 0.1], ["web", "web"])
    >>> tidy_section(Section("drawn apart", twin)).strips.x.tolist()
    [0.0, 1.0, 2.0]
    """
    strips = section.strips
    if strips.batch:
        raise ValueError(f"section: got a batch of shape {strips.batch}; one section is tidied at a time")
    if strips.x.size > MAX_NODES:
        raise ValueError(f"{section.name}: has {strips.x.size} nodes; at most {MAX_NODES} are measured")
    _check_values(section)
    place = _places(strips)
    ends = place[strips.ends]
    _check_strips(section.name, strips, ends)
    used = np.unique(ends)  # a place is numbered by its first node, so nodes keep their order
    number = np.full(strips.x.size, -1, dtype=np.intp)
    number[used] = np.arange(used.size)
    joined = Strips(strips.x[used], strips.z[used], number[ends], strips.thickness, strips.parts)
    section_walk(joined)  # one piece, or the reason why not
    joints = tuple(
        replace(j, node=int(number[place[j.node]])) for j in section.joints if number[place[j.node]] >= 0
    )
    return Section(section.name, joined, joints)


def _check_values(section: Section) -> None:
    strips = section.strips
    bad = np.flatnonzero(~(np.isfinite(strips.x) & np.isfinite(strips.z)))
    if bad.size:
        node = int(bad[0])
        raise ValueError(
            f"{section.name}: node {node} is at ({strips.x[node]:g}, {strips.z[node]:g}); must be finite"
        )
    bad = np.flatnonzero(~(np.isfinite(strips.thickness) & (strips.thickness > 0)))
    if bad.size:
        strip = int(bad[0])
        raise ValueError(
            f"{section.name}: strip {strip} has thickness {strips.thickness[strip]:g} m; must be above 0"
        )


def _places(strips: Strips) -> IntArray:
    """Give each node the number of its place; nodes at one place share the number of the first."""
    size = max(float(np.ptp(strips.x)), float(np.ptp(strips.z)))
    place = np.arange(strips.x.size, dtype=np.intp)
    pairs = cKDTree(strips.nodes).query_pairs(SAME_PLACE * size, output_type="ndarray")
    for a, b in pairs[np.lexsort(pairs.T[::-1])]:
        place[b] = place[a]
    return place


def _check_strips(name: str, strips: Strips, ends: IntArray) -> None:
    point = np.flatnonzero(ends[:, 0] == ends[:, 1])
    if point.size:
        raise ValueError(f"{name}: strip {point[0]} joins two nodes at one place; its length must be above 0")
    key = np.sort(ends, axis=1)
    _, index, counts = np.unique(key, axis=0, return_index=True, return_counts=True)
    if (counts > 1).any():
        first = int(index[counts > 1][0])
        again = int(np.flatnonzero((key == key[first]).all(axis=1))[1])
        raise ValueError(f"{name}: strips {first} and {again} join the same two nodes; draw each strip once")
