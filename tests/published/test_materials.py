"""Materials and combinations against their standards."""

import numpy as np
import pytest

from longvault.constraints.actions import STANDARDS, Loads, european_standard, line_loads
from longvault.constraints.design_strengths import american_strengths
from longvault.constraints.materials import Concrete, Steel
from longvault.sections import Strips
from longvault.sections.properties import section_properties

# EN 1992-1-1:2004, table 3.1 as printed: fck, fcm, fctm [MPa], Ecm [GPa]
TABLE_3_1 = [
    (12, 20, 1.6, 27), (16, 24, 1.9, 29), (20, 28, 2.2, 30), (25, 33, 2.6, 31), (30, 38, 2.9, 33),
    (35, 43, 3.2, 34), (40, 48, 3.5, 35), (45, 53, 3.8, 36), (50, 58, 4.1, 37), (55, 63, 4.2, 38),
    (60, 68, 4.4, 39), (70, 78, 4.6, 41), (80, 88, 4.8, 42), (90, 98, 5.0, 44),
]  # fmt: skip


@pytest.mark.parametrize(("fck", "fcm", "fctm", "ecm"), TABLE_3_1)
def test_concrete_of_en_1992_table_3_1(fck, fcm, fctm, ecm):
    concrete = Concrete(fck * 1e6)
    assert concrete.fcm == pytest.approx(fcm * 1e6)
    assert concrete.fctm / 1e6 == pytest.approx(fctm, abs=0.051)
    assert concrete.ecm / 1e9 == pytest.approx(ecm, abs=0.5)


def test_concrete_outside_the_table_is_refused():
    with pytest.raises(ValueError, match="12 to 90 MPa"):
        Concrete(11e6)


def combined(standard: str, dead: float, snow: float, roof: float) -> dict[str, float]:
    """Combine plain numbers: one metre of plan, no section."""
    loads = line_loads(
        Loads(finish=dead, snow=snow, maintenance=roof),
        area=np.array(0.0), surface=np.array(1.0), opening=np.array(0.0), pitch=1.0, weight=25e3,
    )  # fmt: skip
    return {c.name: float(loads.combined(c)) for c in STANDARDS[standard].combinations}


def test_combinations_of_en_1990():
    """EN 1990:2002 (6.10), (6.14b), (6.16b), from memory; G = 2.5, S = 1.2 worked by hand."""
    found = combined("EN 1990:2002", 2.5, 1.2, 0.4)
    assert found["1.35 G + 1.5 snow"] == pytest.approx(5.175)
    assert found["1.35 G + 1.5 maintenance"] == pytest.approx(3.975)
    assert found["G + snow"] == pytest.approx(3.7)
    assert found["G (quasi-permanent)"] == pytest.approx(2.5)


def test_combinations_of_asce_7():
    """ASCE 7-16, 2.3.1 (1, 3), from memory; D = 2.5, S = 1.2, Lr = 1 worked by hand."""
    found = combined("ASCE 7-16", 2.5, 1.2, 1.0)
    assert found["1.4 D"] == pytest.approx(3.5)
    assert found["1.2 D + 1.6 S"] == pytest.approx(4.92)
    assert found["1.2 D + 1.6 Lr"] == pytest.approx(4.6)


def test_american_strengths():
    """ACI 318-19, from memory: 0.65 x 0.85 f'c, 0.9 fy, 0.75 x 0.83 sqrt(f'c) for 25 MPa, worked by hand."""
    strengths = american_strengths(Concrete(25e6), Steel(420e6))
    assert strengths.compression == pytest.approx(13.8125e6)
    assert strengths.steel == pytest.approx(378e6)
    assert strengths.strut == pytest.approx(3.1125e6)


def test_self_weight_follows_the_surface():
    """25 kN/m3 (EN 1991-1-1 table A.1, from memory), 80 mm, 40 deg: 2.0 phi / sin phi = 2.17220."""
    angle = np.radians(np.linspace(130.0, 50.0, 401))
    arc = Strips.chain(10 * np.cos(angle), 10 * np.sin(angle), 0.08, "crown")
    p = section_properties(arc)
    loads = line_loads(
        Loads(),
        area=p.area,
        surface=p.developed_length,
        opening=np.array(0.0),
        pitch=10.0,
        weight=Concrete(30e6).weight,
    )
    assert float(loads.permanent / p.developed_length) == pytest.approx(2.0e3)
    assert float(loads.permanent) / (20 * np.sin(np.radians(40))) == pytest.approx(2172.20, rel=1e-5)


def every(standard: str, state: str) -> dict[str, tuple[float, ...]]:
    """Factors on permanent load, on each kind of variable load, and on permanent load that helps."""
    rows = [c for c in STANDARDS[standard].every if c.state == state]
    return {c.name: (c.permanent, c.snow, c.maintenance, c.wind, c.water, c.relieving) for c in rows}


def test_every_combination_of_en_1990():
    """EN 1990:2002, tables A1.2(A) and A1.2(B), from memory: G against and for, each variable leading."""
    strong, standing = (every("EN 1990:2002", state) for state in ("ultimate", "equilibrium"))
    for g in (1.35, 1.0):
        for k in range(4):  # snow, maintenance, wind, water by themselves
            one = tuple(1.5 if k == i else 0.0 for i in range(4))
            assert (g, *one, None) in strong.values()
            assert (1.1, *one, 0.9) in standing.values()
        assert (g, 1.5, 0.0, 0.9, 0.0, None) in strong.values()
        assert (g, 0.75, 0.0, 1.5, 0.0, None) in strong.values()
    assert len(strong) == 13
    assert len(standing) == 7


def test_snow_above_1000_m():
    """psi 0.7, 0.5, 0.2 (EN 1990, table A1.1, from memory)."""
    high = european_standard((0.7, 0.5, 0.2))
    found = {c.name: c for c in high.every}
    assert found["1.35 G + 1.5 wind + 1.05 snow"].snow == 1.05
    assert found["G + 0.5 snow (frequent)"].snow == 0.5
    assert found["G + 0.2 wind + 0.2 snow (frequent)"].snow == 0.2
    assert [c.snow for c in high.combinations if c.state == "sustained"] == [0.2]
    assert "snow 0.7, 0.5, 0.2" in high.note


def test_every_combination_of_asce_7():
    """ASCE 7-16, 2.3.1 (1 to 5), from memory: L of the room below does not load the roof."""
    strong, standing = (every("ASCE 7-16", state) for state in ("ultimate", "equilibrium"))
    roof = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]  # S, Lr, R exclude each other
    for s, lr, r in roof:
        assert (1.2, 1.6 * s, 1.6 * lr, 0.0, 1.6 * r, None) in strong.values()
        assert (1.2, 1.6 * s, 1.6 * lr, 0.5, 1.6 * r, None) in strong.values()
        assert (1.2, 0.5 * s, 0.5 * lr, 1.0, 0.5 * r, None) in strong.values()
        assert (1.2, 1.6 * s, 1.6 * lr, 0.5, 1.6 * r, 0.9) in standing.values()
        assert (1.2, 0.5 * s, 0.5 * lr, 1.0, 0.5 * r, 0.9) in standing.values()
    for row in ((1.4, 0, 0, 0, 0, None), (0.9, 0, 0, 1.0, 0, None)):
        assert row in strong.values()
