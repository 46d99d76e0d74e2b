"""Stiffness, cracking, shear steel and least steel of a roof by ACI 318-19 (from memory), by hand."""

from dataclasses import replace

import pytest
from drawn_roofs import market_hall

from longvault.constraints.actions import STANDARDS, Loads
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.details import evaluate_closely
from longvault.constraints.materials import AmericanConcrete, Concrete, Steel
from longvault.sections.properties import section_properties

NEED = Requirements(height_max=3.0)
EUROPE = Basis(span=24.0, pitch=9.0, requirements=NEED, loads=Loads(snow=640.0, maintenance=400.0))
AMERICA = replace(EUROPE, standard=STANDARDS["ASCE 7-16"])


@pytest.fixture(scope="module")
def american():
    return evaluate_closely(market_hall(), AMERICA)


def test_the_concrete_is_that_of_the_standard_in_force():
    assert type(EUROPE.concrete) is Concrete
    assert type(AMERICA.concrete) is AmericanConcrete
    assert type(replace(AMERICA, standard=EUROPE.standard).concrete) is Concrete
    assert AMERICA.concrete.ecm == pytest.approx(4700e6 * 30**0.5)
    assert AMERICA.concrete.cracking == pytest.approx(0.62e6 * 30**0.5)


def test_elastic_deflection(american):
    """5 w L^4 / (384 E I), w = D + S, E = 4700 sqrt(30) MPa = 25 743 MPa."""
    w = float(american.measures["permanent_load"]) + 640.0 * 9.0
    expected = 5 * w * 24.0**4 / (384 * 25.7430e9 * float(section_properties(market_hall()).ixx))
    assert float(american.measures["deflection_short"]) == pytest.approx(expected, rel=1e-5)


def test_mesh_for_shear_carries_phi_of_shear(american):
    """q_u / (0.75 f_y); bending keeps 0.9 f_y."""
    m, other = american.measures, evaluate_closely(market_hall(), EUROPE).measures
    flow = float(other["web_steel"]) * 500e6 / 1.15 / float(other["ultimate_shear"])
    assert float(m["web_steel"]) == pytest.approx(float(m["ultimate_shear"]) * flow / (0.75 * 500e6))
    arm = min(float(m["arm_block"]), float(m["arm_bars"]))
    assert float(m["steel_area"]) == pytest.approx(float(m["ultimate_moment"]) / (arm * 0.9 * 500e6))


@pytest.mark.parametrize(("fck", "stress"), [(25e6, 1.4), (30e6, 1.4), (49e6, 1.75)])
def test_least_steel(fck, stress):
    """max(0.25 sqrt(f'c), 1.4 MPa) / f_y; 0.25 x 7 = 1.75 MPa for 49 MPa."""
    assert AmericanConcrete(fck).least_tension(500e6) == pytest.approx(stress / 500)
    bases = [replace(one, concrete=Concrete(fck)) for one in (EUROPE, AMERICA)]
    least, more = (float(evaluate_closely(market_hall(), one).measures["least_steel"]) for one in bases)
    ratio = (stress / 500) / max(0.26 * Concrete(fck).fctm / 500e6, 0.0013)
    assert more / least == pytest.approx(ratio, rel=0.02)  # the depth to the bars differs a little


def test_sources_name_the_standard(american):
    mesh = next(limit for limit in american.limits if limit.key == "web-steel")
    assert "0.75 f_y" in mesh.formula
    assert "ACI 318-19" in mesh.source
    assert "E_c = 4700" in AMERICA.concrete.modulus_words


def test_mesh_stronger_than_550_does_not_count():
    """ACI 318-19, 20.2.2.4: f_y of welded mesh in shear is 550 MPa at most."""
    strong = replace(AMERICA, steel=Steel(600e6)).strengths
    assert strong.shear_steel == pytest.approx(0.75 * 550e6)
    assert strong.steel == pytest.approx(0.9 * 600e6)
