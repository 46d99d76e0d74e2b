"""Whether the labels and joints of a section from outside say what is there: they decide what is checked."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from longvault.sections.parts import members, roof_surface, shared
from longvault.sections.section_file import Joint, Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

SURFACE = "wing"
"""What strips are taken for that are no beam or kerb, whatever they are called."""

UPRIGHT = np.radians(30.0)
"""Beams and kerbs that lean from the vertical by no more are upright; a run bent by no more is straight."""

SLENDER = 20.0
"""Most depth over thickness of a beam or kerb, or width where it lies flat: the ranges of the families that
this package offers reach so far."""

FLAT_SHARE = 0.25
"""Most width of a flat beam over the bay; likewise."""

AT_EDGE = 0.12
"""How far from the outermost node of its side, over the bay, a joint at the slot may lie."""

THICKER = 1e-6
"""Thicknesses that differ by no more, over the other, are one."""

TOUCH = 1e-3
"""Places that differ by no more are one [m]."""

MOST_SPRING = 1e10
"""Stiffest strut that is taken [N/m2]: E A / L of 100 cm2 of steel every metre, 0.2 m to mid-slot."""


def judged_parts(section: Section, pitch: float, stations: Iterable[Strips] = ()) -> tuple[Section, str]:
    """Take for roof surface what is called a beam or kerb and is none, and say so in one sentence.

    A beam or kerb is straight, ends free at one end, and is compact: not more than `SLENDER` times as deep as
    thick. Where it lies flat it is not wider than a quarter of the bay, and thicker than the surface it meets
    or turned from it by more than 30 degrees: a lip that runs on as the surface does is surface. A valley
    beam is upright with its outer face at the edge of the bay (its strips hold half of the thickness).
    Whatever else a strip is called, it is looked at as roof surface.

    Parameters
    ----------
    section : Section
        One section, not a batch.
    pitch : float
        Bay [m].
    stations : iterable of Strips
        Further sections of a module that varies along the span: what is no beam at one of them is none.

    Returns
    -------
    section : Section
        The same, with the parts as they are looked at.
    said : str
        Empty where nothing was taken for something else.

    Raises
    ------
    ValueError
        If no strip is roof surface: a beam alone is no roof.

    Examples
    --------
    >>> x, z = [-2.0, -1.0, 1.0, 2.0], [0.0, 0.5, 0.5, 0.0]
    >>> roof = Section("roof", Strips.chain(x, z, 0.1, ["wing", "kerb", "wing"]))
    >>> found, said = judged_parts(roof, 4.0)
    >>> found.strips.parts, said
    (('wing', 'wing', 'wing'), '1 strip called kerb is no beam or kerb and is looked at as roof surface')
    """
    strips, wrong = section.strips, np.zeros(len(section.strips.parts), dtype=np.bool_)
    looked = (strips, *stations)
    for run in members(strips):
        wrong[run] = not all(_is_member(one, run, pitch) for one in looked)
    if not (wrong | roof_surface(strips)).any():
        raise ValueError("every strip is called beam or kerb; a roof has surface: call that wing or crown")
    if not wrong.any():
        return section, ""
    names = " and ".join(sorted({strips.parts[e] for e in np.flatnonzero(wrong)}))
    count = int(wrong.sum())
    one, several = (
        "strip called {} is no beam or kerb and is",
        "strips called {} are no beams or kerbs and are",
    )
    words = (one if count == 1 else several).format(names)
    parts = tuple(SURFACE if bad else part for bad, part in zip(wrong, strips.parts, strict=True))
    judged = Strips(strips.x, strips.z, strips.ends, strips.thickness, parts)
    return replace(section, strips=judged), f"{count} {words} looked at as roof surface"


def _is_member(strips: Strips, run: list[int], pitch: float) -> bool:
    """Whether a run of strips is a beam or kerb by its shape and place."""
    dx, dz = (part[run] for part in strips.span_vectors())
    length, ends = strips.length[run], strips.ends[run]
    lean = np.arctan2(np.abs(dx), np.abs(dz))
    along = np.arctan2(dx * dz[0] - dz * dx[0], dx * dx[0] + dz * dz[0])
    bent = np.minimum(np.abs(along), np.pi - np.abs(along)).max()
    meeting = np.bincount(strips.ends.ravel(), minlength=strips.x.shape[-1])
    branched = np.bincount(ends.ravel()).max() > 2
    if bent > UPRIGHT or branched or not (meeting[ends] == 1).any():
        return False
    halves = shared(strips)[run]
    ratio = length.sum() / float((strips.thickness[run] * np.where(halves, 2.0, 1.0)).min())
    if lean.max() <= UPRIGHT:
        return bool(ratio <= SLENDER and (not halves.any() or _at_valley(strips, run, pitch)))
    compact = ratio <= SLENDER and length.sum() <= FLAT_SHARE * pitch and not halves.any()
    return bool(compact and not _runs_on(strips, run))


def _runs_on(strips: Strips, run: list[int]) -> bool:
    """Whether a flat run is no thicker than a strip outside it that it meets, and goes on the same way."""
    dx, dz = strips.span_vectors()
    slope = np.arctan2(dz, dx)
    for e in sorted(set(range(len(strips.parts))) - set(run)):
        for own in run:
            if not np.intersect1d(strips.ends[e], strips.ends[own]).size:
                continue
            turned = np.abs(np.mod(slope[e] - slope[own] + 0.5 * np.pi, np.pi) - 0.5 * np.pi)
            if turned <= UPRIGHT and strips.thickness[own] <= strips.thickness[e] * (1.0 + THICKER):
                return True
    return False


def _at_valley(strips: Strips, run: list[int], pitch: float) -> bool:
    """Whether strips stand at an edge of the bay, between mid-line and outer face."""
    inside = 0.5 * pitch - np.abs(strips.x[strips.ends[run]].mean(axis=-1) - _middle(strips))
    return bool(((inside >= -TOUCH) & (inside <= strips.thickness[run] + TOUCH)).all())


def _middle(strips: Strips) -> float:
    return 0.5 * float(strips.x.min() + strips.x.max())


def check_joints(section: Section, pitch: float | None = None) -> None:
    """Refuse joints that do not lie where a neighbour can be.

    Valley joints of one side stand on one upright line, and there are as many on the left as on the right.
    They meet those of the next module at the bay: the two nodes fall together, or each is half the thickness
    of its own upright strip from the edge. Slots and struts lie at the outermost part of their side; struts
    are no stiffer than steel.

    Parameters
    ----------
    section : Section
        One section, not a batch.
    pitch : float or None
        Bay [m]; where it is not known, whether valleys meet is not asked.

    Raises
    ------
    ValueError
        With one message that names the joint and what is allowed.

    Examples
    --------
    >>> fold = Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> ends = (Joint(0, "valley", "left"), Joint(2, "valley", "right"))
    >>> check_joints(Section("fold", fold, ends), 2.0)
    >>> check_joints(Section("fold", fold, ends), 3.0)
    Traceback (most recent call last):
        ...
    ValueError: joints: valley joints 2 and 0 lie 1 m apart at a bay of 3 m; set bay_m = 2, or call them slots
    """
    strips = section.strips
    for joint in section.joints:
        if joint.spring > MOST_SPRING:
            raise ValueError(
                f"joints: got a spring of {joint.spring / 1e3:g} kN/m2 at node {joint.node}; no steel strut "
                f"is stiffer than {MOST_SPRING / 1e3:g} (E A / L from edge to mid-slot, per metre of span)"
            )
        if joint.kind != "valley":
            _check_slot(strips, joint, float(np.ptp(strips.x)) if pitch is None else pitch)
    left, right = (_valleys(section.joints, side, strips.z) for side in ("left", "right"))
    for side in (left, right):
        _check_line(strips, side)
    if left and right and len(left) != len(right):
        raise ValueError(
            f"joints: {len(left)} valley joints on the left and {len(right)} on the right; they must pair"
        )
    for one, two in zip(right, left, strict=False):
        _check_pair(strips, one, two, pitch)


def _valleys(joints: Iterable[Joint], side: str, z: Array) -> list[Joint]:
    found = [joint for joint in joints if joint.kind == "valley" and joint.side == side]
    return sorted(found, key=lambda joint: float(z[joint.node]))


def _check_slot(strips: Strips, joint: Joint, size: float) -> None:
    """Refuse a slot or strut away from the edge of the module."""
    x, edge = float(strips.x[joint.node]), float(strips.x.min() if joint.side == "left" else strips.x.max())
    if abs(x - edge) > AT_EDGE * size:
        raise ValueError(
            f"joints: {joint.kind} joint {joint.node} on the {joint.side} lies at x = {x:.3g} m; a slot is "
            f"at the {joint.side} edge of the module, x = {edge:.3g} m"
        )


def _check_line(strips: Strips, joints: list[Joint]) -> None:
    """Refuse valley joints of one side that do not stand over one another."""
    for joint in joints[1:]:
        x, first = float(strips.x[joint.node]), float(strips.x[joints[0].node])
        if abs(x - first) > TOUCH:
            raise ValueError(
                f"joints: valley joints {joints[0].node} and {joint.node} on the {joint.side} lie at "
                f"x = {first:.3g} and {x:.3g} m; a module meets its neighbour at one upright line"
            )


def _check_pair(strips: Strips, one: Joint, two: Joint, pitch: float | None) -> None:
    """Refuse two valley joints, right and left, that do not meet."""
    x, z = strips.x, strips.z
    if abs(float(z[one.node] - z[two.node])) > TOUCH:
        raise ValueError(f"joints: valley joints {one.node} and {two.node} lie at different heights")
    wide = float(x[one.node] - x[two.node])
    room = 0.5 * (_upright_at(strips, one.node) + _upright_at(strips, two.node))
    if pitch is not None and not -TOUCH <= pitch - wide <= room + TOUCH:
        raise ValueError(
            f"joints: valley joints {one.node} and {two.node} lie {abs(pitch - wide):.3g} m apart at a bay "
            f"of {pitch:g} m; set bay_m = {wide + room:.6g}, or call them slots"
        )


def _upright_at(strips: Strips, node: int) -> float:
    """Thickness of the thickest upright strip at a node [m]; 0 where there is none."""
    dx, dz = strips.span_vectors()
    at = (strips.ends == node).any(axis=-1) & (np.arctan2(np.abs(dx), np.abs(dz)) <= UPRIGHT)
    return float(strips.thickness[at].max(initial=0.0))
