"""Snow on every other bay of a row: what neighbours that share valleys or struts do to each other then."""

from dataclasses import replace

from longvault.constraints.basis import Basis
from longvault.constraints.plates import PlateLoads, folded_plates
from longvault.constraints.plates_midspan import MidSpan, mid_span
from longvault.constraints.plates_records import Links, Supports
from longvault.constraints.plates_row import valleys_in_turn
from longvault.constraints.proving import Proving
from longvault.sections import Strips


def alternate_bays(
    strips: Strips,
    snow: PlateLoads,
    even: MidSpan,
    supports: Supports,
    links: Links,
    basis: Basis,
    proving: Proving,
) -> list[MidSpan]:
    """Solve the loaded and the empty bay of a row with snow on every other one; none where nothing is shared.

    Half of the snow lies on all bays, the other half presses on one and lifts the next. Under that half all
    is opposite on both sides of a shared valley: it turns and moves across freely and stays level, and a
    strut is pulled as far on one side as it is pushed on the other (symmetry; derived). Snow is cleared from
    some bays and lies on others (EN 1991-1-3, 5.2(5), removed on purpose; from memory).

    Parameters
    ----------
    strips : Strips
        Batch (...).
    snow : PlateLoads
        Snow on every bay.
    even : MidSpan
        What it does, ``supports`` and ``links`` by `longvault.constraints.plates_row.bay_supports`.
    supports, links
        Of the bay when all bays are alike.
    basis, proving
        Materials, span; settings.
    """
    opposite = valleys_in_turn(supports)
    if opposite is None and not links.shift.any():
        return []
    (turned,) = mid_span(
        folded_plates(
            strips, (snow,), span=basis.span, modulus=basis.concrete.ecm, poisson=proving.poisson,
            supports=supports if opposite is None else opposite, links=replace(links, in_turn=True),
            harmonics=proving.harmonics,
        )
    )  # fmt: skip
    return [MidSpan.combined([even, turned], [0.5, way * 0.5]) for way in (1.0, -1.0)]


def alternate_rows(basis: Basis, state: str, others: int) -> list[tuple[float, ...]]:
    """Factors on permanent load, ``others`` variable cases and the loaded and the empty bay, by combination.

    Those of a state with snow alone beside permanent load: what stands beside it is left to the even rows.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.actions import ULTIMATE, Loads
    >>> hall = Basis(span=24.0, pitch=7.5, requirements=Requirements(2.5), loads=Loads(snow=640.0))
    >>> alternate_rows(hall, ULTIMATE, 1)
    [(1.35, 0.0, 960.0, 0.0), (1.35, 0.0, 0.0, 960.0)]
    """
    scale = basis.loads.snow if basis.plain else 1.0  # one case of 1 N/m2 stands for all where that is enough
    found: list[tuple[float, ...]] = []
    for c in basis.combinations:
        if (
            c.state == state
            and c.snow > 0.0
            and not (c.wind or c.water or c.maintenance)
            and basis.loads.snow
        ):
            none = (0.0,) * others
            found += [(c.permanent, *none, c.snow * scale, 0.0), (c.permanent, *none, 0.0, c.snow * scale)]
    return found
