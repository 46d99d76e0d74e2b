"""Recipe of ``plates_resolution.txt``: how fine a folded plate must be in the search.

Sixty gull-wings of random proportions at spans of 12, 24 and 48 m, as chains of 17 to 129 nodes and 1 to 9
odd harmonics, against 257 nodes and 15 harmonics. Run it as a script; some seconds.
"""

from datetime import date
from importlib.metadata import version
from pathlib import Path

import numpy as np

from longvault.constraints.plates import PlateLoads, folded_plate
from longvault.constraints.plates_results import displacements, smoothed, strip_forces
from longvault.sections import Strips

HERE = Path(__file__).parent
DESIGNS, SPANS, FINE = 60, (12.0, 24.0, 48.0), (256, 15)


def gull_wings(pieces, seed=1):
    """Return sixty gull-wings of ``pieces`` strips: keel, two curved wings, upright kerbs.

    Strips go to kerb, wing and half keel as 2 : 11 : 3 of each half.
    """
    rng = np.random.default_rng(seed)
    half = pieces // 2
    kerb, keel = max(half // 8, 1), max(3 * half // 16, 1)
    wing = half - kerb - keel
    width, floor = 2.2 + 1.6 * rng.random(DESIGNS), 0.4 + 0.5 * rng.random(DESIGNS)
    rise = 1.2 + 1.2 * rng.random(DESIGNS)
    upstand, bend = 0.25 + 0.35 * rng.random(DESIGNS), np.pi / 2 * (0.6 + 0.4 * rng.random(DESIGNS))
    t = np.array([[0.09], [0.14], [0.14]]) + np.array([[0.04], [0.1], [0.1]]) * rng.random((3, DESIGNS))
    along = np.linspace(0, 1, wing + 1)
    x_wing = floor[:, None] + (width - floor)[:, None] * along
    z_wing = rise[:, None] * np.sin(bend[:, None] * along) / np.sin(bend)[:, None]
    steps = np.arange(1, kerb + 1) / kerb
    x_keel, x_kerb = floor[:, None] * np.arange(keel) / keel, np.repeat(width[:, None], kerb, axis=1)
    x = np.concatenate([x_keel, x_wing, x_kerb], axis=1)
    z = np.concatenate([np.zeros((DESIGNS, keel)), z_wing, rise[:, None] + upstand[:, None] * steps], axis=1)
    thickness = np.repeat(t[[1, 0, 2]].T, (keel, wing, kerb), axis=1)
    return Strips.chain(
        np.concatenate([-x[:, :0:-1], x], axis=1), np.concatenate([z[:, :0:-1], z], axis=1),
        np.concatenate([thickness[:, ::-1], thickness], axis=1), "wing",
    )  # fmt: skip


def peaks(pieces, harmonics, span):
    """Return peak stress along the span, largest drop and largest moment across at mid-span, each (60,)."""
    strips = gull_wings(pieces)
    solved = folded_plate(
        strips,
        PlateLoads(surface=25e3 * strips.thickness + 600.0, plan=640.0),
        span=span,
        modulus=33e9,
        poisson=0.2,
        harmonics=tuple(range(1, 2 * harmonics, 2)),
    )
    forces = smoothed(strips, strip_forces(solved))
    stress = np.abs(forces.n_y[:, 0] / strips.thickness[..., None]).max(axis=(1, 2))
    return (
        stress,
        np.abs(displacements(solved)[:, 0, :, 2]).max(axis=1),
        np.abs(forces.m_s[:, 0]).max(axis=(1, 2)),
    )


def worst(pieces, harmonics):
    """Return the worst relative error of stress, drop and moment over designs and spans."""
    errors = []
    for span in SPANS:
        fine = peaks(*FINE, span)
        errors.append(
            [np.abs(a / b - 1).max() for a, b in zip(peaks(pieces, harmonics, span), fine, strict=True)]
        )
    return np.array(errors).max(axis=0)


def main():
    """Write the table."""
    lines = [
        f"Folded plate, worst of {DESIGNS} gull-wings at {SPANS} m; "
        f"percent off {FINE[0] + 1} nodes, {FINE[1]} harmonics",
        f"{date.today()}, numpy {version('numpy')}; odd harmonics",
        "nodes harmonics  stress   drop  moment across",
    ]
    for pieces, harmonics in (
        (16, 5),
        (32, 3),
        (32, 5),
        (64, 1),
        (64, 3),
        (64, 5),
        (64, 9),
        (128, 5),
        (128, 9),
    ):
        stress, drop, moment = 100 * worst(pieces, harmonics)
        lines.append(f"{pieces + 1:5d} {harmonics:9d} {stress:7.2f} {drop:6.2f} {moment:14.2f}")
    HERE.joinpath("plates_resolution.txt").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
