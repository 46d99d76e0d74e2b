"""All section properties of a batch against the plain one-at-a-time routine that gives the same numbers.

Run with ``pytest tests/benchmarks/test_properties.py --benchmark-only -s``.
Aims: a batch of 1000 at least 100 times faster a candidate; one candidate alone no slower; at most 1 kB of
memory a candidate beyond input and output. Times are of the processor, so that other work on the machine
counts on neither side. Measured runs are kept in ``properties_speed.txt``.
The equality test runs always.
"""

import time
import tracemalloc

import numpy as np
import pytest

from longvault.sections.families import Setting
from longvault.sections.families.registry import make_family
from longvault.sections.plastic import plastic_modulus
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.torsion import torsion_properties

COUNT = 1000


def batch(key="gull-wing", count=COUNT):
    family = make_family(key, Setting(pitch=7.5, height=2.65, thickness=0.08))
    lower, upper = (np.array([getattr(v, side) for v in family.variables]) for side in ("lower", "upper"))
    return family.strips(lower + (upper - lower) * np.random.default_rng(0).random((count, len(lower))))


def plain_properties(nodes, ends, t):
    """The 25 properties of one section as one would write them with numpy, formulas as in any text."""
    p, q = nodes[ends[:, 0]], nodes[ends[:, 1]]
    d, middle = q - p, 0.5 * (p + q)
    length = np.linalg.norm(d, axis=1)
    area = length * t
    total = area.sum()
    centre = (area[:, None] * middle).sum(axis=0) / total
    m = middle - centre
    cos, sin = d[:, 0] / length, d[:, 1] / length
    ixx = (area * m[:, 1] ** 2 + area * (length**2 * sin**2 + t**2 * cos**2) / 12).sum()
    izz = (area * m[:, 0] ** 2 + area * (length**2 * cos**2 + t**2 * sin**2) / 12).sum()
    ixz = (area * m[:, 0] * m[:, 1] + area * (length**2 - t**2) * sin * cos / 12).sum()
    normal = 0.5 * t[:, None] * np.stack([-sin, cos], axis=1)
    corners = np.concatenate([p + normal, p - normal, q + normal, q - normal])
    (left, bottom), (right, top) = corners.min(axis=0), corners.max(axis=0)
    x, z = (corners - centre).T
    f = (z * izz - x * ixz) / (ixx * izz - ixz**2)
    radius = np.hypot(0.5 * (ixx - izz), ixz)
    mean, height = 0.5 * (ixx + izz), top - bottom
    turn = 0.0 if abs(ixz) <= 1e-12 * (ixx + izz) else ixz * np.sign(izz - ixx)
    angle = 0.5 * np.arctan2(turn, abs(0.5 * (ixx - izz)))
    up, down = top - centre[1], centre[1] - bottom
    free = 1 / np.abs(f).max()
    first = [total, *centre, ixx, izz, ixz, mean + radius, mean - radius, angle, top, bottom, height]
    then = [left, right, right - left, length.sum(), ixx / up, ixx / down, 1 / f.max(), -1 / f.min(), free]
    shape = [ixx / down / total, ixx / up / total, ixx / (total * up * down), free / (total * height)]
    return np.array([*first, *then, *shape])


def plain_torsion(nodes, t):
    """Shear centre, torsion and warping constants of one chain with numpy (sectorial coordinate by sums)."""
    p, q = nodes[:-1], nodes[1:]
    length = np.linalg.norm(q - p, axis=1)
    area = length * t
    centre = (area[:, None] * (p + q) / 2).sum(axis=0) / area.sum()
    p, q = p - centre, q - centre
    along = (q - p) / length[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)

    def integral(a1, a2, b1, b2):
        return (area * (2 * a1 * b1 + 2 * a2 * b2 + a1 * b2 + a2 * b1) / 6).sum()

    def second(i, j):
        return (
            integral(p[:, i], q[:, i], p[:, j], q[:, j])
            + (area * t**2 / 12 * across[:, i] * across[:, j]).sum()
        )

    omega = np.concatenate([[0], np.cumsum(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])])
    foot = 0.5 * np.einsum("ei,ei->e", p + q, along)
    skin = [(area * t**2 / 12 * foot * across[:, i]).sum() for i in (0, 1)]
    by = [integral(omega[:-1], omega[1:], p[:, i], q[:, i]) + skin[i] for i in (0, 1)]
    ixx, izz, ixz = second(1, 1), second(0, 0), second(0, 1)
    x, z = np.linalg.solve([[-ixz, izz], [-ixx, ixz]], [-by[0], -by[1]])
    every = np.concatenate([p, q[-1:]])
    omega = omega - x * every[:, 1] + z * every[:, 0]
    omega -= (area * (omega[:-1] + omega[1:]) / 2).sum() / area.sum()
    f1, f2 = (np.einsum("ei,ei->e", v - [x, z], along) for v in (p, q))
    warping = integral(omega[:-1], omega[1:], omega[:-1], omega[1:])
    warping += (area * t**2 / 12 * (f1**2 + f1 * f2 + f2**2) / 3).sum()
    constant = (length * t**3).sum() / 3
    return np.array([centre[0] + x, centre[1] + z, constant, 0.0, warping])


def stacked(result, names):
    return np.stack([getattr(result, name) for name in names], axis=-1)


TORSION = ("shear_centre_x", "shear_centre_z", "torsion_constant", "torsion_cells", "warping_constant")


@pytest.mark.parametrize("key", ["gull-wing", "vault", "north-light", "fold-z", "segment-vault-gutter-box"])
def test_compiled_properties_equal_the_plain_routine(key):
    strips = batch(key, 50)
    found = stacked(section_properties(strips), Properties.__dataclass_fields__)
    expected = np.array([plain_properties(s.nodes, s.ends, s.thickness) for s in strips])
    np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("key", ["gull-wing", "vault", "fold-z"])
def test_compiled_torsion_equals_the_plain_routine(key):
    strips = batch(key, 50)
    found = stacked(torsion_properties(strips), TORSION)
    expected = np.array([plain_torsion(s.nodes, s.thickness) for s in strips])
    np.testing.assert_allclose(found, expected, rtol=1e-7, atol=1e-9)


def best_of(job, rounds=9):
    """Least processor time of several runs [us]."""
    job()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return 1e6 * min(times)


def kilobytes_beyond_output(job, strips):
    """Peak memory that a call takes beyond its result, per candidate [kB]."""
    job(strips)
    tracemalloc.start()
    result = job(strips)
    kept, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del result
    return (peak - kept) / 1024 / COUNT


@pytest.mark.benchmark(group="properties")
def test_all_properties_of_a_batch(benchmark):
    strips = batch()
    singles = [strips[i] for i in range(100)]
    raw = [(s.nodes, s.ends, s.thickness) for s in singles]
    plain = best_of(lambda: [plain_properties(*one) for one in raw], 15) / 100
    plain_more = best_of(lambda: [plain_torsion(n, t) for n, _, t in raw], 15) / 100
    one = best_of(lambda: [section_properties(s) for s in singles], 5) / 100
    one_more = best_of(lambda: [torsion_properties(s) for s in singles], 5) / 100
    many = best_of(lambda: section_properties(strips)) / COUNT
    many_more = best_of(lambda: torsion_properties(strips)) / COUNT
    plastic = best_of(lambda: plastic_modulus(strips)) / COUNT
    memory = max(kilobytes_beyond_output(job, strips) for job in (section_properties, torsion_properties))
    both, both_plain = many + many_more, plain + plain_more
    print(f"\n{COUNT} gull-wings of {strips.thickness.shape[-1]} strips, us a candidate:")
    for name, a, b, c in (("25 properties", plain, one, many), ("torsion", plain_more, one_more, many_more)):
        print(f"{name}: plain {a:.1f}, one {b:.1f}, batch {c:.3f} ({a / c:.0f} x)")
    print(f"both: plain {both_plain:.1f}, batch {both:.3f} ({both_plain / both:.0f} x)")
    print(f"plastic modulus, batch {plastic:.2f}")
    print(f"memory beyond input and output: {memory:.3f} kB a candidate")
    benchmark(lambda: section_properties(strips))
    assert both_plain >= 100 * both
    assert one <= plain
    assert one_more <= plain_more
    assert memory <= 1.0


def test_plain_routine_is_itself_right():
    # rectangle 0.3 x 2 upright: I = b h^3 / 12, S = b h^2 / 6
    web = Strips.chain([0.0, 0.0], [0.0, 2.0], 0.3, "web")
    values = plain_properties(web.nodes, web.ends, web.thickness)
    assert values[3] == pytest.approx(0.3 * 8 / 12)
    assert values[16] == pytest.approx(0.3 * 4 / 6)
