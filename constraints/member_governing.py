"""Which combination governs each beam-level limit of a taper, and where along the span."""

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, EQUILIBRIUM, SUSTAINED, ULTIMATE
from longvault.constraints.combinations import ALONE
from longvault.constraints.effects import Governing
from longvault.constraints.erection import erection_case
from longvault.constraints.member_along import Along
from longvault.constraints.member_sections import case_at, largest_station, taken_at
from longvault.sections.symbols import IntArray


def governing_along(along: Along, at: dict[str, IntArray], keys: tuple[str, ...]) -> dict[str, Governing]:
    """Name the combination and the place that govern the limits of strength."""
    wanted = {
        "compression": ("moment", "compression"),
        "compression-service": ("service", "compression_service"),
        "steel-fits": ("moment", "steel_area"),
        "steel-fits-reverse": ("moment", "steel_area_reverse"),
        "shear": ("shear", "shear_stress"),
        "web-steel": ("shear", "web_steel"),
    }
    found = {}
    for key in set(wanted) & set(keys):
        effect, measure = wanted[key]
        size, case = along.sized(effect, key)
        station = largest_station(size, along.where, at[measure])
        names = along.rules[CHARACTERISTIC if effect == "service" else ULTIMATE].names
        found[key] = Governing(names, case_at(case, station), along.where.mesh.y[station])
    for key, (pairs, pair) in ({} if along.turned is None else along.turned.pairs).items():
        if key in found:
            here = np.take_along_axis(pair, at[wanted[key][1]][..., None], axis=-1)[..., 0]
            found[key] = pairs.governing(found[key], here)
    return found | _movement_cases(along, keys)


def _movement_cases(along: Along, keys: tuple[str, ...]) -> dict[str, Governing]:
    """Name what governs movements, holding, the erection and the pull on a support."""
    moved = {"deflection": SUSTAINED, "sideways": CHARACTERISTIC, "glass-difference": ALONE}
    found = {key: _sag_case(along, state) for key, state in moved.items()}
    found["holding-force"] = _heaviest_case(along)
    if "erection-compression" in keys:
        found["erection-compression"] = erection_case(along.basis, along.strips.batch[:-1])
    if "tie-down" in keys:
        ends = [along.beam.envelope("reaction", along.rules[s]) for s in (ULTIMATE, EQUILIBRIUM)]
        names = along.rules[ULTIMATE].names + along.rules[EQUILIBRIUM].names
        least = np.concatenate([one.least for one in ends], axis=-1)
        shift = (0, len(along.rules[ULTIMATE].names))
        cases = np.concatenate([one.least_case + n for one, n in zip(ends, shift, strict=True)], axis=-1)
        at = least.argmin(axis=-1)
        supports = np.array(along.basis.line.supports)
        found["tie-down"] = Governing(names, case_at(cases, at), supports[at % supports.size])
    return found


def _sag_case(along: Along, state: str) -> Governing:
    """Name the combination and the place of the largest deflection, for its field."""
    beam = along.late if state == SUSTAINED else along.beam
    sag, case = beam.envelope("deflection", along.rules[state]).largest()
    at = (sag * along.where.scale).argmax(axis=-1)
    return Governing(along.rules[state].names, case_at(case, at), along.where.mesh.y[at])


def _heaviest_case(along: Along) -> Governing:
    """Name the combination and the place of the largest force that holding needs."""
    at = np.abs(along.local["holding_force"]).argmax(axis=-1)
    rules = along.rules[CHARACTERISTIC]
    down = along.variable.down
    here = down if down.ndim == 1 else np.take_along_axis(down, at[..., None, None], axis=-2)[..., 0, :]
    own = taken_at(along.lines.permanent, at)[0]
    load = rules.permanent * own[..., None] + np.einsum("ck,...k->...c", rules.variable, here)
    places = along.where.order[along.where.start]
    return Governing(rules.names, load.argmax(axis=-1), along.where.mesh.y[places[at]])
