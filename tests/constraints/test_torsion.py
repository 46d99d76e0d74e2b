"""Torsion along the span against closed forms, and with bending against strips that keep their shape."""

import numpy as np
import pytest
from rigid_section import rigid_section_stress

from longvault.constraints.span_forces import span_forces
from longvault.constraints.spans import Spans
from longvault.constraints.stress import SectionForces, stress_field
from longvault.constraints.torsion import beam_torsion, load_torque, span_torsion, surface_centre
from longvault.sections import Strips
from longvault.sections.properties import section_properties
from longvault.sections.torsion import torsion_properties

E, G = 30e9, 12.5e9
NUMBERS = [1e-4, 0.1, 0.99, 1.01, 4.0, 40.0]


def uniform(number, held, pieces=8, span=7.0, stiffness=2.0, torque=5.0):
    ends = np.zeros((pieces + 1, 2), dtype=bool)
    ends[0], ends[-1] = held
    one = np.ones(pieces)
    return beam_torsion(
        length=span / pieces * one,
        warping=stiffness * one,
        uniform=(number / span) ** 2 * stiffness * one,
        torque=torque * one,
        held=ends,
    )


@pytest.mark.parametrize("number", NUMBERS)
def test_fork_supports(number):
    """B = (2 m / k^2) sinh(k (L - y) / 2) sinh(k y / 2) / cosh(k L / 2), T = m (L / 2 - y) (closed form)."""
    line, y, k = uniform(number, [(True, False), (True, False)]), np.linspace(0, 7, 9), number / 7
    exact = 10 / k**2 * np.sinh(k * (7 - y) / 2) * np.sinh(k * y / 2) / np.cosh(k * 3.5)
    assert line.bimoment == pytest.approx(exact, abs=1e-9 * exact.max())
    assert line.torque == pytest.approx(5 * (3.5 - y), abs=1e-8)


@pytest.mark.parametrize("number", NUMBERS)
def test_cantilever(number):
    """Root: B' = T = m L and B from G J phi' - E Gamma phi''' = T with phi(0) = phi'(0) = B(L) = 0."""
    line, k = uniform(number, [(True, True), (False, False)]), number / 7
    root = -(5 / k**2) * (number * np.tanh(number) + 1 / np.cosh(number) - 1)
    assert float(line.bimoment[0]) == pytest.approx(root, rel=1e-6)
    assert float(line.warping_torque[0]) == pytest.approx(35.0, rel=1e-8)
    assert line.torque == pytest.approx(5 * (7 - np.linspace(0, 7, 9)), abs=1e-7)


def test_without_warping_stiffness_to_speak_of_the_twist_is_saint_venants():
    """phi = m y (L - y) / (2 G J) away from the ends (any textbook)."""
    line = uniform(4e3, [(True, False), (True, False)])
    y = np.linspace(0, 7, 9)
    assert line.twist == pytest.approx(5 * y * (7 - y) / 2 / ((4e3 / 7) ** 2 * 2), rel=1e-5, abs=1e-12)


def test_fixed_ends_are_the_fixed_beam():
    """Without St Venant stiffness the equation is that of a beam: -m L^2 / 12, +m L^2 / 24."""
    line = uniform(0.0, [(True, True), (True, True)])
    assert line.bimoment[[0, 4]] == pytest.approx([-5 * 49 / 12, 5 * 49 / 24], rel=1e-12)


def test_pieces_do_not_matter():
    few, many = (uniform(2.5, [(True, True), (True, False)], pieces=n) for n in (2, 16))
    for name in ("twist", "rate", "bimoment", "warping_torque", "uniform_torque", "warping_change"):
        assert getattr(many, name)[::8] == pytest.approx(getattr(few, name), rel=1e-9, abs=1e-9)


def test_a_stepped_overhang_is_in_balance():
    """Back span and overhang of another section: T = 2 m at the inner support's outer side."""
    line = beam_torsion(
        length=[3.0, 2.0], warping=[4.0, 1.0], uniform=[2.0, 0.5], torque=[0.0, 6.0],
        held=[[True, False], [True, False], [False, False]],
    )  # fmt: skip
    assert float(line.torque[1]) == pytest.approx(12.0)
    assert float(line.torque[2]) == pytest.approx(0.0, abs=1e-9)
    # the integral of T = G J phi' + B' over each span: G J (phi at its ends) + (B at its ends)
    assert float(line.torque[0]) * 3 == pytest.approx(float(line.bimoment[1]))
    assert 0.5 * float(line.twist[2]) - float(line.bimoment[1]) == pytest.approx(6 * 2**2 / 2)


def test_bad_calls_name_what_is_wrong():
    with pytest.raises(ValueError, match="held: got shape"):
        beam_torsion(length=[1.0], warping=[1.0], uniform=[1.0], torque=[1.0], held=[[True, False]])
    with pytest.raises(ValueError, match="nothing stops"):
        beam_torsion(length=[1.0], warping=[1.0], uniform=[1.0], torque=[1.0], held=[[False, True]] * 2)
    t = torsion_properties(north_light(9.0))
    with pytest.raises(ValueError, match="support: got 'glued'"):
        span_torsion(t, span=1.0, torque=1.0, modulus=E, shear_modulus=G, support="glued")


def test_load_lines():
    t = torsion_properties(north_light(9.0))
    at = {"x": t.shear_centre_x, "z": t.shear_centre_z}
    assert float(load_torque(t, down=3.0, right=2.0, **at)) == 0.0
    assert float(load_torque(t, down=3.0, x=t.shear_centre_x + 2.0)) == pytest.approx(-6.0)
    assert float(load_torque(t, right=3.0, z=t.shear_centre_z + 2.0)) == pytest.approx(-6.0)
    assert float(surface_centre(north_light(9.0))) < float(np.mean([-0.55, 4.35]))


def north_light(radius, count=24):
    """Arc from (0, 0) to (4.35, 2.45), steep below; gutter slab with kerb and downstand, top beam."""
    start, stop = np.array([0.0, 0.0]), np.array([4.35, 2.45])
    chord = stop - start
    c = np.hypot(*chord)
    centre = 0.5 * (start + stop) + np.array([chord[1], -chord[0]]) / c * np.sqrt(radius**2 - c**2 / 4)
    low, high = (np.arctan2(*(p - centre)[::-1]) for p in (start, stop))
    a = np.linspace(low, high, count + 1)
    x = np.r_[-0.55, -0.55, centre[0] + radius * np.cos(a), 4.35, 0.0]
    z = np.r_[0.35, 0.0, centre[1] + radius * np.sin(a), 2.1, -0.55]
    ends = [[i, i + 1] for i in range(count + 3)] + [[2, count + 4]]
    thickness = np.r_[0.12, 0.15, np.full(count, 0.08), 0.15, 0.20]
    return Strips(x, z, ends, thickness, ["kerb", "gutter", *["wing"] * count, "kerb", "edge beam"])


def channel():
    return Strips.chain(
        np.r_[np.linspace(1.5, 0, 9), np.zeros(7), np.linspace(0, 2.5, 9)],
        np.r_[np.full(9, 2.0), np.linspace(1.75, 0.25, 7), np.zeros(9)],
        0.1,
        "wall",
    )


def folds():
    return Strips.chain(
        [-2.0, -2.0, 0.0, 1.5, 3.5, 3.2],
        [0.6, 0.0, 0.2, 1.8, 2.6, 2.0],
        [0.2, 0.15, 0.09, 0.09, 0.18],
        "wing",
    )


def uniform_forces(t, x, span, shear_modulus):
    """30 kN/m in the line x on a simple span; mid-span is the fifth of nine stations."""
    return span_forces(
        t, spans=Spans.simple(span), load=30e3, torque=load_torque(t, down=30e3, x=x), modulus=E,
        shear_modulus=shear_modulus, intervals=4,
    )  # fmt: skip


def at_nodes(strips, values):
    out = np.empty(strips.x.shape[-1])
    out[strips.ends[:, 0]], out[strips.ends[:, 1]] = values[:, 0], values[:, 2]
    return out


CASES = [
    (lambda: north_light(9.0), 12.0),
    (lambda: north_light(5.8), 12.0),
    (lambda: north_light(4.3), 15.0),
    (channel, 12.0),
    (folds, 14.0),
]


@pytest.mark.parametrize(("section", "span"), CASES)
@pytest.mark.parametrize("eccentric", [0.0, 0.8])
def test_edge_stress_of_a_free_module_agrees_with_strips_that_keep_their_shape(section, span, eccentric):
    """Bending, warping and shear strain within 3 % of the largest stress, at every node of mid-span."""
    strips = section()
    p, t = section_properties(strips), torsion_properties(strips)
    x = float(p.centroid_x) + eccentric
    forces = uniform_forces(t, x, span, E / 2)
    ours = at_nodes(strips, stress_field(strips, p, t, forces, ratio=2.0).normal[4])
    oracle, _ = rigid_section_stress(strips, span=span, load=30e3, x=x, modulus=E, harmonics=39)
    assert ours == pytest.approx(oracle, abs=0.03 * np.abs(oracle).max())
    edge = np.argmax(np.abs(oracle))
    assert ours[edge] == pytest.approx(oracle[edge], rel=0.02)
    bending = at_nodes(
        strips, stress_field(strips, p, t, SectionForces(forces.moment, forces.shear)).normal[4]
    )
    if eccentric:
        assert np.abs(bending - oracle).max() > 0.1 * np.abs(oracle).max()  # torsion is no small thing


@pytest.mark.parametrize("section", [lambda: north_light(9.0), channel, folds])
def test_without_shear_strain_the_two_theories_are_one(section):
    strips = section()
    p, t = section_properties(strips), torsion_properties(strips)
    forces = uniform_forces(t, 0.3, 12.0, G)
    forces = SectionForces(forces.moment, forces.shear, forces.bimoment)
    ours = at_nodes(strips, stress_field(strips, p, t, forces).normal[4])
    # membrane shear 1e4 times stiffer, the plates' own twisting as the beam has it: G = E / 2.4
    oracle, _ = rigid_section_stress(
        strips, span=12.0, load=30e3, x=0.3, modulus=E, harmonics=79, stiffer=1e4, twist=2 / 2.4
    )
    assert ours == pytest.approx(oracle, abs=1e-3 * np.abs(oracle).max())


def test_torques_on_one_beam_are_solved_together_to_the_bits_of_each_alone():
    rng = np.random.default_rng(4)
    warping, uniform = rng.uniform(1.0, 9.0, (2, 3, 1, 5))
    torque, held = rng.normal(size=(3, 4, 5)), [[True, False]] + [[False, False]] * 4 + [[True, True]]
    given = {"length": np.full(5, 2.0), "held": held, "twice": (2,)}
    together = beam_torsion(warping=warping, uniform=uniform, torque=torque, **given)
    for i, r in np.ndindex(3, 4):
        alone = beam_torsion(warping=warping[i, 0], uniform=uniform[i, 0], torque=torque[i, r], **given)
        for name in ("twist", "rate", "bimoment", "warping_torque", "uniform_torque", "warping_change"):
            assert getattr(together, name)[i, r].tobytes() == getattr(alone, name).tobytes(), name
    assert together.rows(1, 3).torque.tobytes() == together.torque[:, 1:3].tobytes()
