"""The sky component against random rays: a second, independent way to the same number."""

import numpy as np
import pytest
from daylight_sections import random_roof
from numpy.testing import assert_allclose

from longvault.constraints.daylight import sky_component

RAYS = 20_000
MODULES = 4


def rays_from(rng):
    """Directions (x, y, z) spread by the cosine law about the zenith."""
    radius, turn = np.sqrt(rng.random(RAYS)), 2 * np.pi * rng.random(RAYS)
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), np.sqrt(1 - radius**2)], axis=1)


def blocked(direction, point, strips, pitch):
    """Whether each ray meets a rectangle of the row: the slab method in the axes of each strip."""
    hit = np.zeros(len(direction), bool)
    for k in range(-MODULES, MODULES + 1):
        for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
            a, b = strips.nodes[i] + [k * pitch, 0], strips.nodes[j] + [k * pitch, 0]
            length = np.hypot(*(b - a))
            along = (b - a) / length
            axes = np.array([along, [-along[1], along[0]]])
            start, way = axes @ (point - (a + b) / 2), direction @ axes.T
            half = np.array([length, t]) / 2
            with np.errstate(divide="ignore"):
                one, two = (-half - start) / way, (half - start) / way
            enter, leave = np.minimum(one, two).max(axis=1), np.maximum(one, two).min(axis=1)
            hit |= (enter <= leave) & (leave > 0)
    return hit


@pytest.mark.parametrize("seed", range(6))
def test_random_rays_agree_within_three_standard_errors(seed):
    strips, pitch = random_roof(seed)
    rng = np.random.default_rng(100 + seed)
    point = np.array([rng.uniform(0, pitch), -rng.uniform(2.0, 5.0)])
    found = sky_component(strips, point[:1], point[1], pitch=pitch, neighbours=MODULES)
    rays = rays_from(rng)
    section = np.ascontiguousarray(rays[:, [0, 2]])
    top = (strips.z.max() + 1 - point[1]) / section[:, 1] * section[:, 0] + point[0]
    seen = ~blocked(section, point, strips, pitch)
    seen &= (top > -MODULES * pitch) & (top < (MODULES + 1) * pitch)
    for weight, value in (
        (np.ones(RAYS), found.uniform[0]),
        (3 / 7 * (1 + 2 * rays[:, 2]), found.overcast[0]),
    ):
        sample = seen * weight
        error = sample.std() / np.sqrt(RAYS)
        assert error < 0.05 * value
        assert abs(sample.mean() - value) < 3 * error


def test_rays_see_a_bare_slot_as_the_closed_form_does():
    # Uniform sky through a slot from x = 1 to 3 m, 4 m up: (sin t2 - sin t1)/2 (derived).
    rays = rays_from(np.random.default_rng(7))
    at_slot = 4.0 * rays[:, 0] / rays[:, 2]
    share = np.mean((at_slot > 1) & (at_slot < 3))
    assert_allclose(share, 0.1787322, atol=3 * np.sqrt(0.179 * 0.821 / RAYS))
