"""Two-winged sections: gull-wings on a keel, a gutter box or a flange, for a cantilever; the butterfly."""

from functools import partial

import numpy as np

from longvault.sections.families.assembly import (
    HALF,
    PLATE,
    NamedFamily,
    Parameter,
    Run,
    Values,
    arc_between,
    join,
    mirrored,
    parameter,
    points,
    straight,
    thickness_parameter,
)
from longvault.sections.families.base import Setting
from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

KERB_WIDTH, KERB_HEIGHT = 0.20, 0.50
EDGE_WIDTH = 0.15
KEEL = PLATE // 2
"""Strips along half a keel."""
TIP_GAP = 0.2
"""Gap between the tips of neighbouring canopies [m]."""


def _gull_parameters(s: Setting) -> tuple[Parameter, ...]:
    return (
        parameter(
            "rise", 0.3 * s.height, 0.75 * s.height, s.height, "m", "slot edge above the keel, mid-lines"
        ),
        parameter("slot", 0.05 * s.pitch, 0.15 * s.pitch, 0.4 * s.pitch, "m", "distance between kerb faces"),
        parameter(
            "springing",
            np.radians(30),
            np.radians(60),
            np.radians(75),
            "rad",
            "slope of the wing at the keel",
        ),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the wings"),
    )


def _slot_joints(nodes: int) -> tuple[Joint, ...]:
    return Joint(1, "slot", "left"), Joint(nodes - 2, "slot", "right")


def gull_wing_keel(setting: Setting) -> NamedFamily:
    """Make a gull-wing on a keel slab: circular wings rise from the keel to kerbs 0.20 x 0.50 at the slot.

    Examples
    --------
    >>> hall = gull_wing_keel(Setting(pitch=7.5, height=2.65, thickness=0.1)).design(slot=1.2)
    >>> float(2 * hall.x.max().round(6))  # 7.5 - 1.2 - 0.2
    6.1
    """
    s = setting
    keel = (
        parameter("keel_width", 0.05 * s.pitch, 0.19 * s.pitch, 0.4 * s.pitch, "m", "width of the keel slab"),
        thickness_parameter(s, "keel_thickness", 1.8, 4.0, "thickness of the keel slab"),
    )
    joints = _slot_joints(2 * (KEEL + HALF + 1) + 1)
    build = partial(_build_keel, s.pitch)
    return NamedFamily("gull-wing-keel", "gull-wing with keel", (*_gull_parameters(s), *keel), build, joints)


def _wing(pitch: float, root: Array, v: Values) -> tuple[Array, Array, Array]:
    """Points of the right wing from its root (root, 0) to the kerb top, and the place of the slot edge."""
    tip = 0.5 * (pitch - v["slot"] - KERB_WIDTH)
    x, z = arc_between(root, 0.0 * root, tip, v["rise"], v["springing"], HALF)
    return points(x, tip), points(z, v["rise"] + KERB_HEIGHT), tip


def _wing_thickness(v: Values) -> Array:
    zero = 0.0 * v["thickness"]
    return points(v["thickness"] + np.zeros(HALF), zero + KERB_WIDTH)


_WING_PARTS = ["wing"] * HALF + ["kerb"]


def _build_keel(pitch: float, v: Values) -> Strips:
    root = 0.5 * v["keel_width"]
    wing_x, wing_z, _ = _wing(pitch, root, v)
    x = points(straight(0.0 * root, root, KEEL), wing_x[..., 1:])
    z = points(0.0 * root + np.zeros(KEEL + 1), wing_z[..., 1:])
    half = points(v["keel_thickness"] + np.zeros(KEEL), _wing_thickness(v))
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["keel"] * KEEL + _WING_PARTS
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))


def gull_wing_gutter(setting: Setting) -> NamedFamily:
    """Make a gull-wing on a gutter box: the wings spring from the walls of an open trough.

    Examples
    --------
    >>> hall = gull_wing_gutter(Setting(pitch=7.5, height=2.65, thickness=0.1)).design(gutter_depth=0.4)
    >>> float(hall.z.min())
    -0.4
    """
    s = setting
    gutter = (
        parameter(
            "gutter_width", 0.05 * s.pitch, 0.12 * s.pitch, 0.3 * s.pitch, "m", "width between wall mid-lines"
        ),
        parameter("gutter_depth", 0.15, 0.30, 0.8, "m", "floor below the springing, mid-lines"),
    )
    joints = _slot_joints(2 * (KEEL + 2 + HALF + 1) + 1)
    build = partial(_build_gutter, s.pitch)
    return NamedFamily(
        "gull-wing-gutter", "gull-wing with gutter box", (*_gull_parameters(s), *gutter), build, joints
    )


def _build_gutter(pitch: float, v: Values) -> Strips:
    root, depth = 0.5 * v["gutter_width"], v["gutter_depth"]
    wing_x, wing_z, _ = _wing(pitch, root, v)
    x = points(straight(0.0 * root, root, KEEL), root, wing_x)
    z = points(np.zeros(KEEL + 1) - depth, -0.5 * depth, wing_z)
    half = points(1.5 * v["thickness"] + np.zeros(KEEL + 2), _wing_thickness(v))
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["gutter"] * (KEEL + 2) + _WING_PARTS
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))


def gull_wing_flange(setting: Setting) -> NamedFamily:
    """Make a gull-wing on a flange: a bottom slab twice as wide as the distance of the wing roots.

    Examples
    --------
    >>> hall = gull_wing_flange(Setting(pitch=7.5, height=2.65, thickness=0.1)).design(flange_width=1.6)
    >>> float(hall.x[-1])
    0.8
    """
    s = setting
    flange = (
        parameter(
            "flange_width", 0.08 * s.pitch, 0.2 * s.pitch, 0.4 * s.pitch, "m", "whole width of the flange"
        ),
        thickness_parameter(s, "flange_thickness", 1.8, 4.0, "thickness of the flange"),
    )
    joints = _slot_joints(2 * (KEEL + HALF + 1) + 1)
    build = partial(_build_flange, s.pitch)
    return NamedFamily(
        "gull-wing-flange", "gull-wing with flange", (*_gull_parameters(s), *flange), build, joints
    )


def _build_flange(pitch: float, v: Values) -> Strips:
    narrow = dict(v) | {"keel_width": 0.5 * v["flange_width"], "keel_thickness": v["flange_thickness"]}
    root, edge, zero = 0.25 * v["flange_width"], 0.5 * v["flange_width"], 0.0 * v["flange_width"]
    middle = _build_keel(pitch, narrow)
    left, right = HALF + 1, HALF + 1 + 2 * KEEL
    chain = Run(middle.x, middle.z, middle.thickness, middle.parts)
    toes = [
        Run(side * points(root, edge), points(zero, zero), v["flange_thickness"], "keel", start=node)
        for side, node in ((-1, left), (1, right))
    ]
    return join(chain, *toes)


def cantilever_gull_wing(setting: Setting) -> NamedFamily:
    """Make the root section of a cantilever gull-wing: wings thickened towards their tips, where tension is.

    Examples
    --------
    >>> canopy = cantilever_gull_wing(Setting(pitch=4.8, height=1.5, thickness=0.08)).design(depth=1.3)
    >>> float(canopy.z.max())
    1.3
    """
    s = setting
    parameters = (
        parameter(
            "depth", 0.3 * s.height, 0.85 * s.height, s.height, "m", "wing tip above the keel, mid-lines"
        ),
        parameter(
            "springing",
            np.radians(25),
            np.radians(50),
            np.radians(75),
            "rad",
            "slope of the wing at the keel",
        ),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the wing at the keel"),
        thickness_parameter(s, "tip_thickness", 1.5, 4.0, "thickness of the wing at its tip"),
        parameter("keel_width", 0.05 * s.pitch, 0.125 * s.pitch, 0.3 * s.pitch, "m", "width of the keel"),
        thickness_parameter(s, "keel_thickness", 3.0, 5.0, "depth of the keel"),
    )
    nodes = 2 * (KEEL + HALF) + 1
    joints = Joint(0, "slot", "left"), Joint(nodes - 1, "slot", "right")
    build = partial(_build_cantilever, s.pitch)
    return NamedFamily("cantilever-gull-wing", "cantilever gull-wing", parameters, build, joints)


def _build_cantilever(pitch: float, v: Values) -> Strips:
    root, zero = 0.5 * v["keel_width"], 0.0 * v["depth"]
    tip = 0.5 * (pitch - TIP_GAP) + zero
    wing_x, wing_z = arc_between(root, zero, tip, v["depth"], v["springing"], HALF)
    x = points(straight(zero, root, KEEL), wing_x[..., 1:])
    z = points(zero + np.zeros(KEEL + 1), wing_z[..., 1:])
    share = (np.arange(HALF) + 0.5) / HALF
    wing_t = v["thickness"] * (1.0 - share) + v["tip_thickness"] * share
    half = points(v["keel_thickness"] + np.zeros(KEEL), wing_t)
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["keel"] * KEEL + ["wing"] * HALF
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))


def butterfly(setting: Setting) -> NamedFamily:
    """Make a butterfly: two plane wings rise from a keel to edge beams 0.15 wide that hang from their tips.

    Examples
    --------
    >>> roof = butterfly(Setting(pitch=6.0, height=1.8, thickness=0.08)).design(rise=1.2, edge_height=0.4)
    >>> float(roof.z.max())
    1.2
    """
    s = setting
    parameters = (
        parameter(
            "rise", 0.3 * s.height, 0.7 * s.height, s.height, "m", "wing tip above the keel, mid-lines"
        ),
        parameter(
            "slot", 0.05 * s.pitch, 0.15 * s.pitch, 0.4 * s.pitch, "m", "gap between the wings of neighbours"
        ),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the wings"),
        parameter("keel_width", 0.05 * s.pitch, 0.15 * s.pitch, 0.4 * s.pitch, "m", "width of the keel slab"),
        thickness_parameter(s, "keel_thickness", 1.8, 4.0, "thickness of the keel slab"),
        parameter("edge_height", 0.10, 0.30, 0.80, "m", "depth of the edge beams"),
    )
    joints = _slot_joints(2 * (KEEL + PLATE + 1) + 1)
    return NamedFamily("butterfly", "butterfly", parameters, partial(_build_butterfly, s.pitch), joints)


def _build_butterfly(pitch: float, v: Values) -> Strips:
    root, zero = 0.5 * v["keel_width"], 0.0 * v["rise"]
    tip = 0.5 * (pitch - v["slot"] - EDGE_WIDTH)
    x = points(straight(zero, root, KEEL), straight(root, tip, PLATE)[..., 1:], tip)
    z = points(zero + np.zeros(KEEL), straight(zero, v["rise"], PLATE), v["rise"] - v["edge_height"])
    half = points(v["keel_thickness"] + np.zeros(KEEL), v["thickness"] + np.zeros(PLATE), zero + EDGE_WIDTH)
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["keel"] * KEEL + ["wing"] * PLATE + ["edge beam"]
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))
