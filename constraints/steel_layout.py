"""Steel in the whole module: main bars, mesh, shear steel, stirrups, the least amounts, and its weight."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import steel_kernels
from longvault.constraints.bars import GatheredBars, gathered_bars
from longvault.constraints.basis import Detailing
from longvault.constraints.concrete_settings import SteelPractice
from longvault.constraints.materials import (
    STEEL_DENSITY,
    Concrete,
    DesignStrengths,
    Steel,
    least_stirrups,
    least_tension_steel,
)
from longvault.constraints.reinforcement import clear_spacing
from longvault.sections.parts import roof_surface, shared
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, one_each, side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import tree_order


@dataclass(frozen=True, slots=True, eq=False)
class SteelLayout:
    """Steel of one module; every field is (...). Volumes per metre of span are means over the span.

    Parameters
    ----------
    main, mesh, shear, stirrups, extra : array
        Main bars; mesh of the roof surface; what the surface needs beyond its mesh near the supports;
        stirrups and skin bars of beams and kerbs; laps, top bars and trimmers [m3/m].
    least_main : array
        Least main steel [m2].
    bars : array
        Number of main bars.
    mesh_ratio : array
        Mesh of one direction over the thickest roof surface.
    spacing_ratio : array
        Spacing of the mesh over the largest allowed.
    tension_width, tension_depth : array
        Mean width and depth of the tension zone [m].
    """

    main: Array
    mesh: Array
    shear: Array
    stirrups: Array
    extra: Array
    least_main: Array
    bars: Array
    mesh_ratio: Array
    spacing_ratio: Array
    tension_width: Array
    tension_depth: Array

    @property
    def volume(self) -> Array:
        """Steel per metre of span (...) [m3/m]."""
        return self.main + self.mesh + self.shear + self.stirrups + self.extra

    def per_plan(self, pitch: float) -> Array:
        """Steel per plan area (...) [kg/m2]."""
        return STEEL_DENSITY * self.volume / pitch


def steel_layout(
    strips: Strips,
    properties: Properties,
    *,
    area: ArrayLike,
    reverse: ArrayLike = 0.0,
    shear: ArrayLike,
    detailing: Detailing,
    concrete: Concrete,
    steel: Steel,
    strengths: DesignStrengths,
    practice: SteelPractice | None = None,
    laid: GatheredBars | None = None,
    sagging: bool = True,
    held: bool = False,
) -> SteelLayout:
    """Lay out and weigh the steel of one module.

    Main bars: ``area`` or the least steel 0.26 f_ctm / f_yk b_t d >= 0.0013 b_t d (EN 1992-1-1, 9.2.1.1),
    b_t the mean width of the tension zone, d to the bars laid from the tension edge up. Shear flow by the
    truss model with struts at 45 degrees: q_d / f_yd each way (membrane elements; EN 1992-1-1, 6.2.3 and
    annex F, from memory); the mesh, at least ``shell_ratio`` of the thickness each way, carries its part,
    the rest is counted near the supports, shear falling in a straight line to zero. Stirrups in beams and
    kerbs: the same flow, at least 0.08 sqrt(f_ck) / f_yk (EN 1992-1-1, 9.2.2(5)).

    Parameters
    ----------
    strips, properties : Strips, Properties
        Open section, batch (...).
    area : array (...)
        Main steel the bending needs [m2].
    reverse : array (...)
        Steel on the other side, where moments of both signs occur [m2]; the least steel is not asked of it.
    shear : array (...)
        Largest design shear force [N].
    detailing, concrete, steel, strengths
        Covers and bars, materials, design strengths.
    practice : SteelPractice, optional
        Settings from practice.
    laid : GatheredBars, optional
        The main bars where they lie, when they are known already.
    sagging, held : bool
        Sign of the governing moment; bending held straight sideways or free.

    Examples
    --------
    >>> from longvault.constraints.materials import eurocode_strengths
    >>> from longvault.sections.properties import section_properties
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, "wing")
    >>> c, s = Concrete(30e6), Steel()
    >>> laid = steel_layout(fold, section_properties(fold), area=20e-4, shear=2e5, detailing=Detailing(),
    ...                     concrete=c, steel=s, strengths=eurocode_strengths(c, s))
    >>> round(float(laid.mesh) * 1e4, 3)  # 2 x 7.211 m x 3.351 cm2/m
    48.329
    """
    use = practice or SteelPractice()
    one_mesh = detailing.mesh_area
    covers = detailing.cover_top + detailing.cover_bottom
    legs = 0.5 * np.pi * use.stirrup_bar**2 / use.stirrup_spacing
    rules = (one_mesh, least_stirrups(concrete, steel), covers, legs, use.shell_ratio)
    net, more, links, members, width, depth, per_thickest, thinnest = _rows(
        strips, properties, np.asarray(shear) / strengths.steel, rules, sagging, held
    )
    needed = np.broadcast_to(np.asarray(area, dtype=np.float64), strips.batch)
    if laid is None:
        laid = gathered_bars(strips, properties, area=needed, detailing=detailing, sagging=sagging)
    height = laid.bars.height
    effective = properties.top - height if sagging else height - properties.bottom
    least = least_tension_steel(concrete, steel) * width * effective
    sides = (np.maximum(needed, least), np.asarray(reverse, dtype=np.float64))
    main = use.curtailed * (sides[0] + sides[1])
    mesh, more, stirrups = 2.0 * net, 2.0 * more, links + use.skin_ratio * members
    spacing = np.minimum(use.spacing_thicknesses * thinnest, use.spacing)
    return SteelLayout(
        main=main,
        mesh=mesh,
        shear=more,
        stirrups=stirrups,
        extra=use.allowance * (main + mesh + more + stirrups),
        least_main=least,
        bars=np.add(*(np.ceil(side / detailing.bar_area - 1e-9) for side in sides)),
        mesh_ratio=one_mesh * per_thickest,
        spacing_ratio=detailing.mesh_spacing / spacing,
        tension_width=width,
        tension_depth=depth,
    )


def _rows(
    strips: Strips,
    p: Properties,
    shear: Array,
    rules: tuple[float, float, float, float, float],
    sagging: bool,
    held: bool,
) -> Array:
    """Fields of the kernel, each (...)."""
    columns = (p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz)
    props = side_by_side(columns)
    out = np.empty((len(props), steel_kernels.LAYOUT_FIELDS))
    steel_kernels.layout_rows(
        *strip_rows(strips),
        roof_surface(strips),
        shared(strips),
        tree_order(strips).steps,
        props,
        1.0 if sagging else -1.0,
        held,
        one_each(shear, strips.batch),
        rules,
        out,
    )
    return by_field(out, strips.batch)


def bar_places(
    strips: Strips,
    properties: Properties,
    *,
    area: float,
    detailing: Detailing,
    sagging: bool = True,
) -> Array:
    """Place the main bars of one section one by one, for drawing: (n, 2) x and z [m].

    Rows and layers as in `longvault.constraints.bars.gathered_bars`, the lowest layer first; a shared
    member shows the half that belongs to this bay, a middle row on the joint. Fewer places than the area
    asks for: they do not fit.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.3], "edge beam")
    >>> p = section_properties(wall)
    >>> bar_places(wall, p, area=3 * 490.87e-6, detailing=Detailing()).round(4).tolist()
    [[0.1045, 0.0455], [0.0522, 0.0455], [0.0, 0.0455]]
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch {strips.batch}; bars are placed in one section at a time")
    bar, clear = detailing.main_bar, clear_spacing(detailing)
    inset = detailing.mesh_bar + 0.5 * bar
    inset += detailing.cover_bottom if sagging else detailing.cover_top
    edge = float(properties.bottom if sagging else properties.top)
    up = 1.0 if sagging else -1.0
    middle = 0.5 * float(properties.left + properties.right)
    outward = np.sign(strips.x[strips.ends].mean(axis=-1) - middle)
    places = [
        point
        for (i, j), t, joint in zip(strips.ends, strips.thickness, outward * shared(strips), strict=True)
        for point in _strip_places(
            (strips.x[i], strips.z[i]),
            (strips.x[j], strips.z[j]),
            (float(t), float(joint)),
            (edge, up, inset),
            bar + clear,
            bar,
        )
    ]
    wanted = int(np.ceil(area / (0.25 * np.pi * bar * bar) - 1e-9))
    places.sort(key=lambda point: up * point[1])
    return np.array(places[:wanted], dtype=np.float64).reshape(-1, 2)


def _strip_places(
    start: tuple[float, float],
    stop: tuple[float, float],
    member: tuple[float, float],
    tension: tuple[float, float, float],
    step: float,
    bar: float,
) -> list[tuple[float, float]]:
    """Bars of one strip: rows across its thickness, one layer each ``step`` along it.

    ``member`` is thickness and, for half of a shared member, the side (-1 or 1) its joint is on, else 0.
    """
    (t, joint), (edge, up, inset) = member, tension
    a, b = np.array(start), np.array(stop)
    if up * a[1] > up * b[1]:
        a, b = b, a
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    normal = np.array([-along[1], along[0]])
    whole = 2.0 * t if joint else t
    rows = int(np.floor((whole - 2.0 * (inset - 0.5 * bar) + step - bar) / step + 1e-9))
    if rows < 1:
        return []
    reach = 0.5 * whole - inset
    offsets = np.linspace(-reach, reach, rows) if rows > 1 else np.zeros(1)
    offsets = offsets + 0.5 * t * joint * np.sign(normal[0])  # from the joint
    offsets = offsets[np.abs(offsets) <= 0.5 * t + 1e-9]
    # the first layer stands at the inset where a steep strip starts at the edge
    steep = up * float(along[1])
    missing = inset - up * (float(a[1]) - edge)
    begin = max(0.5 * step, missing / steep if steep > 0.1 else 0.0)
    found = []
    for layer in np.arange(begin, length, step):
        for offset in offsets:
            x, z = a + layer * along + offset * normal
            found.append((float(x), float(z)))
    return found
