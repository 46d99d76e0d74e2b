"""Steel in the whole module: main bars, mesh, shear steel, stirrups, laps, the least amounts, its weight."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import steel_kernels
from longvault.constraints.bars import GatheredBars, gathered_bars
from longvault.constraints.basis import Detailing
from longvault.constraints.concrete_settings import SteelPractice
from longvault.constraints.design_strengths import DesignStrengths
from longvault.constraints.laps import anchorage_length, lap_length, lap_share
from longvault.constraints.materials import (
    STEEL_DENSITY,
    Concrete,
    Steel,
    least_stirrups,
    least_tension_steel,
)
from longvault.sections.parts import member_shares, shared, surface_edges
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, one_each, side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import tree_order

HOOKS = 20.0
"""Hooks at both ends of a stirrup over its bar: 10 bars each beyond the bend (EN 1992-1-1, figure 8.5)."""


@dataclass(frozen=True, slots=True, eq=False)
class SteelLayout:
    """Steel of one module; every field is (...). Volumes per metre of span are means over the span.

    Parameters
    ----------
    main, mesh, shear : array
        Main bars of both sides; mesh of the roof surface, both ways; what the surface needs beyond its mesh
        near the supports [m3/m].
    stirrups, skin : array
        Stirrups of beams and kerbs with their hooks; bars along them besides the main ones [m3/m].
    bar_laps, mesh_laps, extra : array
        Laps and anchorage of the main bars, and of the mesh; spacers, chairs and trimmers [m3/m].
    least_main, least_reverse : array
        Least main steel, and the least on the other side where moments of both signs occur, else 0 [m2].
    bars : array
        Number of main bars of both sides.
    mesh_needed : array
        Mesh of one direction that the thickest roof surface asks for, at least the mesh everywhere [m2/m].
    spacing_ratio : array
        Spacing of the mesh over the largest allowed.
    tension_width, tension_depth : array
        Mean width and depth of the tension zone [m].
    reverse_width, reverse_depth : array
        The same for the other sign of moment [m].
    """

    main: Array
    mesh: Array
    shear: Array
    stirrups: Array
    skin: Array
    bar_laps: Array
    mesh_laps: Array
    extra: Array
    least_main: Array
    least_reverse: Array
    bars: Array
    mesh_needed: Array
    spacing_ratio: Array
    tension_width: Array
    tension_depth: Array
    reverse_width: Array
    reverse_depth: Array

    @property
    def volume(self) -> Array:
        """Steel per metre of span (...) [m3/m]."""
        beams, laps = self.stirrups + self.skin, self.bar_laps + self.mesh_laps
        return self.main + self.mesh + self.shear + beams + laps + self.extra

    def per_plan(self, pitch: float) -> Array:
        """Steel per plan area (...) [kg/m2]."""
        return STEEL_DENSITY * self.volume / pitch


def steel_layout(
    strips: Strips,
    properties: Properties,
    *,
    area: ArrayLike,
    reverse: ArrayLike | None = None,
    shear: ArrayLike,
    length: float,
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
    b_t the mean width of the tension zone, d to the bars laid from the tension edge up; the same on the other
    side where moments of both signs occur, d there to one layer of bars. Shear flow by the truss model with
    struts at 45 degrees: q_d / f_yd each way (membrane elements; EN 1992-1-1, 6.2.3 and annex F, from
    memory); the mesh, at least ``shell_ratio`` of the thickness each way, carries its part, the rest is
    counted near the supports, shear falling in a straight line to zero. Stirrups in beams and kerbs: the same
    flow, at least 0.08 sqrt(f_ck) / f_yk (9.2.2(5)), hooks of 10 bars at both ends (8.5); along them
    ``skin_ratio`` of the section or a bar in each corner (9.2.3(4), from memory). Laps by 8.7.3: main bars
    longer than ``stock``, sheets of mesh in both directions. Anchorage by 8.4.4 at both ends of the main bars
    and of the mesh, and at each edge of the surface, in a beam or as a bar in U (9.3.1.4). Bars across beyond
    the mesh are none: the limits on bending across refuse what its mesh does not carry.

    Parameters
    ----------
    strips, properties : Strips, Properties
        Open section, batch (...).
    area : array (...)
        Main steel the bending needs [m2].
    reverse : array (...), optional
        Steel on the other side, where moments of both signs occur [m2].
    shear : array (...)
        Largest design shear force [N].
    length : float
        Of the module, end to end [m].
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
    >>> from longvault.constraints.design_strengths import eurocode_strengths
    >>> from longvault.sections.properties import section_properties
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, "wing")
    >>> c, s = Concrete(30e6), Steel()
    >>> laid = steel_layout(fold, section_properties(fold), area=20e-4, shear=2e5, length=12.0,
    ...                     detailing=Detailing(), concrete=c, steel=s, strengths=eurocode_strengths(c, s))
    >>> round(float(laid.mesh) * 1e4, 3)  # 2 x 7.211 m x 3.351 cm2/m
    48.329
    """
    use = practice or SteelPractice()
    rules = _rules(use, detailing, concrete, steel)
    net, more, links, skin, width, depth, other, below, per_thickest, thinnest, run = _rows(
        strips, properties, np.asarray(shear) / strengths.shear_steel, rules, sagging, held
    )
    needed = np.broadcast_to(np.asarray(area, dtype=np.float64), strips.batch)
    if laid is None:
        laid = gathered_bars(strips, properties, area=needed, detailing=detailing, sagging=sagging)
    height = laid.bars.height
    effective = properties.top - height if sagging else height - properties.bottom
    ratio = least_tension_steel(concrete, steel)
    least = ratio * width * effective
    both = 0.0 if reverse is None else ratio
    back = both * other * _one_layer(properties, detailing, not sagging)
    sides = np.maximum(needed, least), np.maximum(0.0 if reverse is None else reverse, back)
    main, mesh, more = use.curtailed * (sides[0] + sides[1]), 2.0 * net, 2.0 * more
    given = use, detailing, concrete, strengths
    bar_laps = (sides[0] + sides[1]) * _bar_laps(length, *given)
    mesh_laps = _mesh_laps(strips, net, run, length, *given)
    spacing = np.minimum(use.spacing_thicknesses * thinnest, use.spacing)
    return SteelLayout(
        main=main,
        mesh=mesh,
        shear=more,
        stirrups=links,
        skin=skin,
        bar_laps=bar_laps,
        mesh_laps=mesh_laps,
        extra=use.allowance * (main + mesh + more + links + skin + bar_laps + mesh_laps),
        least_main=least,
        least_reverse=back,
        bars=np.add(*(np.ceil(side / detailing.bar_area - 1e-9) for side in sides)),
        mesh_needed=np.maximum(detailing.mesh_area, use.shell_ratio / per_thickest),
        spacing_ratio=detailing.mesh_spacing / spacing,
        tension_width=width,
        tension_depth=depth,
        reverse_width=other,
        reverse_depth=below,
    )


def _rules(use: SteelPractice, d: Detailing, concrete: Concrete, steel: Steel) -> tuple[float, ...]:
    """Rules of the kernel, in its order."""
    return (
        d.mesh_area,
        least_stirrups(concrete, steel),
        d.cover_top + d.cover_bottom,
        0.5 * np.pi * use.stirrup_bar**2 / use.stirrup_spacing,
        use.shell_ratio,
        use.skin_ratio,
        np.pi * use.corner_bar**2,
        HOOKS * use.stirrup_bar,
    )


def _one_layer(p: Properties, d: Detailing, sagging: bool) -> Array:
    """Depth to one layer of main bars at the tension edge (...) [m]."""
    cover = d.cover_bottom if sagging else d.cover_top
    return p.top - p.bottom - (cover + d.mesh_bar + 0.5 * d.main_bar)


def _bar_laps(
    length: float, use: SteelPractice, d: Detailing, concrete: Concrete, strengths: DesignStrengths
) -> float:
    """Laps of main bars over the span and anchorage at both ends, over the bars themselves."""
    anchor, lap = (
        find(d.main_bar, concrete=concrete, stress=strengths.steel) for find in (anchorage_length, lap_length)
    )
    laps = lap_share(length, piece=use.stock, lap=lap, whole=True)
    return float(use.curtailed * laps + 2.0 * anchor / length)


def _mesh_laps(
    strips: Strips,
    net: Array,
    run: Array,
    length: float,
    use: SteelPractice,
    d: Detailing,
    concrete: Concrete,
    strengths: DesignStrengths,
) -> Array:
    """Laps and anchorage of a mesh ``net`` (...) each way [m3/m] over a surface ``run`` (...) wide [m]."""
    anchor, lap = (
        find(d.mesh_bar, concrete=concrete, stress=strengths.steel) for find in (anchorage_length, lap_length)
    )
    edges = surface_edges(strips)
    sheets = min(use.sheet_width, use.sheet_length) > 2.0 * lap
    wide, long = (use.sheet_width, use.sheet_length) if sheets else (use.stock, use.stock)
    along = lap_share(length, piece=wide, lap=lap, whole=True)
    across = lap_share(run / max(0.5 * edges, 1.0), piece=long, lap=lap)
    # where sheets lap, the bars of both directions are there twice
    twice = 2.0 * ((1.0 + along) * (1.0 + across) - 1.0) if sheets else along + across
    return net * (twice + 2.0 * anchor / length) + edges * d.mesh_area * anchor


def _rows(
    strips: Strips,
    p: Properties,
    shear: Array,
    rules: tuple[float, ...],
    sagging: bool,
    held: bool,
) -> Array:
    """Fields of the kernel, each (...)."""
    columns = (p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz)
    props = side_by_side(columns)
    out = np.empty((len(props), steel_kernels.LAYOUT_FIELDS))
    steel_kernels.layout_rows(
        *strip_rows(strips),
        member_shares(strips).reshape(len(props), -1),
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
