"""Test problems of 20 and 18 variables that behave like a roof section: thin walls, area against modulus.

Own examples ("derived"): beam theory of a line section with thickness, no more. They are smooth but for
the usual largest and smallest values, have many local fronts, and cost a few microseconds a design.
"""

import numpy as np
from scipy.interpolate import BSpline

from longvault.optimise import Objective, Problem, Scores

STATIONS = 65
BAY, SPAN, DEPTH = 6.0, 24.0, 1.5
CONCRETE, LOAD, E_MODULUS, STRESS = 25e3, 2.0e3, 33e9, 14e6


def spline_matrix(controls, stations=STATIONS, degree=3):
    """Values of a clamped uniform B-spline at even stations, one column a control point."""
    inner = np.linspace(0, 1, controls - degree + 1)
    knots = np.r_[[0.0] * degree, inner, [1.0] * degree]
    return np.ascontiguousarray(
        BSpline.design_matrix(np.linspace(0, 1, stations), knots, degree, extrapolate=True).toarray()
    )


Z10, T9, Z9, T8 = (spline_matrix(n) for n in (10, 9, 9, 8))


def section(x, z, t):
    """Area, section modulus and inertia of the mirror-symmetric section with this half (N, n)."""
    dx, dz = np.diff(x), np.diff(z)
    ds = np.sqrt(dx * dx + dz * dz)
    tm, zm = 0.5 * (t[:, 1:] + t[:, :-1]), 0.5 * (z[:, 1:] + z[:, :-1])
    area = 2 * (tm * ds).sum(axis=1)
    centre = 2 * (tm * ds * zm).sum(axis=1) / area
    arm = zm - centre[:, None]
    inertia = 2 * (tm * ds * (arm * arm + dz * dz / 12)).sum(axis=1)
    up = np.ones_like(z)
    up[:, 1:-1] = (x[:, 2:] - x[:, :-2]) / np.sqrt((x[:, 2:] - x[:, :-2]) ** 2 + (z[:, 2:] - z[:, :-2]) ** 2)
    top, bottom = (z + 0.5 * t * up).max(axis=1), (z - 0.5 * t * up).min(axis=1)
    modulus = inertia / np.maximum(top - centre, centre - bottom)
    return area, modulus, inertia, top - bottom, np.abs(dz) / np.maximum(dx, 1e-9)


def beam_margins(area, modulus, inertia, depth, slope, t, z):
    load = CONCRETE * area + LOAD * BAY
    stress = load * SPAN**2 / 8 / modulus / STRESS - 1
    sag = 5 / 384 * load * SPAN**4 / (E_MODULUS * inertia) / (SPAN / 250) - 1
    steep = slope.max(axis=1) / np.tan(np.radians(60)) - 1
    jump = np.abs(np.diff(t, axis=1)).max(axis=1) / 0.02 - 1
    bend = np.abs(np.diff(z, n=2, axis=1)).max(axis=1) / 0.02 - 1
    return np.stack([stress, sag, depth / DEPTH - 1, steep, jump, bend], axis=1)


MARGINS = ("stress", "sag", "depth", "slope", "thickness jump", "bend")


def evaluate_gull_wing(v):
    """Heights (10), thicknesses (9), opening (1): area down, modulus up, opening up."""
    opening = v[:, 19]
    z = np.einsum("nk,sk->ns", v[:, :10], Z10)
    t = np.einsum("nk,sk->ns", v[:, 10:19], T9)
    x = (BAY - opening)[:, None] / 2 * np.linspace(0, 1, STATIONS)
    area, modulus, inertia, depth, slope = section(x, z, t)
    margins = beam_margins(area, modulus, inertia, depth, slope, t, z)
    return Scores(np.stack([area, modulus, opening], axis=1), margins)


def gull_wing():
    lower = np.r_[np.zeros(10), np.full(9, 0.07), 0.2]
    upper = np.r_[np.full(10, 2.0), np.full(9, 0.40), 2.5]
    objectives = (Objective("area_m2"), Objective("modulus_m3", "max"), Objective("opening_m", "max"))
    return Problem(lower, upper, objectives, evaluate_gull_wing, MARGINS, reference=[1.6, 0.0, 0.2])


def evaluate_barrel(v):
    """Heights (9), thicknesses (8), edge beam depth (1): area down, modulus up, sideways inertia up."""
    beam = v[:, 17]
    z = np.einsum("nk,sk->ns", v[:, :9], Z9)
    t = np.einsum("nk,sk->ns", v[:, 9:17], T8)
    x = np.broadcast_to(BAY / 2 * np.linspace(0, 1, STATIONS), z.shape)
    x = np.concatenate([x, np.full((len(v), 1), BAY / 2 + 1e-6)], axis=1)
    z = np.concatenate([z, z[:, -1:] - beam[:, None]], axis=1)
    t = np.concatenate([t, np.full((len(v), 1), 0.15)], axis=1)
    area, modulus, inertia, depth, slope = section(x, z, t)
    margins = beam_margins(area, modulus, inertia, depth, slope[:, :-1], t[:, :-1], z[:, :-1])
    return Scores(np.stack([area, modulus, depth], axis=1), margins)


def barrel():
    lower = np.r_[np.zeros(9), np.full(8, 0.07), 0.1]
    upper = np.r_[np.full(9, 2.0), np.full(8, 0.40), 1.2]
    objectives = (Objective("area_m2"), Objective("modulus_m3", "max"), Objective("depth_m"))
    return Problem(lower, upper, objectives, evaluate_barrel, MARGINS, reference=[2.0, 0.0, 1.5])
