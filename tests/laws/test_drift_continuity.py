"""Drifted snow follows the shape: a small step of the geometry is a small step of load and place."""

import numpy as np
import pytest

from longvault.constraints.actions import Loads
from longvault.constraints.load_cases import plan_loads
from longvault.constraints.plan_load import roof_line
from longvault.sections import Strips
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import FAMILIES, make_family

PITCH = 7.5
SETTING = Setting(pitch=PITCH, height=2.65, thickness=0.08)
STEPS = 400


def drifts(strips):
    """Mean load over that on the ground, and its place across over the bay."""
    loads = Loads(drift="valley", ground_snow=1.0)
    found = plan_loads(loads, roof_line(strips), pitch=PITCH)["drift in the valleys"]
    return found.total / PITCH, found.about / found.total / PITCH


def steps(strips):
    mean, place = drifts(strips)
    return np.abs(np.diff(mean)).max(), np.abs(np.diff(place)).max()


@pytest.mark.parametrize("key", sorted(FAMILIES))
def test_a_walk_between_two_designs_has_no_jump(key):
    """A step of 1/400 of the way from one random design to another: at most 0.5 % of load and bay."""
    family = make_family(key, SETTING)
    lower, upper = (np.array([getattr(v, end) for v in family.variables]) for end in ("lower", "upper"))
    rng = np.random.default_rng(4)
    share = np.linspace(0.0, 1.0, STEPS + 1)[:, None]
    for _ in range(12):
        a, b = lower + (upper - lower) * rng.random((2, len(lower)))
        load, place = steps(family.strips(a + share * (b - a)))
        assert max(load, place) < 0.005, (key, load, place)


def two_ridges(second, *, valley=1.2, end=0.3):
    """Module of two ridges right of its valley, the first 2 m high, the second as given."""
    x = np.array([0.0, 2.0, 3.5, 5.0, 7.0])
    second = np.asarray(second, dtype=float)
    one = np.ones_like(second)
    z = np.stack([0.0 * one, 2.0 * one, valley * one, second, end * one], axis=-1)
    return Strips.chain(np.broadcast_to(x, z.shape), z, 0.1, "wing")


def test_the_higher_of_two_ridges_changes_without_a_jump():
    """Where one ridge overtakes the other neither load nor place may jump (it was up to 17 %)."""
    load, place = steps(two_ridges(2.0 + np.linspace(-0.05, 0.05, 101)))
    assert max(load, place) < 0.001


def test_shakes_of_a_millimetre_move_the_load_by_little():
    """Every node shaken by up to 1 mm: at most 2 % of load and of the bay, flat parts among them."""
    rng = np.random.default_rng(5)
    for key in sorted(FAMILIES):
        family = make_family(key, SETTING)
        lower, upper = (np.array([getattr(v, end) for v in family.variables]) for end in ("lower", "upper"))
        s = family.strips(lower + (upper - lower) * rng.random((40, len(lower))))
        shaken = Strips(
            s.x + rng.uniform(-1e-3, 1e-3, s.x.shape), s.z + rng.uniform(-1e-3, 1e-3, s.z.shape),
            s.ends, s.thickness, s.parts,
        )  # fmt: skip
        for a, b in zip(drifts(s), drifts(shaken), strict=True):
            assert np.abs(a - b).max() < 0.02, key
