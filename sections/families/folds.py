"""Folded plates, the curved top on a folded bottom, and the wave."""

from functools import partial

import numpy as np

from longvault.sections.curves import curve_points
from longvault.sections.families.assembly import (
    HALF,
    PLATE,
    NamedFamily,
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


def _valleys(nodes: int) -> tuple[Joint, ...]:
    return Joint(0, "valley", "left"), Joint(nodes - 1, "valley", "right")


def fold_v(setting: Setting) -> NamedFamily:
    """Make a folded plate of two plates, valley to valley, thickened along valley and ridge.

    Examples
    --------
    >>> fold_v(Setting(pitch=5.0, height=1.2, thickness=0.08)).design(rise=1.0).parts[0]
    'plate'
    """
    s = setting
    parameters = (
        parameter(
            "rise", 0.2 * s.height, 0.7 * s.height, s.height, "m", "ridge above the valleys, mid-lines"
        ),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the plates"),
        parameter("haunch", 0.05, 0.15, 0.4, "", "length of each thickening, share of the plate"),
        thickness_parameter(s, "valley_thickness", 1.5, 4.0, "thickness at the valleys"),
        thickness_parameter(s, "ridge_thickness", 1.5, 4.0, "thickness at the ridge"),
    )
    build = partial(_build_v, s.pitch)
    return NamedFamily("fold-v", "folded plate, V", parameters, build, _valleys(4 * PLATE + 1))


def _build_v(pitch: float, v: Values) -> Strips:
    share = np.arange(2 * PLATE + 1) / (2 * PLATE)  # from the ridge to a valley
    x, z = 0.5 * pitch * share + 0.0 * v["rise"], v["rise"] * (1.0 - share)
    ridge = np.clip(2 * PLATE * (v["haunch"] - share[:-1]), 0.0, 1.0)  # share of the strip in the haunch
    valley = np.clip(2 * PLATE * (v["haunch"] - 1.0 + share[1:]), 0.0, 1.0)
    extra = ridge * (v["ridge_thickness"] - v["thickness"]) + valley * (
        v["valley_thickness"] - v["thickness"]
    )
    half = v["thickness"] + extra
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    return join(Run(mirrored(x), mirrored(z, 1.0), t, "plate"))


def fold_trapezoid(setting: Setting) -> NamedFamily:
    """Make a trapezoidal folded plate: level valley and top flanges joined by sloping webs.

    Examples
    --------
    >>> fold = fold_trapezoid(Setting(pitch=5.0, height=1.2, thickness=0.08)).design(top_width=1.2)
    >>> float(fold.x.max())
    2.5
    """
    s = setting
    parameters = (
        parameter("rise", 0.2 * s.height, 0.7 * s.height, s.height, "m", "top above the valleys, mid-lines"),
        parameter(
            "bottom_width", 0.05 * s.pitch, 0.2 * s.pitch, 0.45 * s.pitch, "m", "valley flange, whole width"
        ),
        parameter("top_width", 0.05 * s.pitch, 0.2 * s.pitch, 0.45 * s.pitch, "m", "top flange"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the webs"),
        thickness_parameter(s, "bottom_thickness", 1.5, 4.0, "thickness of the valley flange"),
        thickness_parameter(s, "top_thickness", 1.2, 4.0, "thickness of the top flange"),
    )
    build = partial(_build_trapezoid, s.pitch)
    return NamedFamily(
        "fold-trapezoid", "folded plate, trapezoid", parameters, build, _valleys(4 * PLATE + 1)
    )


def _build_trapezoid(pitch: float, v: Values) -> Strips:
    flange = PLATE // 2
    zero = 0.0 * v["rise"]
    top, foot, bay = 0.5 * v["top_width"], 0.5 * (pitch - v["bottom_width"]), 0.5 * pitch + zero
    x = points(
        straight(zero, top, flange), straight(top, foot, PLATE)[..., 1:], straight(foot, bay, flange)[..., 1:]
    )
    level = np.zeros(flange)
    z = points(v["rise"] + np.zeros(flange + 1), straight(v["rise"], zero, PLATE)[..., 1:], zero + level)
    half = points(v["top_thickness"] + level, v["thickness"] + np.zeros(PLATE), v["bottom_thickness"] + level)
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["plate"] * (2 * PLATE)
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))


def fold_z(setting: Setting) -> NamedFamily:
    """Make a Z fold: lower flange, sloping web, upper flange; the glass stands upright between neighbours.

    Examples
    --------
    >>> fold = fold_z(Setting(pitch=5.0, height=1.6, thickness=0.08)).design(rise=1.0)
    >>> float(fold.z.max())
    1.0
    """
    s = setting
    parameters = (
        parameter(
            "rise", 0.3 * s.height, 0.7 * s.height, s.height, "m", "upper flange above the lower, mid-lines"
        ),
        parameter("lower_width", 0.05 * s.pitch, 0.2 * s.pitch, 0.45 * s.pitch, "m", "lower flange"),
        parameter("upper_width", 0.05 * s.pitch, 0.2 * s.pitch, 0.45 * s.pitch, "m", "upper flange"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the web"),
        thickness_parameter(s, "lower_thickness", 1.5, 4.0, "thickness of the lower flange"),
        thickness_parameter(s, "upper_thickness", 1.5, 4.0, "thickness of the upper flange"),
    )
    joints = Joint(0, "slot", "left"), Joint(2 * PLATE, "slot", "right")
    return NamedFamily("fold-z", "folded plate, Z", parameters, partial(_build_z, s.pitch), joints)


def _build_z(pitch: float, v: Values) -> Strips:
    flange, zero = PLATE // 2, 0.0 * v["rise"]
    left, right = zero - 0.5 * pitch, zero + 0.5 * pitch
    foot, head = left + v["lower_width"], right - v["upper_width"]
    x = points(
        straight(left, foot, flange),
        straight(foot, head, PLATE)[..., 1:],
        straight(head, right, flange)[..., 1:],
    )
    level = np.zeros(flange)
    z = points(zero + np.zeros(flange + 1), straight(zero, v["rise"], PLATE)[..., 1:], v["rise"] + level)
    t = points(v["lower_thickness"] + level, v["thickness"] + np.zeros(PLATE), v["upper_thickness"] + level)
    return join(Run(x, z, t, "plate"))


def folded_bottom(setting: Setting) -> NamedFamily:
    """Make a curved top on a folded bottom: level valley flange, sloping plate, circular crown.

    Examples
    --------
    >>> roof = folded_bottom(Setting(pitch=6.0, height=2.0, thickness=0.08)).design(rise=0.6, fold_height=0.8)
    >>> float(roof.z.max().round(9))
    1.4
    """
    s = setting
    parameters = (
        parameter("rise", 0.02 * s.pitch, 0.3 * s.height, 0.6 * s.height, "m", "crown above the fold"),
        parameter(
            "fold_height", 0.1 * s.height, 0.35 * s.height, 0.6 * s.height, "m", "fold above the valley"
        ),
        parameter("fold_width", 0.03 * s.pitch, 0.1 * s.pitch, 0.2 * s.pitch, "m", "sloping plate on plan"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of crown and plates"),
        parameter(
            "valley_width", 0.05 * s.pitch, 0.15 * s.pitch, 0.4 * s.pitch, "m", "valley flange, whole width"
        ),
        thickness_parameter(s, "valley_thickness", 1.5, 4.0, "thickness of the valley flange"),
    )
    build = partial(_build_folded_bottom, s.pitch)
    nodes = 2 * (HALF + PLATE + PLATE // 2) + 1
    return NamedFamily("folded-bottom", "curved top, folded bottom", parameters, build, _valleys(nodes))


def _build_folded_bottom(pitch: float, v: Values) -> Strips:
    flange, zero = PLATE // 2, 0.0 * v["rise"]
    foot, bay = 0.5 * (pitch - v["valley_width"]), 0.5 * pitch + zero
    fold = foot - v["fold_width"]
    crown_x, crown_z = curve_points(
        "arc", width=2.0 * fold[..., 0], rise=v["rise"][..., 0], stations=2 * HALF + 1
    )
    side_x = points(straight(fold, foot, PLATE)[..., 1:], straight(foot, bay, flange)[..., 1:])
    side_z = points(straight(v["fold_height"], zero, PLATE)[..., 1:], zero + np.zeros(flange))
    x = points(-side_x[..., ::-1], crown_x, side_x)
    z = points(side_z[..., ::-1], crown_z + v["fold_height"], side_z)
    side_t = points(v["thickness"] + np.zeros(PLATE), v["valley_thickness"] + np.zeros(flange))
    t = points(side_t[..., ::-1], v["thickness"] + np.zeros(2 * HALF), side_t)
    side = ["plate"] * (PLATE + flange)
    return join(Run(x, z, t, [*side, *["crown"] * (2 * HALF), *side]))


def wave(setting: Setting) -> NamedFamily:
    """Make a wave: crown and valley are arcs that meet without a fold, level at both and so continuous.

    Examples
    --------
    >>> roll = wave(Setting(pitch=6.0, height=2.0, thickness=0.08)).design(rise=1.2)
    >>> float((roll.z[1] - roll.z[0]).round(2))  # level at the valley
    0.0
    """
    s = setting
    parameters = (
        parameter("rise", 0.2 * s.height, 0.6 * s.height, s.height, "m", "crown above the valley, mid-lines"),
        parameter("crown_share", 0.2, 0.5, 0.8, "", "part of the half bay that belongs to the crown"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness where crown and valley meet"),
        thickness_parameter(s, "crown_thickness", 1.2, 4.0, "thickness at the crown"),
        thickness_parameter(s, "valley_thickness", 1.5, 4.0, "thickness at the valley"),
    )
    return NamedFamily("wave", "wave", parameters, partial(_build_wave, s.pitch), _valleys(2 * HALF + 1))


def _build_wave(pitch: float, v: Values) -> Strips:
    zero, part = 0.0 * v["rise"], HALF // 2
    x1, z1 = 0.5 * pitch * v["crown_share"], v["rise"] * (1.0 - v["crown_share"])
    chord = np.arctan2(-v["rise"], 0.5 * pitch + zero)
    crown = arc_between(zero, v["rise"], x1, z1, zero, part)
    valley = arc_between(x1, z1, 0.5 * pitch + zero, zero, 2.0 * chord, part)
    x, z = points(crown[0], valley[0][..., 1:]), points(crown[1], valley[1][..., 1:])
    share = (np.arange(part) + 0.5) / part
    half = points(
        v["crown_thickness"] * (1.0 - share) + v["thickness"] * share,
        v["thickness"] * (1.0 - share) + v["valley_thickness"] * share,
    )
    t = np.concatenate([half[..., ::-1], half], axis=-1)
    parts = ["crown"] * part + ["wing"] * part
    return join(Run(mirrored(x), mirrored(z, 1.0), t, parts[::-1] + parts))
