"""One-sided sections for north light: the north-light shell and the light scoop."""

import numpy as np

from longvault.sections.families.assembly import (
    HALF,
    NamedFamily,
    Run,
    Values,
    arc_between,
    join,
    parameter,
    points,
    thickness_parameter,
)
from longvault.sections.families.base import Setting
from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

GUTTER_WIDTH, GUTTER_THICKNESS = 0.55, 0.15
KERB_WIDTH, KERB_HEIGHT = 0.12, 0.35
DOWNSTAND_WIDTH, TOP_WIDTH = 0.20, 0.15

_JOINTS = Joint(1, "slot", "left"), Joint(HALF + 2, "slot", "right")


def north_light(setting: Setting) -> NamedFamily:
    """Make a north-light shell: gutter slab with kerb and downstand, circular arc, top beam under its end.

    The glass stands between the top beam and the kerb of the next gutter. Gutter, kerb and beam widths are
    those of a small workshop: gutter slab 0.55 x 0.15, kerb 0.12 x 0.35, downstand 0.20, top beam 0.15 wide.

    Examples
    --------
    >>> import numpy as np
    >>> shell = north_light(Setting(pitch=6.0, height=3.4, thickness=0.08))
    >>> strips = shell.design(rise=2.45, shell_width=4.35, slope=np.radians(45.5))
    >>> float(strips.length[2:-2].sum().round(2))  # arc of radius 9.0
    5.06
    """
    s = setting
    parameters = (
        parameter(
            "rise", 0.3 * s.height, 0.72 * s.height, s.height, "m", "end of the shell above the gutter"
        ),
        parameter("shell_width", 0.5 * s.pitch, 0.725 * s.pitch, 0.85 * s.pitch, "m", "shell on plan"),
        parameter(
            "slope", np.radians(35), np.radians(55), np.radians(75), "rad", "slope of the shell at the gutter"
        ),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the shell"),
        parameter("downstand_depth", 0.15, 0.55, 0.9, "m", "beam under the gutter"),
        parameter("top_depth", 0.15, 0.35, 0.7, "m", "beam under the end of the shell"),
    )
    return NamedFamily("north-light", "north-light shell", parameters, _build_north_light, _JOINTS)


def _build_north_light(v: Values) -> Strips:
    zero = 0.0 * v["rise"]
    shell = arc_between(zero, zero, v["shell_width"], v["rise"], v["slope"], HALF)
    return _with_gutter(shell, v)


def light_scoop(setting: Setting) -> NamedFamily:
    """Make a light scoop, an S-curve: hollow at the gutter, round at the top, level at both ends.

    Examples
    --------
    >>> scoop = light_scoop(Setting(pitch=6.0, height=3.0, thickness=0.08)).design(rise=2.0)
    >>> float(scoop.z[1:36].max())
    2.0
    """
    s = setting
    parameters = (
        parameter("rise", 0.3 * s.height, 0.6 * s.height, s.height, "m", "end of the shell above the gutter"),
        parameter("shell_width", 0.5 * s.pitch, 0.75 * s.pitch, 0.85 * s.pitch, "m", "shell on plan"),
        parameter("hollow_share", 0.2, 0.45, 0.8, "", "part of the shell that is hollow"),
        thickness_parameter(s, "thickness", 1.0, 3.0, "thickness of the shell"),
        parameter("downstand_depth", 0.15, 0.55, 0.9, "m", "beam under the gutter"),
        parameter("top_depth", 0.15, 0.35, 0.7, "m", "beam under the end of the shell"),
    )
    return NamedFamily("light-scoop", "light scoop", parameters, _build_scoop, _JOINTS)


def _build_scoop(v: Values) -> Strips:
    zero, part = 0.0 * v["rise"], HALF // 2
    x1, z1 = v["hollow_share"] * v["shell_width"], v["hollow_share"] * v["rise"]
    chord = np.arctan2(v["rise"], v["shell_width"])
    hollow = arc_between(zero, zero, x1, z1, zero, part)
    crown = arc_between(x1, z1, v["shell_width"], v["rise"], 2.0 * chord, part)
    shell = points(hollow[0], crown[0][..., 1:]), points(hollow[1], crown[1][..., 1:])
    return _with_gutter(shell, v)


def _with_gutter(shell: tuple[Array, Array], v: Values) -> Strips:
    """Chain kerb, gutter slab, shell, top beam; the downstand hangs from the foot of the shell (node 2)."""
    zero = 0.0 * v["rise"]
    x = points(zero - GUTTER_WIDTH, zero - GUTTER_WIDTH, shell[0], v["shell_width"])
    z = points(zero + KERB_HEIGHT, zero, shell[1], v["rise"] - v["top_depth"])
    t = points(zero + KERB_WIDTH, zero + GUTTER_THICKNESS, v["thickness"] + np.zeros(HALF), zero + TOP_WIDTH)
    chain = Run(x, z, t, ["kerb", "gutter", *["wing"] * HALF, "kerb"])
    down = points(zero, -v["downstand_depth"])
    return join(chain, Run(points(zero, zero), down, zero + DOWNSTAND_WIDTH, "edge beam", start=2))
