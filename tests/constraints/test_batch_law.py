"""f(batch)[i] == f(batch[i]), bit for bit, for every function that takes a batch of sections."""

from dataclasses import fields

import numpy as np
import pytest
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.evaluate import evaluate
from longvault.constraints.making import making
from longvault.constraints.reinforcement import beam_section
from longvault.sections.bending import bending_field, elastic_lever_arm, extreme_fibres
from longvault.sections.opening import clear_opening
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow


def same_bits(whole, one):
    assert np.asarray(whole).tobytes() == np.asarray(one).tobytes()


def same_fields(whole, one, i):
    for item in fields(whole):
        value = getattr(whole, item.name)
        if isinstance(value, np.ndarray):
            same_bits(value[i], getattr(one, item.name))


@pytest.mark.parametrize("key", KEYS)
def test_families_and_sections(key):
    family, x = family_for(key), designs_for(key, 40)
    batch = family.strips(x)
    field = field_of(batch)
    for i in (0, 7, 23, 39):
        one = family.strips(x[i])
        same_bits(batch.x[i], one.x)
        same_bits(batch.z[i], one.z)
        same_bits(batch.thickness[i], one.thickness)
        same_fields(section_properties(batch), section_properties(one), i)
        same_fields(field, field_of(one), i)
        same_fields(shear_flow(batch, field), shear_flow(one, field_of(one)), i)
        same_bits(elastic_lever_arm(batch, field)[i], elastic_lever_arm(one, field_of(one)))
        same_bits(np.stack(extreme_fibres(field))[:, i].copy(), np.stack(extreme_fibres(field_of(one))))
        same_bits(clear_opening(batch, 7.5)[i], clear_opening(one, 7.5))


def field_of(strips):
    p = section_properties(strips)
    return bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize(
    ("support", "standard", "held"), [("simple", "EN 1990:2002", False), ("cantilever", "ASCE 7-16", True)]
)
def test_checks(key, support, standard, held):
    basis = basis_for(key, support=support, standard=standard, held=held)
    strips = family_for(key).strips(designs_for(key, 40))
    whole = evaluate(strips, basis)
    made = making(strips, bend_radius=0.5, steep_slope=0.7)
    beam = beam_section(strips, section_properties(strips), detailing=basis.detailing)
    for i in (0, 7, 23, 39):
        one = evaluate(strips[i], basis)
        same_bits(whole.margins[i], one.margins)
        for name, values in whole.measures.items():
            same_bits(values[i], one.measures[name])
        same_fields(made, making(strips[i], bend_radius=0.5, steep_slope=0.7), i)
        same_fields(
            beam, beam_section(strips[i], section_properties(strips[i]), detailing=basis.detailing), i
        )


def test_two_batch_axes():
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 12).reshape(3, 4, -1))
    whole = evaluate(strips, basis_for("gull-wing"))
    assert whole.margins.shape[:2] == (3, 4)
    same_bits(whole.margins[2, 1], evaluate(strips[2, 1], basis_for("gull-wing")).margins)


def test_a_bad_candidate_is_a_row_of_nan_and_spoils_no_other():
    x = designs_for("gull-wing", 6)
    x[2, 3] = np.nan
    x[4, 10] = np.inf
    result = evaluate(family_for("gull-wing").strips(x), basis_for("gull-wing"))
    bad = np.isnan(result.margins).any(axis=1)
    assert bad.tolist() == [False, False, True, False, True, False]
    good = evaluate(family_for("gull-wing").strips(x[[0, 1, 3, 5]]), basis_for("gull-wing"))
    same_bits(result.margins[~bad], good.margins)


def test_inputs_are_not_changed():
    x = designs_for("vault", 5)
    kept = x.copy()
    strips = family_for("vault").strips(x)
    evaluate(strips, basis_for("vault"))
    assert x.tobytes() == kept.tobytes()
    with pytest.raises(ValueError, match="read-only"):
        strips.x[0, 0] = 1.0
