"""Section drawings: true to scale, nothing cut, no label over another or over concrete."""

import re
from itertools import combinations

import numpy as np
import pytest
import shapely

from longvault.sections import CAUTION, Section, Strips
from longvault.sections.export.scene import Area, Lines, Scene, Text, bounds
from longvault.sections.export.section_drawing import draw_section
from longvault.sections.export.svg import svg_text
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.sections.opening import slot
from longvault.sections.outline import outline
from longvault.sections.polygon import outline_properties
from longvault.sections.properties import section_properties
from longvault.sections.topology import section_walk


def chain(name: str, x, z, t, parts) -> Section:
    return Section(name, Strips.chain(x, z, t, parts))


def hand_made() -> list[tuple[Section, float | None]]:
    angle = np.linspace(np.pi, 0, 61)
    fold = np.linspace(-1, 1, 41)
    branch = Strips(
        [0, 2, 2, 0, 1], [0, 0, 1, 1, 2], [[0, 1], [1, 2], [2, 3], [3, 0], [2, 4]], [0.1] * 5, ["web"] * 5
    )
    x = np.linspace(0, 9, 10)
    names = [f"part {i}" for i in range(9)]
    return [
        (chain("flat slab", [0, 5], [0, 0], 0.1, "slab"), 5.0),
        (chain("upright wall", [0, 0], [0, 3], 0.1, "web"), None),
        (chain("semicircle", 2.5 * np.cos(angle), 2.5 * np.sin(angle), 0.0637, "wing"), None),
        (chain("deep fold", 2 * fold, 3.3 * np.abs(fold), 0.08, "wing"), 4.6),
        (Section("cell with a branch", branch), 4.0),
        (chain("long name & <tags> " * 9, x, 0.3 * np.sin(2 * x), np.linspace(0.08, 0.3, 9), names), 12.0),
    ]


def family_designs() -> list[tuple[Section, float]]:
    rng = np.random.default_rng(7)
    found = []
    for key in FAMILIES:
        for pitch, height in ((4.8, 1.5), (7.5, 2.65), (9.0, 3.4)):
            family = make_family(key, Setting(pitch=pitch, height=height, thickness=0.08))
            for row in rng.permutation(family.starts())[:4]:
                found.append((Section(f"{key} {pitch} m", family.strips(row), family.joints), pitch))
    return found


DRAWINGS = [*hand_made(), *family_designs()]


def identify(pair: object) -> str:
    return pair[0].name[:24] if isinstance(pair, tuple) else ""


@pytest.fixture(params=DRAWINGS, ids=identify, scope="module")
def drawn(request) -> tuple[Section, float | None, Scene]:
    section, bay = request.param
    return section, bay, draw_section(section, bay=bay, moment=2.0e6)


def test_labels_stand_clear_of_each_other_and_inside_the_sheet(drawn) -> None:
    _, _, scene = drawn
    left, low, right, high = bounds(scene.items)
    assert min(left, low) > 3.0
    assert min(scene.width - right, scene.height - high) > 3.0
    texts = [item for item in scene.items if isinstance(item, Text)]
    for a, b in combinations(texts, 2):
        apart = a.box[2] <= b.box[0] or b.box[2] <= a.box[0] or a.box[3] <= b.box[1] or b.box[3] <= a.box[1]
        assert apart, (a.text, b.text)


def test_labels_stand_clear_of_concrete_neighbours_glass_and_stress(drawn) -> None:
    _, _, scene = drawn
    boxes = [(item.text, shapely.box(*item.box)) for item in scene.items if isinstance(item, Text)]
    for item in scene.items:
        if isinstance(item, Area) and item.layer in ("concrete", "neighbour", "compression", "tension"):
            shapes = [shapely.Polygon(ring) for ring in item.rings]
        elif isinstance(item, Lines) and item.layer in ("glass", "neutral axis"):
            shapes = [shapely.LineString(path) for path in item.paths]
        else:
            continue
        for text, box in boxes:
            assert not any(shape.intersects(box) for shape in shapes), (item.layer, text)


def lengths(texts: list[str]) -> list[str]:
    return [text for text in texts if re.fullmatch(r"\d+\.\d{3} m", text)]


def test_drawing_is_true_to_its_scale(drawn) -> None:
    section, bay, scene = drawn
    texts = [item.text for item in scene.items if isinstance(item, Text)]
    scale = float(next(text for text in texts if text.startswith("Section, scale 1:")).split(":")[1])
    (concrete,) = [item for item in scene.items if isinstance(item, Area) and item.layer == "concrete"]
    left, low, right, high = bounds([concrete])
    exact = outline(section.strips).bounds
    width, height = exact[2] - exact[0], exact[3] - exact[1]
    assert right - left == pytest.approx(1e3 * width / scale, rel=1e-3)
    assert high - low == pytest.approx(1e3 * height / scale, rel=1e-3)
    assert any(abs(float(text[:-2]) - height) < 1e-3 for text in lengths(texts))
    assert any(abs(float(text[:-2]) - width) < 1e-3 for text in lengths(texts))
    if bay:
        width = float(slot(section.strips, bay).width)
        assert (f"clear opening {width:.3f} m" in texts) == (width > 0.02)
        assert f"bay {bay:.3f} m" in texts


def test_stress_diagram_shows_the_extremes(drawn) -> None:
    section, _, scene = drawn
    p = section_properties(section.strips)
    texts = [item.text for item in scene.items if isinstance(item, Text)]
    for modulus, sign in ((p.s_free_compression, -1), (p.s_free_tension, 1)):  # sigma = M / S
        stress = sign * 2.0 / float(modulus)
        shown = [t for t in texts if t.endswith(" MPa") and (t[0] == "\N{MINUS SIGN}") == (sign < 0)]
        assert len(shown) == 1
        assert abs(float(shown[0].removesuffix(" MPa").replace("\N{MINUS SIGN}", "-")) - stress) <= 0.051


def test_caution_is_on_the_drawing_and_the_svg_is_xml(drawn) -> None:
    from xml.etree import ElementTree

    _, _, scene = drawn
    assert (
        " ".join(item.text for item in scene.items if isinstance(item, Text) and item.layer == "caution")
        == CAUTION
    )
    root = ElementTree.fromstring(svg_text(scene))
    assert root.get("width") == f"{scene.width:.4f}".rstrip("0").rstrip(".") + "mm"
    assert scene._repr_svg_() == svg_text(scene)


def test_area_of_the_drawn_concrete(drawn) -> None:
    """Area and inertia of the drawn rings are those of the exact outline, whatever the corners."""
    section, _, scene = drawn
    (concrete,) = [item for item in scene.items if isinstance(item, Area) and item.layer == "concrete"]
    scale = float(
        next(i.text for i in scene.items if isinstance(i, Text) and "scale 1:" in i.text).split(":")[1]
    )
    rings = [shapely.LinearRing(ring) for ring in concrete.rings]
    outer = shapely.MultiPolygon([shapely.Polygon(ring) for ring in rings if ring.is_ccw])
    found = outline_properties(
        outer.difference(shapely.union_all([shapely.Polygon(r) for r in rings if not r.is_ccw]))
    )
    exact = outline_properties(outline(section.strips))
    metre = 1e3 / scale
    assert found.area / metre**2 == pytest.approx(exact.area, rel=1e-3)
    assert found.ixx / metre**4 == pytest.approx(exact.ixx, rel=1e-3)
    assert found.izz / metre**4 == pytest.approx(exact.izz, rel=1e-3)


def test_nothing_is_left_between_the_pieces_of_an_outline(drawn) -> None:
    section, _, _ = drawn
    for tapered in (False, True):
        shape = outline(section.strips, tapered=tapered)
        assert shape.is_valid
        assert shape.geom_type == "Polygon"
        cells = section_walk(section.strips).cells
        assert len(shape.interiors) == cells  # no sliver at a joint
        closed = shape.buffer(1e-6, join_style="mitre").buffer(-1e-6, join_style="mitre")
        assert shape.length == pytest.approx(closed.length, abs=1e-4)  # no slit either


@pytest.mark.parametrize("kind", ["vault", "semicircle"])
def test_area_of_a_smooth_profile_is_exact(kind: str) -> None:
    half = {"vault": 0.65, "semicircle": np.pi / 2}[kind]
    angle = np.linspace(-half, half, 65)
    strips = Strips.chain(5 * np.sin(angle), 5 * np.cos(angle), 0.09, "wing")
    assert outline(strips, tapered=True).area == pytest.approx(
        float(section_properties(strips).area), rel=1e-6
    )


def test_drawing_refuses_what_it_cannot_draw() -> None:
    slab = Strips.chain([0.0, 5.0], [0.0, 0.0], 0.1, "slab")
    with pytest.raises(ValueError, match="bay: got 0 m; must be above 0"):
        draw_section(Section("slab", slab), bay=0)
    with pytest.raises(ValueError, match="every value must be finite"):
        draw_section(Section("slab", Strips.chain([0.0, np.nan], [0.0, 0.0], 0.1, "slab")))
    with pytest.raises(ValueError, match=r"batch of shape \(2,\)"):
        draw_section(Section("two", Strips.chain([[0.0, 5.0]] * 2, [[0.0, 0.0]] * 2, 0.1, "slab")))
