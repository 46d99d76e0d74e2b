"""What mends failing folded-plate limits: each try is a section of its own, checked like any other."""

from dataclasses import replace

import pytest
from briefed_sections import market_hall, reading_hall
from roofs import basis_for

from longvault.constraints.evaluate import evaluate
from longvault.constraints.proof import Proving, fine_proof
from longvault.constraints.remedies import MORE, remedies
from longvault.constraints.stability import BucklingSettings
from longvault.sections import Joint, Section


def closer_mesh(key):
    """Mesh bars at 100 mm: it resists 9.9 kNm/m in 100 mm."""
    basis = basis_for(key)
    return replace(basis, detailing=replace(basis.detailing, mesh_spacing=0.1))


def wings():
    strips = reading_hall()
    last = strips.x.size - 1
    return Section("wings", strips, (Joint(0, "slot", "left"), Joint(last, "slot", "right")))


def test_struts_mend_bending_across_of_a_free_slot_at_no_concrete_but_not_buckling():
    """Free 23 to 33 kNm/m across, with struts 2.4 to 2.6: no thickness within reach does that.

    A row of strutted wings rocks in unison as one without: what buckles free buckles with struts.
    """
    stocky = Proving(stability=BucklingSettings(creep=0.0, knock_down=1.0))
    basis = closer_mesh("gull-wing")  # under load on all bays alike; snow on every other one asks for more
    basis = replace(basis, loads=replace(basis.loads, snow=0.0, maintenance=basis.loads.snow))
    found = {one.what: one for one in remedies(wings(), basis, stocky)}
    assert set(found) == {
        "upright edge beam",
        "flat edge beam",
        "struts across the slot",
        "collars over the middle",
        "thicker shell",
    }
    struts = found["struts across the slot"]
    assert struts.mends
    assert struts.concrete == 0.0
    assert 5e3 < struts.push < 25e3
    assert not found["thicker shell"].mends
    assert "transverse" in found["thicker shell"].left
    slender = {one.what: one for one in remedies(wings(), basis, Proving())}
    assert not slender["struts across the slot"].mends
    assert {"buckling"} == {"transverse", "slot-movement", "buckling"}.intersection(
        slender["struts across the slot"].left
    )


def test_added_concrete_by_hand():
    found = {one.what: one for one in remedies(wings(), basis_for("gull-wing"), Proving())}
    flat = found["flat edge beam"]
    size = float(flat.size.split()[0])
    assert flat.concrete == pytest.approx(2 * size * 0.2 / 7.5, rel=1e-6)
    basis = basis_for("gull-wing")
    more = found["thicker shell"]
    surface = float(evaluate(wings().strips, basis).measures["surface"])
    assert more.size == f"+{1e3 * MORE[-1]:g} mm"
    assert more.concrete == pytest.approx(MORE[-1] * surface / 7.5, rel=1e-6)


def test_the_least_size_that_mends_is_taken():
    """A lone vault that sags too much: growing edge beams are tried until it holds."""
    basis = basis_for("vault")
    basis = replace(basis, requirements=replace(basis.requirements, deflection_ratio=350.0))
    strips = market_hall(0.3)
    section, proving = Section("lone", strips), Proving(bays=("lone",))
    found = {one.what: one for one in remedies(section, basis, proving)}
    upright = found["upright edge beam"]
    assert upright.mends
    measures = dict(evaluate(strips, basis).measures)
    before = fine_proof(strips, (), measures, basis, proving)["plate_deflection"]
    assert before > 24.0 / 350.0
    assert upright.worst <= 0.0
    assert upright.concrete > 0.0


def test_nothing_to_mend():
    strips = market_hall()
    last = strips.x.size - 1
    joints = (Joint(0, "valley", "left"), Joint(last, "valley", "right"))
    basis = basis_for("vault")
    detailing = replace(basis.detailing, mesh_spacing=0.05, support_spacing=0.03)
    assert remedies(Section("hall", strips, joints), replace(basis, detailing=detailing), Proving()) == ()


def test_steel_and_cost_of_struts_and_collars_by_hand():
    """A/s = k l / E_s: struts of half the edge's spring over the opening, collars from edge to edge."""
    basis = basis_for("gull-wing")
    found = {one.what: one for one in remedies(wings(), basis, Proving())}
    collars = found["collars over the middle"]
    assert collars.concrete == 0.0
    size, words = collars.size.split(" MN/m², ")
    strips = wings().strips
    last = strips.x.size - 1
    one = round(0.25 * last) if words == "halfway up" else 0
    two = last - one
    assert strips.x[one] == pytest.approx(-strips.x[two])
    length = float(strips.x[two] - strips.x[one])
    own = float(size) * 1e6 * length**2 / 200e9 * 7850 / 7.5
    proved = replace(Proving(), collar=float(size) * 1e6, collar_at=0.5 if words == "halfway up" else 0.0)
    measures = dict(evaluate(strips, basis).measures)
    main = [
        float(fine_proof(strips, wings().joints, measures, basis, one)["plate_steel_area"])
        for one in (Proving(), proved)
    ]
    assert collars.steel == pytest.approx(own + (main[1] - main[0]) * 7850 / 7.5, rel=1e-9)
    price = basis.concrete_settings.factors.steel_price
    assert collars.cost == pytest.approx(price * own, rel=1e-9)
    assert found["flat edge beam"].cost > basis.concrete_settings.factors.concrete_price * 0.9 * (
        found["flat edge beam"].concrete
    )
