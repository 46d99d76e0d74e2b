"""Who the neighbours are: supports of a lone, an interior and an end bay; a row of modules as one chain."""

from typing import Literal

import numpy as np

from longvault.constraints.plates import Links, Supports
from longvault.constraints.plates_kernel import DOFS
from longvault.sections import Joint, Section, Strips
from longvault.sections.symbols import Array

Bay = Literal["lone", "interior", "end"]
BAYS: tuple[Bay, ...] = ("lone", "interior", "end")
ACROSS, ALONG, DOWN, TURN = range(DOFS)


def bay_supports(section: Section, bay: Bay = "lone", *, mirrored: bool = False) -> Supports:
    """Return what the neighbours hold, by symmetry, from the joints the section declares.

    A lone module is free. In an interior bay a ``valley`` joint neither moves sideways nor turns and is
    free to go down, a ``slot`` is free; what a ``strut`` does is told by `neighbour_struts`, but between
    ``mirrored`` modules it has its spring to the plane of symmetry. An end bay has its neighbour on the
    right. Nothing is held because it is the outermost node.

    Raises
    ------
    ValueError
        For a bay other than lone where the section does not say what its joints on that side are.
    """
    spring = np.zeros((section.strips.x.shape[-1], DOFS))
    for joint in held_joints(section, bay):
        if joint.kind == "valley":
            spring[joint.node, [ACROSS, TURN]] = np.inf
        elif joint.kind == "strut" and mirrored:
            spring[joint.node, ACROSS] += joint.spring
    return Supports(spring)


def valleys_in_turn(supports: Supports) -> Supports | None:
    """Return what neighbours that buckle the other way hold; None where no valley is shared.

    Modules of a row mirror each other about their valleys, so a mode is either alike on both sides of one, as
    `bay_supports` has it, or opposite: the valley then turns and goes sideways freely, and neither sinks nor
    slides along the span. Equal plates of a row buckle so, each out as the next goes in, and every fold is a
    hinge (Timoshenko & Gere: k = 4.00, where mirrored it is 6.97).

    Examples
    --------
    >>> fold = Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> ends = (Joint(0, "valley", "left"), Joint(2, "valley", "right"))
    >>> held = valleys_in_turn(bay_supports(Section("fold", fold, ends), "interior"))
    >>> held.spring[0].tolist()  # across, along, down, turning
    [0.0, inf, inf, 0.0]
    """
    shared = np.isinf(supports.spring[..., [ACROSS, TURN]]).all(axis=-1)
    if not shared.any():
        return None
    spring = supports.spring.copy()
    spring[shared] = [0.0, np.inf, np.inf, 0.0]
    return Supports(spring)


def neighbour_struts(strips: Strips, joints: tuple[Joint, ...], bay: Bay, pitch: float) -> Links:
    """Return the struts across the slots to the next module, as links of the section with itself.

    In an interior bay every module of the row carries the same loads and none is mirrored: the left edge of
    the next one moves as the own left edge does. A strut joins each ``strut`` joint on the right to the one
    it meets on the next module's left, counted from below, with both half-stiffnesses in series. Under loads
    that are alike on both sides that is the spring to the plane of symmetry; under wind from one side the
    row leans in unison and strains no level strut. Where bays are loaded by turns a strut leans on a
    neighbour that moves less: what that asks lies between this and a module without struts, as the last one
    is taken, and the push on struts is largest with all bays loaded. A joint without a partner has none. A
    lone module has no struts; the last of a row is taken to stand alone too: how far its neighbour goes with
    it is not asked (`row` tells).

    Examples
    --------
    >>> gull = Strips.chain([0.0, 1.0, 2.0], [1.0, 0.0, 1.0], 0.1, "wing")
    >>> ends = (Joint(0, "strut", "left", 4e6), Joint(2, "strut", "right", 4e6))
    >>> found = neighbour_struts(gull, ends, "interior", 2.2)
    >>> found.ends.tolist(), found.stiffness.tolist(), found.shift.tolist()
    ([[2, 0]], [2000000.0], [2.2])
    """
    if bay != "interior":
        return Links.none()
    height = strips.z.reshape(-1, strips.x.shape[-1])[0]
    right, left = (_from_below(joints, side, "strut", height) for side in ("right", "left"))
    met = [(one, two) for one, two in zip(right, left, strict=False) if one.spring * two.spring > 0.0]
    ends = np.array([(one.node, two.node) for one, two in met], dtype=np.intp).reshape(-1, 2)
    return Links(ends, np.array([_in_series(one, two) for one, two in met]), np.full(len(met), pitch))


def _from_below(joints: tuple[Joint, ...], side: str, kind: str, height: Array) -> list[Joint]:
    found = [joint for joint in joints if joint.side == side and joint.kind == kind]
    return sorted(found, key=lambda joint: float(height[joint.node]))


def _in_series(one: Joint, two: Joint) -> float:
    return one.spring * two.spring / (one.spring + two.spring)


def held_joints(section: Section, bay: Bay) -> list[Joint]:
    """Return the joints that have a neighbour in this bay; arguments and errors as `bay_supports`."""
    if bay not in BAYS:
        raise ValueError(f"bay must be one of {', '.join(BAYS)}; got {bay!r}")
    found = []
    for side in {"lone": (), "interior": ("left", "right"), "end": ("right",)}[bay]:
        joints = [joint for joint in section.joints if joint.side == side]
        if not joints:
            raise ValueError(
                f"bay {bay!r} needs to know the joints on the {side}, and the section declares none there; "
                'add "joints" (valley, slot or strut) to the section, or ask for the lone bay'
            )
        found += joints
    return found


def row(section: Section, count: int, pitch: float) -> tuple[Strips, Links]:
    """Stand ``count`` modules in a row at ``pitch`` [m] and join them as their joints say.

    Valley joints of neighbours become one node (each file holds its half of a shared member), struts become
    links of both half-stiffnesses in series, slots stay open; both outer sides of the row stay free.
    Module i has strips i e to (i + 1) e - 1.

    Raises
    ------
    ValueError
        If the joints of left and right do not pair up, or valleys do not meet at this pitch.

    Examples
    --------
    >>> fold = Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> ends = (Joint(0, "valley", "left"), Joint(2, "valley", "right"))
    >>> strips, _ = row(Section("fold", fold, ends), 3, 2.0)
    >>> strips.x.tolist()
    [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    """
    if count < 1:
        raise ValueError(f"count must be at least 1; got {count}")
    pairs = _pairs(section, pitch)
    nodes = section.strips.x.shape[-1]
    number = np.arange(count * nodes).reshape(count, nodes)
    links, stiffness = [], []
    for i in range(1, count):
        for right, left in pairs:
            if right.kind == "valley":
                number[i, left.node] = number[i - 1, right.node]
            elif right.kind == "strut":
                links.append((i - 1, right.node, i, left.node))
                stiffness.append(_in_series(right, left))
    kept, renumbered = np.unique(number, return_inverse=True)
    number = renumbered.reshape(count, nodes)
    x = (section.strips.x + pitch * np.arange(count)[:, None]).reshape(-1)[kept]
    z = np.tile(section.strips.z, count)[kept]
    ends = np.concatenate([number[i][section.strips.ends] for i in range(count)])
    strips = Strips(x, z, ends, np.tile(section.strips.thickness, count), section.strips.parts * count)
    joined = np.array([(number[a, p], number[b, q]) for a, p, b, q in links], dtype=np.intp).reshape(-1, 2)
    return strips, Links(joined, np.array(stiffness))


def _pairs(section: Section, pitch: float) -> list[tuple[Joint, Joint]]:
    """Pair each joint of the right side with the one it meets on the next module's left, from below."""
    height = section.strips.z

    def side(name: str) -> list[Joint]:
        kinds = sorted({joint.kind for joint in section.joints})
        return [j for kind in kinds for j in _from_below(section.joints, name, kind, height)]

    right, left = side("right"), side("left")
    if not right or [j.kind for j in right] != [j.kind for j in left]:
        raise ValueError(
            "joints of the right side must pair with those of the left; "
            f"got {[j.kind for j in right]} on the right, {[j.kind for j in left]} on the left"
        )
    for one, two in zip(right, left, strict=True):
        gap = section.strips.nodes[two.node] + [pitch, 0.0] - section.strips.nodes[one.node]
        if one.kind == "valley" and np.abs(gap).max() > 1e-6 * abs(pitch):
            raise ValueError(f"valley joints {one.node} and {two.node} do not meet at pitch {pitch:g} m")
    return list(zip(right, left, strict=True))
