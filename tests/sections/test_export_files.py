"""Files of a section: each carries the caution, none is ever half written, what is read back is the same."""

import csv
import importlib
import json
import pkgutil
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest

import longvault.sections.export
from longvault.sections import CAUTION, Section, Strips, read_section
from longvault.sections.export import EXPORTERS, read_table, write_table, write_text
from longvault.sections.export.dxf import export_dxf
from longvault.sections.export.section_json import export_json
from longvault.sections.outline import outline
from longvault.sections.polygon import outline_properties
from longvault.sections.properties import section_properties


def vault() -> Section:
    angle = np.radians(np.linspace(-40, 40, 41))
    strips = Strips.chain(7.5 * np.sin(angle), 7.5 * np.cos(angle), 0.08, "wing")
    return Section("shallow vault", strips)


def gull_wing() -> Section:
    x = [-3.0, -3.0, -2.0, -0.7, 0.7, 2.0, 3.0, 3.0]
    z = [2.6, 2.1, 1.8, 0.0, 0.0, 1.8, 2.1, 2.6]
    parts = ["kerb", "wing", "wing", "keel", "wing", "wing", "kerb"]
    return Section("gull-wing", Strips.chain(x, z, [0.2, 0.1, 0.1, 0.18, 0.1, 0.1, 0.2], parts))


def tube() -> Section:
    strips = Strips(
        [0, 2, 2, 0, 1], [0, 0, 1, 1, 2], [[0, 1], [1, 2], [2, 3], [3, 0], [2, 4]], [0.1] * 5, ("web",) * 5
    )
    return Section("cell with a branch", strips)


ZOO = [vault, gull_wing, tube]


@pytest.mark.parametrize("make", ZOO)
@pytest.mark.parametrize("kind", sorted(EXPORTERS))
def test_every_writer_carries_the_caution_and_leaves_one_file(kind: str, make, tmp_path: Path) -> None:
    path = tmp_path / f"section.{kind}"
    EXPORTERS[kind](make(), path)
    text = re.sub(r"<[^>]*>|\s+", " ", path.read_text(encoding="utf-8"))
    assert CAUTION in re.sub(r" +", " ", text)
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("make", ZOO)
def test_json_reads_back_to_the_same_bits(make, tmp_path: Path) -> None:
    section = make()
    extra = {"measures": {"area_m2": 0.7, "beam_share": float("nan")}, "margins": {"height": -0.1}}
    export_json(section, tmp_path / "s.json", extra)
    again = read_section(tmp_path / "s.json")
    for name in ("x", "z", "thickness"):
        assert getattr(again.strips, name).tobytes() == getattr(section.strips, name).tobytes()
    assert (again.name, again.strips.parts) == (section.name, section.strips.parts)
    document = json.loads((tmp_path / "s.json").read_text(), parse_constant=pytest.fail)
    assert document["measures"] == {"area_m2": 0.7, "beam_share": None}


@pytest.mark.parametrize("make", ZOO)
def test_csv_rebuilds_the_section(make, tmp_path: Path) -> None:
    section = make()
    EXPORTERS["csv"](section, tmp_path / "s.csv")
    table = read_table(tmp_path / "s.csv")
    ends = np.stack([table["first_node"], table["second_node"]], axis=1).astype(int)
    assert np.array_equal(ends, section.strips.ends)
    assert np.array_equal(table["x_first_m"], section.strips.x[ends[:, 0]])
    np.testing.assert_allclose(table["thickness_mm"] / 1e3, section.strips.thickness, rtol=1e-12)
    assert tuple(table["part"]) == section.strips.parts


def test_table_is_skipped_into_by_common_readers(tmp_path: Path) -> None:
    path = tmp_path / "front.csv"
    write_table(path, {"id": ["a", "b"], "area": [0.1, np.float64(1 / 3)], "bars": [3, 4]}, {"area": "m2"})
    lines = path.read_text().splitlines()
    assert lines[0] == f"# {CAUTION}"
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert [row["area_m2"] for row in rows] == ["0.1", "0.3333333333333333"]
    data = np.genfromtxt(path, delimiter=",", names=True, skip_header=1, dtype=None, encoding="utf-8")
    assert data["area_m2"][1] == 1 / 3
    assert read_table(path)["bars"].tolist() == [3, 4]


def test_table_refuses_unequal_columns_and_lost_units(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"equal length; got lengths \{'a': 1, 'b': 2\}"):
        write_table(tmp_path / "t.csv", {"a": [1], "b": [1, 2]})
    with pytest.raises(ValueError, match="units: c names no column; columns are a"):
        write_table(tmp_path / "t.csv", {"a": [1]}, {"c": "m"})
    assert not list(tmp_path.iterdir())


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.txt"
    write_text(path, "old")

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="disk full"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("make", ZOO)
def test_dxf_is_clean_metres_and_gives_the_section_back(make, tmp_path: Path) -> None:
    section = make()
    EXPORTERS["dxf"](section, tmp_path / "s.dxf")
    document = ezdxf.readfile(tmp_path / "s.dxf")
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.header["$INSUNITS"] == 6
    assert any("All dimensions in metres" in text.dxf.text for text in document.modelspace().query("TEXT"))
    space = document.modelspace()
    rings = [line for line in space.query("LWPOLYLINE") if line.dxf.layer == "OUTLINE"]
    assert all(ring.closed for ring in rings)
    area, inertia = ring_sums([np.array(ring.get_points("xy")) for ring in rings])
    exact = outline_properties(outline(section.strips))
    assert area == pytest.approx(exact.area, rel=1e-3)
    assert inertia == pytest.approx(exact.ixx, rel=1e-3)
    shown = []
    for dimension in space.query("DIMENSION"):
        assert dimension.get_dim_style().dxf.dimlfac == 1.0
        texts = [entity.text for entity in dimension.virtual_entities() if entity.dxftype() == "MTEXT"]
        assert texts == [f"{dimension.get_measurement():.3f}"]
        shown += texts
    left, bottom, right, top = outline(section.strips).bounds
    centroid = float(section_properties(section.strips).centroid_z)
    assert shown == [f"{float(value):.3f}" for value in (right - left, top - bottom, centroid - bottom)]


def test_dxf_with_a_bay_draws_the_neighbours_and_is_repeatable(tmp_path: Path) -> None:
    for name in ("a.dxf", "b.dxf"):
        export_dxf(gull_wing(), tmp_path / name, bay=7.5)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert not document.audit().errors
    layers = {entity.dxf.layer for entity in document.modelspace()}
    assert {"NEIGHBOURS", "GLASS", "OUTLINE", "MIDLINE", "DIMENSIONS", "LABELS", "CAUTION"} <= layers
    pieces = [piece for dim in document.modelspace().query("DIMENSION") for piece in dim.virtual_entities()]
    assert "7.500" in [piece.text for piece in pieces if piece.dxftype() == "MTEXT"]


@pytest.mark.parametrize("make", ZOO)
def test_outline_in_the_dxf_is_the_outline_that_was_drawn(make, tmp_path: Path) -> None:
    EXPORTERS["dxf"](make(), tmp_path / "s.dxf")
    space = ezdxf.readfile(tmp_path / "s.dxf").modelspace()
    rings = [line for line in space.query("LWPOLYLINE") if line.dxf.layer == "OUTLINE"]
    area, _ = ring_sums([np.array(ring.get_points("xy")) for ring in rings])
    assert area == pytest.approx(outline(make().strips, tapered=True).area, rel=1e-9)
    runs = [line for line in space.query("LWPOLYLINE") if line.dxf.layer == "MIDLINE"]
    length = sum(np.hypot(*np.diff(np.array(run.get_points("xy")), axis=0).T).sum() for run in runs)
    assert length == pytest.approx(float(section_properties(make().strips).developed_length), rel=1e-12)


def test_no_writer_escapes_the_list() -> None:
    """Every public ``export_*`` of the package is in EXPORTERS, so that the walk above meets it."""
    found = {}
    for module in pkgutil.iter_modules(longvault.sections.export.__path__):
        members = vars(importlib.import_module(f"longvault.sections.export.{module.name}"))
        found |= {name: value for name, value in members.items() if name.startswith("export_")}
    assert set(found.values()) == set(EXPORTERS.values())


def ring_sums(rings: list[np.ndarray]) -> tuple[float, float]:
    """Area and second moment about the horizontal centroid axis of signed rings (Green's theorem)."""
    area = first = second = 0.0
    for ring in rings:
        x, z = ring.T
        u, w = np.roll(x, -1), np.roll(z, -1)
        cross = x * w - u * z
        area += 0.5 * cross.sum()
        first += (cross * (z + w)).sum() / 6.0
        second += (cross * (z * z + z * w + w * w)).sum() / 12.0
    return area, second - first * first / area
