"""Bending both ways at once: the sideways part of wind on a module that nothing holds sideways."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints import sideways_kernel
from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.along import influences
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import all_combined
from longvault.constraints.effects import Governing
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.sideways_pairs import Pairs, pairs_of
from longvault.constraints.strength import Moments, moduli
from longvault.sections.parts import roof_surface
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import tree_order


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
