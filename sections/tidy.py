"""Sections from outside made ready to measure: coincident nodes joined, unused ones dropped, faults named."""

from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from longvault.sections.section_file import Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import IntArray
from longvault.sections.topology import section_walk

MAX_NODES = 20_000
FARTHEST = 1e9
"""Nodes lie within this distance of the origin [m], as map coordinates do; nothing is thicker."""
SAME_PLACE = 1e-9
"""Nodes nearer than this share of the section's size are one node."""


def tidy_section(section: Section, *, one_piece: bool = True) -> Section:
    """Join nodes that stand at one place, drop nodes without a strip, and check what is left.

    Strips drawn one by one, each with its own end nodes, become a chain again; the way round (clockwise or
    not) and the place of the origin do not matter. Joints follow their nodes.

    Parameters
    ----------
    section : Section
        One section as read.
    one_piece : bool
        Whether separate pieces are a fault, as for a beam; a ceiling may have several.

    Raises
    ------
    ValueError
        With one message that names the strip or node: too many nodes, a value that is not finite, a strip
        without length or thickness, a strip drawn twice, separate pieces, a joint where no strip is.

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
        raise ValueError(f"section: has {strips.x.size} nodes; at most {MAX_NODES} are measured")
    _check_values(strips)
    place = _places(strips)
    ends = place[strips.ends]
    _check_strips(ends)
    used = np.unique(ends)  # a place is numbered by its first node, so nodes keep their order
    number = np.full(strips.x.size, -1, dtype=np.intp)
    number[used] = np.arange(used.size)
    joined = Strips(strips.x[used], strips.z[used], number[ends], strips.thickness, strips.parts)
    if one_piece:
        section_walk(joined)  # or the reason why not
    joints = tuple(replace(joint, node=int(number[place[joint.node]])) for joint in section.joints)
    for before, after in zip(section.joints, joints, strict=True):
        if after.node < 0:
            raise ValueError(f"joints: node {before.node} belongs to no strip, so nothing is held there")
    return Section(section.name, joined, joints)


def _check_values(strips: Strips) -> None:
    bad = np.flatnonzero(~(np.maximum(np.abs(strips.x), np.abs(strips.z)) <= FARTHEST))
    if bad.size:
        node = int(bad[0])
        raise ValueError(
            f"node {node} is at ({strips.x[node]:g}, {strips.z[node]:g}); must be metres within {FARTHEST:g}"
        )
    bad = np.flatnonzero(~((strips.thickness > 0) & (strips.thickness <= FARTHEST)))
    if bad.size:
        strip = int(bad[0])
        raise ValueError(
            f"strip {strip} has thickness {strips.thickness[strip]:g} m; must be above 0, in metres"
        )


def _places(strips: Strips) -> IntArray:
    """Give each node the number of its place; nodes at one place share the number of the first."""
    size = max(float(np.ptp(strips.x)), float(np.ptp(strips.z)))
    place = np.arange(strips.x.size, dtype=np.intp)
    pairs = cKDTree(strips.nodes).query_pairs(SAME_PLACE * size, output_type="ndarray")
    for a, b in pairs[np.lexsort(pairs.T[::-1])]:
        place[b] = place[a]
    return place


def _check_strips(ends: IntArray) -> None:
    point = np.flatnonzero(ends[:, 0] == ends[:, 1])
    if point.size:
        raise ValueError(f"strip {point[0]} joins two nodes at one place; its length must be above 0")
    key = np.sort(ends, axis=1)
    _, index, counts = np.unique(key, axis=0, return_index=True, return_counts=True)
    if (counts > 1).any():
        first = int(index[counts > 1][0])
        again = int(np.flatnonzero((key == key[first]).all(axis=1))[1])
        raise ValueError(f"strips {first} and {again} join the same two nodes; draw each strip once")
