"""Vaults on the curves of the trade, between edge members of a chosen direction, and the slotted vault."""

from functools import partial

import numpy as np

from longvault.sections.curves import CurveKind, curve_points
from longvault.sections.families.assembly import (
    HALF,
    NamedFamily,
    Parameter,
    Run,
    Values,
    join,
    mirrored,
    parameter,
    points,
    thickness_parameter,
    zone,
)
from longvault.sections.families.base import Setting
from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

EDGES = ("valley beam", "vertical beam", "horizontal beam", "gutter box", "none")
"""Edge members by direction: shared with the neighbour, or the module's own."""

CURVES: dict[str, tuple[CurveKind, str]] = {
    "segment-vault": ("arc", "segment"),
    "semicircle-vault": ("arc", "semicircle"),
    "shallow-vault": ("arc", "shallow vault"),
    "ellipse-vault": ("ellipse", "half ellipse"),
    "parabola-vault": ("parabola", "parabola"),
    "catenary-vault": ("catenary", "catenary"),
    "cycloid-vault": ("cycloid", "cycloid"),
}
"""Key -> curve and what the trade calls it."""


def curve_vault(key: str, setting: Setting, edge: str = "valley beam") -> NamedFamily:
    """Make a vault on a named curve with an edge member along each springing.

    The springings stand at z = 0. A semicircle and a cycloid take their rise from their width.

    Parameters
    ----------
    key : str
        One of `CURVES`.
    setting : Setting
        Pitch, height and least thickness.
    edge : str
        One of `EDGES`.

    Examples
    --------
    >>> bare = curve_vault("cycloid-vault", Setting(pitch=6.2, height=3.0, thickness=0.08), "none")
    >>> float(bare.design().z.max().round(4))  # 6.2 / pi
    1.9735
    """
    if edge not in EDGES:
        raise ValueError(f"edge: got {edge!r}; must be one of {', '.join(EDGES)}")
    kind, title = CURVES[key]
    build = partial(_build_vault, setting.pitch, kind, key == "semicircle-vault", edge)
    suffix = {"valley beam": "", "none": ", bare"}.get(edge, f", {edge}")
    name = key if edge == "valley beam" else f"{key}-{edge.replace(' ', '-')}".replace("-none", "-bare")
    return NamedFamily(name, title + suffix, _vault_parameters(key, setting, edge), build, _joints(edge))


def _vault_parameters(key: str, s: Setting, edge: str) -> tuple[Parameter, ...]:
    most = 0.2 * s.pitch if key == "shallow-vault" else min(s.height, 0.5 * s.pitch)
    rise = (
        ()
        if key in ("semicircle-vault", "cycloid-vault")
        else (
            parameter(
                "rise", 0.05 * s.pitch, 0.15 * s.pitch, most, "m", "crown above the springing, mid-lines"
            ),
        )
    )
    edge_members = (
        ()
        if edge == "none"
        else (
            parameter("edge_width", 0.15, 0.25, 0.25 * s.pitch, "m", "width of the edge member on plan"),
            parameter("edge_depth", 0.10, 0.50, max(0.2, 0.6 * s.height), "m", "depth of the edge member"),
        )
    )
    return (
        *rise,
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the shell"),
        parameter(
            "crown_width", 0.0, 0.2 * s.pitch, 0.6 * s.pitch, "m", "width of the thickened crown on plan"
        ),
        thickness_parameter(s, "crown_thickness", 1.5, 4.0, "thickness of the crown"),
        *edge_members,
    )


def _joints(edge: str) -> tuple[Joint, Joint]:
    """Where a vault meets its neighbours: at its feet, or at the far end of an edge member that lies flat."""
    added = {"horizontal beam": 1, "gutter box": 3}.get(edge, 0)
    left, right = (2 * HALF + added, 2 * HALF + 2 * added) if added else (0, 2 * HALF)
    return Joint(left, "valley", "left"), Joint(right, "valley", "right")


def _build_vault(pitch: float, kind: CurveKind, semicircle: bool, edge: str, v: Values) -> Strips:
    width, depth = v.get("edge_width", np.zeros(1)), v.get("edge_depth", np.zeros(1))
    inset = {
        "valley beam": 0.25,
        "vertical beam": 0.5,
        "horizontal beam": 1.0,
        "gutter box": 1.0,
        "none": 0.0,
    }
    foot = 0.5 * pitch - inset[edge] * width + 0.0 * v["thickness"]
    rise = foot if semicircle else v.get("rise")
    x, z = curve_points(
        kind, width=2.0 * foot[..., 0], rise=None if rise is None else rise[..., 0], stations=2 * HALF + 1
    )
    crown = zone(x, 0.5 * v["crown_width"])
    t = v["thickness"] + crown * (v["crown_thickness"] - v["thickness"])
    members = (
        [] if edge == "none" else [_edge_member(edge, side, foot, pitch, width, depth, v) for side in (-1, 1)]
    )
    return join(Run(x, z, t, "crown"), *members)


def _edge_member(
    edge: str, side: int, foot: Array, pitch: float, width: Array, depth: Array, v: Values
) -> Run:
    node = 0 if side < 0 else 2 * HALF
    zero = 0.0 * foot
    if edge == "horizontal beam":
        out = side * points(foot, 0.5 * pitch + zero)
        return Run(out, points(zero, zero), depth, "edge beam", start=node)
    if edge == "gutter box":
        outer = 0.5 * pitch - 0.5 * v["thickness"] + zero
        x, z = side * points(foot, foot, outer, outer), points(zero, zero - depth, zero - depth, zero)
        return Run(x, z, v["thickness"], "gutter", start=node)
    down = Run(side * points(foot, foot), points(zero, -depth), width, "edge beam", start=node)
    if edge == "vertical beam":
        return down
    return Run(down.x, down.z, 0.5 * width, "valley beam", start=node)


def slotted_vault(setting: Setting) -> NamedFamily:
    """Make a circular vault with a crown slot, as the piece that acts: valley beam, two wings, kerbs.

    The visitor sees the vault from valley to valley; what spans is this half-bay shift of it. The wings lie
    on the circle of the whole vault; the valley beam is the module's own.

    Examples
    --------
    >>> hall = slotted_vault(Setting(pitch=7.5, height=2.65, thickness=0.1))
    >>> hall.design(slot=1.2).width.round(3) if False else len(hall.variables)
    6
    """
    s = setting
    parameters = (
        parameter(
            "rise",
            0.1 * s.pitch,
            0.25 * s.pitch,
            min(s.height, 0.5 * s.pitch),
            "m",
            "crown of the whole circle",
        ),
        parameter("slot", 0.05 * s.pitch, 0.15 * s.pitch, 0.4 * s.pitch, "m", "distance between kerb faces"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the wings"),
        parameter("kerb_height", 0.15, 0.30, 0.80, "m", "kerb above the slot edge"),
        parameter("beam_width", 0.15, 0.30, 0.60, "m", "width of the valley beam"),
        parameter("beam_depth", 0.15, 0.50, max(0.2, 0.6 * s.height), "m", "valley beam below the springing"),
    )
    joints = Joint(1, "slot", "left"), Joint(2 * HALF + 1, "slot", "right")
    build = partial(_build_slotted, s.pitch)
    return NamedFamily("slotted-vault", "vault with crown slot", parameters, build, joints)


KERB_WIDTH = 0.15


def _build_slotted(pitch: float, v: Values) -> Strips:
    half = 0.5 * pitch
    radius = (half * half + v["rise"] ** 2) / (2.0 * v["rise"])
    springing = 2.0 * np.arctan(v["rise"] / half)
    cut = np.arcsin(np.clip((0.5 * v["slot"] + 0.5 * KERB_WIDTH) / radius, 0.0, 1.0))
    share = np.arange(HALF + 1) / HALF
    turn = springing * (1.0 - share) + cut * share
    x = half - radius * np.sin(turn)
    z = radius * (np.cos(turn) - np.cos(springing))
    x = points(0.0 * v["rise"], x[..., 1:])
    tip = z[..., -1:] + v["kerb_height"]
    parts = ["kerb", *["wing"] * (2 * HALF), "kerb"]
    t = points(0.0 * tip + KERB_WIDTH, v["thickness"] + np.zeros(2 * HALF), 0.0 * tip + KERB_WIDTH)
    chain = Run(mirrored(points(x, x[..., -1:])), mirrored(points(z, tip), 1.0), t, parts)
    zero = 0.0 * tip
    return join(
        chain,
        Run(points(zero, zero), points(zero, -v["beam_depth"]), v["beam_width"], "edge beam", start=HALF + 1),
    )
