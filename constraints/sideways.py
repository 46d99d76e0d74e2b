"""Bending both ways at once: the sideways part of wind on a module that nothing holds sideways."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from longvault.constraints import sideways_kernel
from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE, Loads
from longvault.constraints.along import Influence, influences
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import Combined, VariableCase, all_combined
from longvault.constraints.effects import Governing
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.strength import ROUND_OFF, Moments, moduli
from longvault.sections.parts import roof_surface
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray
from longvault.sections.topology import tree_order


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Moments about both axes (or shear forces both ways) that stand together, of loads with sideways wind.

    Parameters
    ----------
    names : tuple of str
        Combinations.
    case : int array (J,)
        Which of them each pair belongs to.
    y : array (S,)
        Places along the span [m].
    section : int array (S,)
        Which section stands there.
    upright, level : array (..., S, J)
        Vertical bending, sagging positive, and sideways bending by load to the right, on the same fields
        [N m]; or shear forces [N].
    """

    names: tuple[str, ...]
    case: IntArray
    y: Array
    section: IntArray
    upright: Array
    level: Array

    def governing(self, base: Governing, pair: Array) -> Governing:
        """Let the pair (...) found by a kernel govern, -1 leaving what did."""
        marked = pair >= 0.0
        if not marked.any():
            return base
        index = np.maximum(np.nan_to_num(pair), 0.0).astype(np.intp)
        place, case = self.y[index // self.case.size], self.case[index % self.case.size]
        y = np.where(marked, place, base.y)
        return Governing(base.names + self.names, np.where(marked, case + len(base.names), base.index), y)

    def taken(self, pair: Array) -> tuple[Array, Array]:
        """Both moments of the pair (...) found; 0 and 0 for -1."""
        if not (pair >= 0.0).any():
            return np.zeros(pair.shape), np.zeros(pair.shape)
        index = np.maximum(np.nan_to_num(pair), 0.0).astype(np.intp)
        lead = self.upright.shape[:-2]
        both = (
            np.take_along_axis(v.reshape(*lead, -1), index.reshape(*lead, -1), axis=-1).reshape(pair.shape)
            for v in (self.upright, self.level)
        )
        up, side = (np.where(pair >= 0.0, v, 0.0) for v in both)
        return up, side

    def rows(self) -> tuple[Array, Array]:
        """Both as kernels take them (C, S, J)."""
        shape = (-1, *self.upright.shape[-2:])
        size = np.abs(self.level)
        none = size <= ROUND_OFF * size.max(axis=(-2, -1), keepdims=True)
        up, side = (
            np.ascontiguousarray(v).reshape(shape) for v in (self.upright, np.where(none, 0.0, self.level))
        )
        return up, side

    @property
    def most(self) -> Array:
        """Largest sideways moment or shear force (...)."""
        return np.asarray(np.abs(self.level).max(axis=(-2, -1)))


def pairs_of(
    influence: Influence, rules: Combined, *, loads: Loads, permanent: Array, variable: CaseLoads
) -> Pairs:
    """Pairs that can govern a prismatic module, for the combinations that hold sideways wind.

    Permanent load lies everywhere, variable load on the fields where it adds to a moment: M = G (P + N) +
    Q P and H = W P with the sums P and N of the positive and the negative influences, or the same with N
    last. Any stress is linear in (P + N, P), so only the corners of that set of stations count. The module
    bends sideways on the same supports as it bends down.

    Parameters
    ----------
    influence : Influence
        Of moments or shear forces.
    rules : Combined
        Combinations of one state.
    loads : Loads
        Which winds push sideways.
    permanent : array (...)
        Permanent load [N/m].
    variable : CaseLoads
        Variable cases with their sideways part.

    Examples
    --------
    w = 1.35 x 10 + 1.5 x 2 = 16.5 and 1.5 x 4 = 6 N/m on 8 m: M = 132, H = 48 N m.

    >>> from longvault.constraints.combinations import VariableCase, combined, european
    >>> from longvault.constraints.spans import Spans
    >>> from longvault.constraints.actions import Wind
    >>> from longvault.constraints.along import influences
    >>> gust = CaseLoads((VariableCase("gust", "wind"),), np.array([2.0]), None, np.array([4.0]))
    >>> rules = combined(european(), gust.cases, ULTIMATE)
    >>> loads = Loads(wind=(Wind("gust", ((0.0, 0.5, 1.0),)),))
    >>> moment = influences(Spans.simple(8.0)).moment
    >>> found = pairs_of(moment, rules, loads=loads, permanent=np.array(10.0), variable=gust)
    >>> round(float(found.upright.max()), 9), round(float(found.level.max()), 9), found.names[found.case[0]]
    (132.0, 48.0, '1.35 G + 1.5 wind')
    """
    rows, at = pushing_rows(rules, variable.cases, loads), _corners(influence)
    right = np.asarray(variable.right)
    dead = rules.permanent[rows] * permanent[..., None]
    live = np.einsum("ck,...k->...c", rules.variable[rows], variable.down)
    side = np.einsum("ck,...k->...c", rules.variable[rows], right)
    ends = np.stack([influence.positive[at], influence.negative[at]], axis=-1)
    ends = ends[:, np.any(ends != 0.0, axis=0)]  # on a single field one of the two is nothing
    whole = (influence.positive[at] + influence.negative[at])[:, None, None]
    upright = dead[..., None, :, None] * whole + live[..., None, :, None] * ends[:, None, :]
    level = side[..., None, :, None] * ends[:, None, :]
    shape = (*permanent.shape, at.size, rows.size * ends.shape[1])
    case = np.repeat(rows, ends.shape[1])
    place, section = influence.y[at], np.zeros(at.size, dtype=np.intp)
    return Pairs(rules.names, case, place, section, upright.reshape(shape), level.reshape(shape))


@lru_cache(maxsize=256)
def pushing_rows(rules: Combined, cases: tuple[VariableCase, ...], loads: Loads) -> IntArray:
    """List the combinations that hold a case of wind that pushes sideways."""
    names = {wind.name for wind in loads.wind if wind.one_sided}
    columns = [k for k, case in enumerate(cases) if case.kind == "wind" and case.name in names]
    return np.flatnonzero((rules.variable[:, columns] != 0.0).any(axis=1))


@lru_cache(maxsize=256)
def _corners(influence: Influence) -> IntArray:
    """Stations on the convex hull of (P + N, P) and (P + N, N): no linear response is largest elsewhere."""
    whole = influence.positive + influence.negative
    points = [
        (float(a), float(b), s)
        for ends in (influence.positive, influence.negative)
        for s, (a, b) in enumerate(zip(whole, ends, strict=True))
        if b != 0.0
    ]
    points.sort()
    found: set[int] = set()
    for run in (points, points[::-1]):
        chain: list[tuple[float, float, int]] = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0.0:
                chain.pop()
            chain.append(p)
        found |= {s for _, _, s in chain}
    return np.array(sorted(found), dtype=np.intp)


def _turn(a: tuple[float, float, int], b: tuple[float, float, int], c: tuple[float, float, int]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True, slots=True, eq=False)
class Oblique:
    """What bending both ways asks of a section, where that is more than vertical bending asks.

    Parameters
    ----------
    measures : mapping of str to array (...)
        Those of `longvault.constraints.measures.MEASURES` that change or are new.
    moments : Moments
        With characteristic moments raised to those that would stretch the section as much.
    pairs : mapping of limit key to (Pairs, array (...))
        Which pair governs; -1 none.
    """

    measures: dict[str, Array]
    moments: Moments
    pairs: Mapping[str, tuple[Pairs, Array]]

    def cases(self, plain: Mapping[str, Governing]) -> dict[str, Governing]:
        """Name what governs, given what governs vertical bending."""
        return {
            key: pairs.governing(plain[key], at) for key, (pairs, at) in self.pairs.items() if key in plain
        }


def pushed_demands(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    basis: Basis,
    permanent: Array,
    variable: CaseLoads,
    m: Moments,
    known: Mapping[str, Array],
    thrust: tuple[Array, Array] | None = None,
) -> Oblique:
    """Find what wind from the side asks of a prismatic module that is free to bend sideways (`oblique`).

    The moments of a beam-arch are taken without its relief, its whole thrust presses: on the safe side.
    """
    lines, rules = influences(basis.line), all_combined(basis.combinations, variable.cases)
    wanted = ((lines.moment, ULTIMATE), (lines.moment, CHARACTERISTIC), (lines.shear, ULTIMATE))
    strong, service, shear = (
        pairs_of(line, rules[state], loads=basis.loads, permanent=permanent, variable=variable)
        for line, state in wanted
    )
    pressed = (0.0, 0.0) if thrust is None else (thrust[0] / p.area, thrust[1] / p.area)
    found = oblique(strips, p, sections, basis, (strong, service, shear), m, known, pressed)
    return replace(found, measures=found.measures | {"side_moment": strong.most})


def oblique(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    basis: Basis,
    pairs: tuple[Pairs, Pairs, Pairs],
    m: Moments,
    known: Mapping[str, Array],
    pressed: tuple[Array | float, Array | float] = (0.0, 0.0),
) -> Oblique:
    """Stresses, main steel and shear of a section (...) bent both ways, free to move sideways.

    sigma = -M f + H g, f = (z I_zz - x I_xz) / D, g = (x I_xx - z I_xz) / D, D = I_xx I_zz - I_xz^2, x and z
    from the centroid, H pulling the right side (Megson, Aircraft Structures, eq. 16.18 form). Steel: what
    vertical bending asks for with the smaller lever arm, and beyond it what the elastic pull T of both
    moments is above that of the vertical one: A_s = (|M| / z + T(M, H) - T(M, 0)) / f_yd, counted with the
    bars of the sign of M. Shear flows of both ways count in the same direction on every strip (safe side).

    Parameters
    ----------
    strips, p, sections
        Batch (...), measured, and as a cracked beam for the main and the other sign of moment.
    basis : Basis
        Materials and main sign.
    pairs : (Pairs, Pairs, Pairs)
        Ultimate and characteristic moments, ultimate shear forces.
    m : Moments
        Of vertical bending.
    known : mapping
        What vertical bending asks for, by `longvault.constraints.strength.demands`.
    pressed : (array (...), array (...))
        Stress of a thrust along the module to add to compression, ultimate and characteristic [Pa].
    """
    main, other = sections
    own, reverse = (m.sagging, m.hogging) if basis.sagging else (m.hogging, m.sagging)
    arms = [np.minimum(one.arm_block, one.arm_bars) for one in (main, other or main)]
    steel = (own / arms[0], reverse / arms[1]), (1.0 / arms[0], 1.0 / arms[1])
    stretched = [moduli(p, sagging=sagging, held=False)[1] for sagging in (True, False)]
    pull = (m.sagging_service / stretched[0], m.hogging_service / stretched[1])
    strong, service, shear = pairs
    full = np.full(strips.batch, np.inf)
    at_once = _bent(strips, p, steel, basis, strong, (known["compression"] - pressed[0], full, full))
    base = known["compression_service"] - pressed[1]
    lasting = _bent(strips, p, ((full, full), steel[1]), basis, service, (base, *pull))
    sheared = _sheared(strips, p, main, basis, shear, known)
    result = {
        "compression": _raised(known["compression"], at_once, 0, plus=pressed[0]),
        "compression_service": _raised(known["compression_service"], lasting, 0, plus=pressed[1]),
        "tension_service": np.maximum(known["tension_service"], np.maximum(lasting[2], lasting[4])),
        "steel_area": np.maximum(
            known["steel_area"], _raised(known["steel_area"], at_once, 6, times=1.0 / basis.strengths.steel)
        ),
        "shear_stress": _raised(known["shear_stress"], sheared, 0),
        "web_steel": _raised(known["web_steel"], sheared, 2, times=1.0 / basis.strengths.shear_steel),
        "main_moment": own,
    }
    result["oblique_moment"], result["oblique_side"] = strong.taken(at_once[7])
    governs = {
        "compression": (strong, at_once[1]),
        "compression-service": (service, lasting[1]),
        "steel-fits": (strong, at_once[7]),
        "shear": (shear, sheared[1]),
        "web-steel": (shear, sheared[3]),
    }
    if other is not None:
        per = 1.0 / basis.strengths.steel
        area = known["steel_area_reverse"]
        result["steel_area_reverse"] = np.maximum(area, _raised(area, at_once, 8, times=per))
        result["oblique_moment_reverse"], result["oblique_side_reverse"] = strong.taken(at_once[9])
        governs["steel-fits-reverse"] = (strong, at_once[9])
    raised = Moments(
        m.sagging,
        m.hogging,
        _raised(m.sagging_service, lasting, 2, times=stretched[0]),
        _raised(m.hogging_service, lasting, 4, times=stretched[1]),
    )
    return Oblique(result, raised, governs)


def _raised(
    known: Array, found: Array, field: int, *, times: Array | float = 1.0, plus: Array | float = 0.0
) -> Array:
    """Take field and pair of a kernel where a pair governs, to the bit what is known elsewhere."""
    return np.where(found[field + 1] >= 0.0, found[field] * times + plus, known)


def _bent(
    strips: Strips,
    p: Properties,
    steel: tuple[tuple[Array, Array], tuple[Array, Array]],
    basis: Basis,
    pairs: Pairs,
    known: tuple[Array, Array, Array],
) -> Array:
    """Fields of `oblique_rows` (fields, ...): stresses and pulls with the pair each comes from.

    ``steel``: pull of the main and of the other steel, as far as known, and per unit of moment; ``known``:
    compression, tension under sagging and under hogging.
    """
    none = -np.ones(strips.batch)
    out = side_by_side([v for one in (*known, *steel[0]) for v in (one, none)])
    sideways_kernel.oblique_rows(
        *strip_rows(strips), _outline(p), side_by_side((1.0 / p.s_free_compression, 1.0 / p.s_free_tension)),
        side_by_side(steel[1]),
        1.0 if basis.sagging else -1.0, pairs.section, *pairs.rows(), out,
    )  # fmt: skip
    return by_field(out, strips.batch)


def _outline(p: Properties) -> Array:
    return side_by_side(
        (p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz, p.area, p.top, p.bottom, p.left, p.right)
    )


def _sheared(
    strips: Strips,
    p: Properties,
    main: BeamSection,
    basis: Basis,
    pairs: Pairs,
    known: Mapping[str, Array],
) -> Array:
    """Fields of `shear_rows` (fields, ...): shear stress and flow with the pair each comes from."""
    none, strength = -np.ones(strips.batch), basis.strengths.shear_steel
    out = side_by_side((known["shear_stress"], none, known["web_steel"] * strength, none))
    sideways_kernel.shear_rows(
        *strip_rows(strips), roof_surface(strips), tree_order(strips).steps, _outline(p),
        side_by_side((main.shear_stress, main.flow)), pairs.section, *pairs.rows(), out,
    )  # fmt: skip
    return by_field(out, strips.batch)
