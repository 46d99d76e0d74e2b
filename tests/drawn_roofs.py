"""Sections of the starter briefs drawn by hand, from their data: two halls, workshop, canopy."""

import numpy as np

from longvault.sections import Strips


def arc(start_slope, run, rise, count=65):
    """Points of a circular arc from (0, 0) to (run, rise) that leaves at a slope [rad]."""
    half = start_slope - np.arctan2(rise, run)
    radius = np.hypot(run, rise) / (2 * np.sin(half))
    slope = np.linspace(start_slope, start_slope - 2 * half, count)
    return radius * (np.sin(start_slope) - np.sin(slope)), radius * (np.cos(slope) - np.cos(start_slope))


def market_hall(depth=0.75):
    """Vault R 7.5, rise 1.5, 80 mm, bay 9 m; half of the shared beam of 0.25 m at either edge, or none."""
    x, z = arc(2 * np.arctan(1.5 / 4.5), 9.0, 0.0, 129)
    if not depth:
        return Strips.chain(x - 4.5, z, 0.08, "crown")
    x, z = np.r_[0.0, x, 9.0] - 4.5, np.r_[-depth, z, -depth]
    parts = ["valley beam", *["crown"] * 128, "valley beam"]
    return Strips.chain(x, z, [0.125, *[0.08] * 128, 0.125], parts)


def reading_hall(slot=1.2):
    """Keel 1.4 x 0.18 m, wings of 100 mm that leave at 65 degrees, kerbs 0.20 x 0.50 m at 2.1 m."""
    tip = 3.75 - slot / 2 - 0.1
    x, z = arc(np.radians(65.0), tip - 0.7, 2.1)
    x, z = np.r_[x + 0.7, tip], np.r_[z, 2.6]
    thickness, parts = [*[0.1] * 64, 0.2], [*["wing"] * 64, "kerb"]
    return Strips.chain(
        np.r_[-x[::-1], x],
        np.r_[z[::-1], z],
        [*thickness[::-1], 0.18, *thickness],
        [*parts[::-1], "keel", *parts],
    )


def north_light(slope=45.5, down=0.55, top=0.35):
    """Shell 80 mm to (4.35, 2.45), slope in degrees; gutter 0.55 x 0.15, downstand 0.20 m wide, top beam."""
    x, z = arc(np.radians(slope), 4.35, 2.45)
    first = np.arange(len(x) + 2)
    return Strips(
        np.r_[-0.55, -0.55, x, 4.35, 0.0],
        np.r_[0.35, 0.0, z, 2.45 - top, -down],
        np.vstack([np.column_stack([first, first + 1]), [2, len(x) + 3]]),
        [0.12, 0.15, *[0.08] * 64, 0.15, 0.20],
        ["kerb", "gutter", *["wing"] * 64, "kerb", "edge beam"],
    )


def canopy(depth=1.5, edge=(0.25, 0.12), wing=0.085, half=2.4, root=1.5):
    """Keel 0.60 x 0.25, wings that leave it at 70 degrees at the root, level edges, slot of 0.20; bay 5 m.

    Given are bay, keel, depths (1.5 at the root, 0.4 at the tip), 80 to 90 mm and that it is a gull-wing. The
    steepness at the keel, edges and slot are not. ``depth`` lies between mid-lines; other stations are the
    root with its heights scaled.
    """
    wide, thick = edge
    x, z = arc(np.radians(70.0), half - wide - 0.3, root, 33)
    x, z = np.r_[x + 0.3, half], np.r_[z, root] * depth / root
    t, parts = np.r_[[wing] * 32, thick], [*["wing"] * 32, "crown"]
    return Strips.chain(
        np.r_[-x[::-1], x], np.r_[z[::-1], z], np.r_[t[::-1], 0.25, t], [*parts[::-1], "keel", *parts]
    )
