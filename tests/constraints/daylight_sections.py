"""Sections that the daylight tests look at."""

import numpy as np

from longvault.sections import Strips


def bare_slot(left, right, height, *, reach=400.0, thickness=1e-9):
    """Two thin pieces of ceiling with a gap from x = left to right."""
    x = [left - reach, left, right, right + reach]
    return Strips(x, [height] * 4, [[0, 1], [2, 3]], [thickness] * 2, ["ceiling"] * 2)


def random_roof(seed):
    """One module of a row with an inclined or flat slot, kerbs and a bulge; returns it and its pitch."""
    rng = np.random.default_rng(seed)
    pitch = rng.uniform(4.0, 8.0)
    clear = rng.uniform(0.15, 0.35) * pitch
    x = np.linspace(0.0, pitch - clear, 7)
    z = rng.uniform(0.0, 1.2) * np.sin(np.pi * x / x[-1]) * rng.choice([-1, 1]) + rng.uniform(-0.4, 0.4) * x
    up = rng.uniform(0.1, 0.6, 2)
    x, z = np.r_[x[0], x, x[-1]], np.r_[z[0] + up[0], z, z[-1] + up[1]]
    thickness = np.r_[0.2, rng.uniform(0.08, 0.3, 6), 0.15]
    return Strips.chain(x, z - z.min(), thickness, ["kerb", *["wing"] * 6, "kerb"]), pitch


def kerbed_deck(*, kerb=0.5, clear=1.2, pitch=6.0):
    """A flat deck between two upright kerbs 0.2 m wide."""
    half = 0.5 * (pitch - clear - 0.2)
    x = [-half, -half, half, half]
    return Strips.chain(x, [kerb, 0.0, 0.0, kerb], [0.2, 0.1, 0.2], ["kerb", "wing", "kerb"])


def north_light(*, neighbour=True):
    """A rising back whose glass faces the next back; without ``neighbour`` that is cut to its kerb."""
    rise = [(0.0, 0.4), (0.0, 0.0), (2.5, 2.2), (4.6, 3.2)]
    shift = np.array([5.2, 0.0])
    second = np.array(rise if neighbour else rise[:2]) + shift
    nodes = np.concatenate([rise, second])
    count = len(second)
    ends = [[0, 1], [1, 2], [2, 3], *[[4 + i, 5 + i] for i in range(count - 1)]]
    parts = ["kerb", "wing", "wing", *(["kerb", "wing", "wing"] if neighbour else ["kerb"])]
    return Strips(nodes[:, 0], nodes[:, 1], ends, [0.1] * len(ends), parts)
