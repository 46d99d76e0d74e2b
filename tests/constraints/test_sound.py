"""Focus of concave soffits and the rule for their radius."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from longvault.constraints.soffit import soffit_curvature
from longvault.constraints.sound import concave_stretches, focusing_score, sound_foci
from longvault.sections import Strips


def barrel(radius, *, half_angle=np.pi / 3, count=121):
    angle = np.linspace(np.pi / 2 + half_angle, np.pi / 2 - half_angle, count)
    return Strips.chain(radius * np.cos(angle), radius * np.sin(angle), 0.1, "wing")


def hall_wings(radius=3.9):
    """Two wings from a valley floor up to the slot edges 2.1 m higher, kerbs at the edges."""
    angle = np.linspace(2.7, 1.75, 33)
    wing = np.array([radius * np.cos(angle), radius * np.sin(angle)])
    wing += np.array([[0.7], [0.0]]) - wing[:, :1]
    wing[1] *= 2.1 / wing[1, -1]
    x, z = np.r_[-wing[0, ::-1], wing[0]], np.r_[wing[1, ::-1], wing[1]]
    return Strips.chain(x, z, 0.1, "wing")


@pytest.mark.parametrize(("radius", "distance"), [(8.0, 5.0), (4.0, 6.0), (6.0, 6.0), (5.0, 4.5)])
def test_mirror_formula_straight_up(radius, distance):
    # 1/s + 1/s' = 2/r (geometrical optics), for a speaker on the axis of the crown.
    strips = barrel(radius)
    foci = sound_foci(strips, floor=radius - distance - 1.5, speaker_x=0.0)
    top = np.argmax(foci.z)
    assert_allclose(foci.source_distance[top], distance, rtol=1e-12)
    assert_allclose(1 / distance + 1 / foci.image_distance[top], 2 / radius, rtol=1e-9)
    in_room = foci.image_distance[top] <= distance + 1.5
    assert_allclose(foci.focus_x[top], 0.0 if in_room else np.nan, atol=1e-9)
    assert_allclose(foci.focus_z[top], radius - foci.image_distance[top] if in_room else np.nan, atol=1e-9)


def test_an_ellipse_sends_one_focus_to_the_other():
    # Classical: the two focal distances have a constant sum, so rays from one focus meet in the other.
    a, b = 5.0, 4.0
    angle = np.linspace(np.pi * 0.9, np.pi * 0.1, 1441)
    strips = Strips.chain(a * np.cos(angle), b * np.sin(angle), 0.1, "wing")
    foci = sound_foci(strips, floor=-1.5, speaker_x=-3.0)
    assert_allclose(foci.focus_x, 3.0, atol=0.02)
    assert_allclose(foci.focus_z, 0.0, atol=0.02)


def test_a_parabola_makes_a_parallel_bundle():
    # Classical: sound from the focus of a parabola leaves parallel, so there is no focus in the room.
    x = np.linspace(-3, 3, 601)
    strips = Strips.chain(x, 4.0 - x**2 / 16.0, 0.1, "wing")
    foci = sound_foci(strips, floor=-1.5, speaker_x=0.0)
    assert np.all(np.abs(foci.image_distance) > 500.0)
    assert np.isnan(foci.focus_x).all()


def test_convex_and_flat_soffits_have_no_focus():
    x = np.linspace(-3, 3, 61)
    for z in (x**2 / 8.0, 0.0 * x):
        strips = Strips.chain(x, 4.0 + z, 0.1, "wing")
        assert len(sound_foci(strips, floor=0.0, speaker_x=0.0).x) == 0
        assert concave_stretches(strips, floor=0.0) == ()
        assert focusing_score(strips, floor=0.0) == 0.0


def test_rule_of_half_to_twice_the_height():
    # After Cremer (Handbook for Sound Engineers, p. 173; sense from memory): avoid H/2 < r < 2H.
    for radius, height, inside in (
        (3.9, 6.0, True),
        (2.9, 6.0, False),
        (11.9, 6.0, True),
        (12.1, 6.0, False),
    ):
        strips = barrel(radius)
        crown = strips.z[1:-1].max()
        [stretch] = concave_stretches(strips, floor=crown - height)
        assert_allclose(stretch.radius, radius, rtol=1e-4)  # chords for arcs
        assert stretch.in_zone is inside
        score = focusing_score(strips, floor=crown - height)
        assert (score > 0) == inside
        assert_allclose(score, max(1 - abs(np.log2(radius / height)), 0.0), atol=1e-4)


def test_reading_hall_wings_gather_sound():
    # Derived, hand estimate: wing radius 3.9 m, crown 6.0 m above the floor: inside H/2 to 2H, with a focus.
    strips = hall_wings()
    stretches = concave_stretches(strips, floor=-3.9)
    assert any(s.in_zone for s in stretches)
    foci = sound_foci(strips, floor=-3.9, speaker_x=1.5)
    assert np.isfinite(foci.focus_x).any()
    assert 0.1 < focusing_score(strips, floor=-3.9) < 1.0


def test_kerbs_and_folds_do_not_count():
    flat = Strips.chain([-2, -2, 0, 2, 2], [0.6, 0, 1, 0, 0.6], 0.1, ["kerb", "wing", "wing", "kerb"])
    assert len(soffit_curvature(flat).node) == 1  # only the ridge lies within the shell
    assert focusing_score(flat, floor=-3.0) == 0.0  # and that is a fold


def test_foci_beyond_a_wall_or_the_glass_do_not_count():
    open_barrel = barrel(4.0)
    floor = float(open_barrel.z.max()) - 6.0
    free = sound_foci(open_barrel, floor=floor, speaker_x=0.0)
    assert np.isfinite(free.focus_x).sum() > 60
    lid = [-2.0, 2.0], [floor + 2.0] * 2  # a screen just above the speaker
    x, z = np.r_[open_barrel.x, lid[0]], np.r_[open_barrel.z, lid[1]]
    count = open_barrel.x.size
    ends = np.vstack([open_barrel.ends, [count, count + 1]])
    screened = Strips(x, z, ends, np.full(len(ends), 0.1), (*open_barrel.parts, "screen"))
    assert np.isnan(sound_foci(screened, floor=floor, speaker_x=0.0).focus_x).all()
    within, alone = (sound_foci(hall_wings(), floor=-3.9, speaker_x=1.5, pitch=p) for p in (4.0, None))
    assert np.isfinite(within.focus_x).sum() < np.isfinite(alone.focus_x).sum()


def test_direction_of_the_chain_and_mirroring_do_not_matter():
    strips = hall_wings()
    reversed_ = Strips.chain(strips.x[::-1], strips.z[::-1], 0.1, "wing")
    for other in (reversed_, strips.mirrored()):
        assert_allclose(focusing_score(other, floor=-3.9), focusing_score(strips, floor=-3.9), rtol=1e-12)
    a = sound_foci(strips, floor=-3.9, speaker_x=1.0)
    b = sound_foci(strips.mirrored(), floor=-3.9, speaker_x=-1.0)
    assert_allclose(b.focus_x, -a.focus_x, atol=1e-9)
    assert_allclose(b.focus_z, a.focus_z, atol=1e-9)


def test_batch_law():
    rng = np.random.default_rng(0)
    base = hall_wings()
    z = base.z + rng.uniform(-0.01, 0.01, (6, base.z.size))
    z[2, 3] = np.nan
    batch = Strips.chain(np.tile(base.x, (6, 1)), z, 0.1, "wing")
    floor = np.linspace(-4.0, -3.0, 6)
    score = focusing_score(batch, floor=floor)
    assert_array_equal(score, [float(focusing_score(batch[i], floor=floor[i])) for i in range(6)])
    assert np.isnan(score[2])


def test_batches_are_refused_where_one_section_is_needed():
    batch = Strips.chain(np.zeros((2, 3)), np.zeros((2, 3)), 0.1, "wing")
    with pytest.raises(ValueError, match="one section is needed"):
        sound_foci(batch, floor=0.0, speaker_x=0.0)
