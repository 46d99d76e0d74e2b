"""What the beam analysis hands over to the checks of concrete."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.actions import LineLoads
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """What the beam analysis hands over; arrays (...).

    Parameters
    ----------
    moment, service, shear : array
        Largest ultimate and characteristic moment [N m], largest ultimate shear force [N]; sizes.
    steel : array
        Main steel by the less favourable elastic lever arm [m2].
    reverse, reverse_moment : array or float
        Main steel on the other side and the ultimate moment it carries, where both signs occur [m2], [N m].
    ultimate, characteristic : array
        Heaviest loads [N/m].
    loads : LineLoads
        Of the module, by source.
    sustained, reverse_sustained : array or float
        Largest quasi-permanent moments of the main and of the other sign [N m], in full.
    relief : array or float
        Share of the bending moment that the thrust of a beam-arch takes away; ``moment`` is in full.
    oblique, oblique_reverse : (array (...), array (...))
        Vertical and sideways moment that stand together where that asks for most steel of either side, 0 and
        0 where vertical bending alone does [N m].
    pressed : array or float
        Compression that this thrust adds once the module has cracked and crept [Pa].
    """

    moment: Array
    service: Array
    shear: Array
    steel: Array
    ultimate: Array
    characteristic: Array
    loads: LineLoads
    reverse: Array | float = 0.0
    reverse_moment: Array | float = 0.0
    sustained: Array | float = 0.0
    reverse_sustained: Array | float = 0.0
    relief: Array | float = 0.0
    pressed: Array | float = 0.0
    oblique: tuple[Array, Array] | None = None
    oblique_reverse: tuple[Array, Array] | None = None


def provided(demand: Demand, cracked: Mapping[str, Array]) -> Demand:
    """Raise the steel to what the cracked section and the width of cracks ask for, where that is more.

    Free bending turns the neutral axis of a cracked unsymmetrical section: its lever arm may be far shorter
    than the elastic ones.

    Parameters
    ----------
    demand : Demand
        With the steel of the elastic lever arms (...) [m2].
    cracked : mapping of str to array (...)
        ``cracked_steel``, ``crack_steel`` where it was looked at and, where both signs of moment occur, the
        same with ``_reverse`` [m2].
    """

    def most(own: Array | float, suffix: str) -> Array:
        asked = [cracked.get(key + suffix, np.zeros(())) for key in ("cracked_steel", "crack_steel")]
        return np.maximum(np.maximum(own, asked[0]), asked[1])

    return replace(demand, steel=most(demand.steel, ""), reverse=most(demand.reverse, "_reverse"))
