"""Invented day-one sections drawn from their data: market hall, reading hall."""

import numpy as np

from longvault.sections import Strips


def market_hall(beam_depth=0.75, count=64):
    """Vault 9.0 m wide, rise 1.5 (R 7.5), 80 mm; valley beams 0.25 m wide under the springings, shared."""
    a = np.linspace(-1.0, 1.0, count + 1) * np.arcsin(4.5 / 7.5)
    x, z = 7.5 * np.sin(a), 7.5 * np.cos(a) - 6.0
    return Strips.chain(
        np.r_[-4.5, x, 4.5],
        np.r_[-beam_depth, z, -beam_depth],
        np.r_[0.125, np.full(count, 0.08), 0.125],
        ["valley beam", *["crown"] * count, "valley beam"],
    )


def reading_hall(slot=1.2, pitch=7.5, count=24):
    """Keel 1.4 x 0.18 m; wings 100 mm, 65 deg at the keel, to the slot edge 2.1 m up; kerbs 0.20 x 0.50."""
    run, rise, steep = 0.5 * (pitch - slot) - 0.1 - 0.7, 2.1, np.radians(65.0)
    half = steep - np.arctan2(rise, run)
    radius = 0.5 * np.hypot(run, rise) / np.sin(half)
    turn = steep - np.linspace(0.0, 2.0 * half, count + 1)
    x = np.r_[0.0, 0.35, 0.7 + radius * (np.sin(steep) - np.sin(turn)), 0.7 + run]
    z = np.r_[0.0, 0.0, radius * (np.cos(turn) - np.cos(steep)), rise + 0.5]
    t = np.r_[0.18, 0.18, np.full(count, 0.10), 0.20]
    parts = ["keel", "keel", *["wing"] * count, "kerb"]
    return Strips.chain(np.r_[-x[:0:-1], x], np.r_[z[:0:-1], z], np.r_[t[::-1], t], [*parts[::-1], *parts])
