"""Forces and deflection of a canopy on a back span, by integrals of parabolas."""

import numpy as np

from .strength import modulus


def parabolas(y, values):
    """Coefficients of the parabolas through stations 0-1-2, 2-3-4 ..., with the places they run between."""
    return [
        (y[k], y[k + 2], np.polyfit(y[k : k + 3] - y[k], values[k : k + 3], 2))
        for k in range(0, len(y) - 2, 2)
    ]


def beyond(y, w):
    """Load of an arm beyond each station, and its moment about it: integrals of the parabolas."""
    force, moment = np.zeros(len(y)), np.zeros(len(y))
    for i, place in enumerate(y):
        for start, end, fit in parabolas(y, w):
            middle = start + (end - start) / 2
            for low, high in ((start, middle), (middle, end)):
                if low >= place - 1e-12:  # three-point Gauss rule: exact for the cubic that stands here
                    at = (low + high) / 2 + (high - low) / 2 * np.array([-(0.6**0.5), 0.0, 0.6**0.5])
                    parts = np.polyval(fit, at - start) * (high - low) / 18 * np.array([5.0, 8.0, 5.0])
                    force[i], moment[i] = force[i] + parts.sum(), moment[i] + (parts * (at - place)).sum()
    return force, moment


def double_integral(y, values, first, slope):
    """Integrate curvature twice over one field from a start value and slope; values at the stations."""
    found, end = np.zeros(len(y)), slope
    found[0] = first
    for k, (start, _, fit) in zip(range(0, len(y) - 2, 2), parabolas(y, values), strict=True):
        once = np.polyint(fit, k=end)
        twice = np.polyint(once, k=found[k])
        for j in (1, 2):
            found[k + j] = np.polyval(twice, y[k + j] - start)
        end = np.polyval(once, y[k + 2] - start)
    return found, end


def canopy_forces(back, arm, loads):
    """Moments and shears at the stations of back span and arm: load on the back span, then on the arm.

    Statics alone: the arm is free, the back span rests at its start and at the root.
    """
    on_back, on_arm = loads
    force, moment = beyond(arm, on_arm)
    b = back[-1]
    rest = on_back * b / 2
    pull = -moment[0] / b
    none = np.zeros(len(arm))
    moments = (np.r_[rest * back - on_back * back**2 / 2, none], np.r_[pull * back, -moment])
    shears = (np.r_[rest - on_back * back, none], np.r_[np.full(len(back), pull), force])
    return moments, shears


def both_ways(dead, live, cases):
    """Largest response and largest one the other way at each station; variable load where it adds."""
    most, least = [], []
    for g, q in cases:
        parts = [q * one for one in live]
        most.append(g * sum(dead) + sum(np.maximum(part, 0.0) for part in parts))
        least.append(g * sum(dead) + sum(np.minimum(part, 0.0) for part in parts))
    return np.max(most, axis=0), -np.min(least, axis=0)


def canopy_sag(shapes, moments, fields, basis, late):
    """Long-term deflection under permanent load over what is allowed on its field, the larger of both.

    ``late`` multiplies the curvature of each section.
    """
    back, arm = fields
    stiff = np.array([p["ixx"] - (0.0 if basis.held else p["ixz"] ** 2 / p["izz"]) for p in shapes]) / late
    moment, size = moments[0] + moments[1], len(back)
    curve = -moment[:size] / (modulus(basis) * stiff[0]), -moment[size:] / (modulus(basis) * stiff)
    loose, _ = double_integral(back, curve[0], 0.0, 0.0)
    one, slope = double_integral(back, curve[0], 0.0, -loose[-1] / back[-1])
    other, _ = double_integral(arm, curve[1], 0.0, slope)
    ratio = basis.requirements.deflection_ratio
    return max(np.abs(one).max() / (back[-1] / ratio), np.abs(other).max() / (2 * basis.span / ratio))
