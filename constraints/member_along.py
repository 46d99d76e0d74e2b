"""Sections of a taper and the effects at them: what every check of it starts from."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, EQUILIBRIUM, SUSTAINED, ULTIMATE
from longvault.constraints.along import tips
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import ALONE, Combined, all_combined
from longvault.constraints.drainage import ponds
from longvault.constraints.effects import signs_of
from longvault.constraints.erection import erection_measures
from longvault.constraints.evaluate import (
    geometry_measures,
    glass_slope,
    headroom,
    lasting_moments,
    module_loads,
)
from longvault.constraints.load_cases import CaseLoads, case_loads
from longvault.constraints.making import making
from longvault.constraints.member_sections import AtSections, by_section, taken_at
from longvault.constraints.member_sideways import Sidelong
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.service import late_by_sign
from longvault.constraints.shift_rule import steel_along
from longvault.constraints.sideways import Oblique, oblique
from longvault.constraints.strength import Moments, beam_sections, demands
from longvault.constraints.sway import holding
from longvault.constraints.taper import Envelope, Places, TaperedBeam, places
from longvault.sections.member import Member
from longvault.sections.opening import clear_opening
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

SMALL = 0.05
"""Stations with less than this share of the largest moment do not count for the section modulus."""


@dataclass(frozen=True, slots=True, eq=False)
class Along(AtSections):
    """Everything known of the sections (..., K), and of the beam between them, short and long term."""

    variable: CaseLoads
    beam: TaperedBeam
    late: TaperedBeam
    sidelong: Sidelong | None = None
    turned: Oblique | None = None

    @classmethod
    def measure(cls, member: Member, basis: Basis) -> "Along":
        """Measure the sections, solve the beam and compare both at each section."""
        strips, need, signs = member.sections, basis.requirements, signs_of(basis)
        p = section_properties(strips)
        made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
        opening = np.maximum(clear_opening(strips, basis.pitch, basis.frame), 0.0)
        loads = module_loads(p, made, opening, basis, strips)
        variable = case_loads(basis.loads, strips, pitch=basis.pitch)
        sections = beam_sections(strips, p, basis, signs)
        where = places(basis.line, member.stations)
        flexibility = 1.0 / (basis.concrete.ecm * sections[0].inertia)
        beam = TaperedBeam.solve(
            basis.line, where, permanent=loads.permanent, variable=variable.down, flexibility=flexibility
        )
        rules = all_combined(basis.combinations, variable.cases)
        kinds = {"moment": ULTIMATE, "service": CHARACTERISTIC, "shear": ULTIMATE, "push": ULTIMATE}
        kinds["sustained"] = SUSTAINED
        names = {"service": "moment", "push": "reaction", "sustained": "moment"}
        envelopes = {key: beam.envelope(names.get(key, key), rules[state]) for key, state in kinds.items()}
        local = geometry_measures(p, made, opening, basis)
        local |= _loads(loads.permanent, variable, rules)
        demanded, moments = _demands(envelopes, p, sections, basis, where)
        lasting = envelopes["sustained"]
        sagging, hogging = (
            np.maximum(by_section(size, where), 0.0) for size in (lasting.most, -lasting.least)
        )
        local |= demanded | lasting_moments(sagging, hogging, basis, signs)
        sidelong, turned = None, None
        if basis.loads.pushes:
            local["wind_push"] = np.abs(np.asarray(variable.right)).max(axis=-1)
            sidelong = Sidelong.solve(p, basis, where, beam, rules, variable)
        if sidelong is not None and basis.pushed:
            turned = oblique(strips, p, sections, basis, sidelong.pairs(), moments, local)
            moved = {key: local[key] for key in ("steel_area", "steel_area_reverse") if key in local}
            local |= turned.measures
            local |= {key: np.maximum(steel, local[key]) for key, steel in moved.items()}
            moments = turned.moments
        more = _late(strips, p, sections, moments, local, basis)
        lasts = variable.down if rules[SUSTAINED].variable.any() else np.zeros(len(variable.cases))
        late = TaperedBeam.solve(
            basis.line, where, permanent=loads.permanent, variable=lasts, flexibility=more * flexibility
        )
        if basis.loads.gutter_fall > 0:
            local["fall_headroom"] = np.full_like(p.height, headroom(basis))
        if need.glass_slope_min is not None:
            local["glass_slope"] = glass_slope(strips, basis)
        if need.pond_depth_max is not None:
            local["pond_depth"] = ponds(strips).depth
        local["holding_force"] = local["characteristic_load"] * p.ixz / p.ixx
        if basis.held and basis.loads.pushes:
            local["holding_force"] = holding(p, basis, permanent=loads.permanent, variable=variable)[0]
        local["reaction"] = envelopes["push"].most.max(axis=-1)
        return cls(
            basis, where, strips, loads, p, sections, local, rules, envelopes, variable, beam, late,
            sidelong, turned,
        )  # fmt: skip

    def movements(self) -> dict[str, Array]:
        """Deflections, sideways movement, pull on the supports: one number a module."""
        basis, need, scale = self.basis, self.basis.requirements, self.where.scale
        sway = self.sections[0].sway
        worst_sway = taken_at(sway, np.abs(sway).argmax(axis=-1))[0]
        sag = {}
        for state in (CHARACTERISTIC, SUSTAINED, ALONE):
            size, _ = self.beam.envelope("deflection", self.rules[state]).largest()
            sag[state] = taken_at(size, (size * scale).argmax(axis=-1))[0]
        late, _ = self.late.envelope("deflection", self.rules[SUSTAINED]).largest()
        moved, at = taken_at(late, (late * scale).argmax(axis=-1))
        short, alone = sag[CHARACTERISTIC], sag[ALONE]
        result = {
            "deflection_short": short,
            "deflection_sustained": sag[SUSTAINED],
            "deflection": moved - need.camber,
            "sideways": short * worst_sway,
            "sideways_size": np.abs(short * worst_sway),
            "glass_difference": alone * np.sqrt(1.0 + worst_sway**2),
            "deflection_allowed": basis.depth_span / need.deflection_ratio / scale[at],
            "tie_down": self._pull(),
        } | self._overhang(at)
        result |= self._pushed(result, worst_sway)
        if need.camber:
            result["upward"] = need.camber - sag[SUSTAINED]
        if basis.loads.erection is not None:
            root = Properties(*(getattr(self.properties, name)[..., 0] for name in Properties.__slots__))
            result |= erection_measures(root, basis)
        return result

    def _pushed(self, result: dict[str, Array], sway: Array) -> dict[str, Array]:
        """Movements with the sideways part of wind on top (safe side), its moment and its push."""
        if self.sidelong is None:
            return {}
        found = {"wind_reaction": self.sidelong.reaction()}
        if self.turned is None:
            return found
        push, p = self.sidelong.movement(), self.properties
        lean = np.abs(p.ixz / p.ixx).max(axis=-1)  # of the push, over its movement to the right
        aside = np.abs(result["sideways"]) + push
        alone = result["glass_difference"] / np.sqrt(1.0 + sway**2)
        pairs, _ = self.turned.pairs["compression"]
        return found | {
            "side_moment": pairs.most,
            "deflection_short": result["deflection_short"] + lean * push,
            "sideways": np.where(result["sideways"] < 0.0, -aside, aside),
            "sideways_size": aside,
            "glass_difference": np.hypot(alone + lean * push, alone * np.abs(sway) + push),
        }

    def _overhang(self, at: IntArray) -> dict[str, Array]:
        """Place of the deflection nearest its limit (station ``at``), and how far the tip of an arm moves."""
        need, y, line = self.basis.requirements, self.where.mesh.y, self.basis.line
        result: dict[str, Array] = {}
        if len(line.fields) > 1:
            result["deflection_place"] = y[at] + 0.0 * self.local["ultimate_shear"]  # NaN rows stay NaN
        free = tips(line, y)
        if free.size:
            size = self.late.envelope("deflection", self.rules[SUSTAINED]).largest()[0]
            result["deflection_tip"] = np.take(size, free, axis=-1).max(axis=-1) - need.camber
        return result

    def _pull(self) -> Array:
        least = [self.beam.envelope("reaction", self.rules[s]).least for s in (ULTIMATE, EQUILIBRIUM)]
        if self.basis.plain:
            return np.zeros(least[0].shape[:-1])
        return np.asarray(np.maximum(-np.minimum(*least).min(axis=-1), 0.0))


def _demands(
    envelopes: dict[str, Envelope],
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    basis: Basis,
    where: Places,
) -> tuple[dict[str, Array], Moments]:
    """Stresses and steel at each section with the largest moments and shear, and the moments there."""
    ultimate, service = envelopes["moment"], envelopes["service"]
    sizes = (ultimate.most, -ultimate.least, service.most, -service.least)
    m = Moments.told(*(np.maximum(by_section(v, where), 0.0) for v in sizes), axis=(-1,))
    shear = by_section(envelopes["shear"].largest()[0], where)
    result = demands(m, shear, p, sections, basis, signs_of(basis))
    steel = steel_along(ultimate, sections, basis, where)
    result |= {key: by_section(values, where) for key, values in steel.items()}
    own = np.maximum(m.sagging, m.hogging)
    largest = own.max(axis=-1, keepdims=True)
    modulus = np.minimum(p.s_top, p.s_bottom) if basis.held else p.s_free
    counted = np.where(own >= SMALL * largest, modulus * largest / np.maximum(own, 1e-12), np.inf)
    least = counted.argmin(axis=-1)
    found = {
        "section_modulus": np.where(np.isnan(largest[..., 0]), np.nan, taken_at(counted, least)[0]),
        "ultimate_moment": largest[..., 0],
        "characteristic_moment": np.maximum(m.sagging_service, m.hogging_service).max(axis=-1),
        "ultimate_shear": shear.max(axis=-1),
    }
    return result | found, m


def _late(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    m: Moments,
    local: dict[str, Array],
    basis: Basis,
) -> Array:
    """Long-term over elastic curvature of each section (..., K): that of the sign with the larger moment."""
    if basis.requirements.long_term == "factor":
        return np.full_like(p.ixx, basis.requirements.long_term_factor)
    late, turned = late_by_sign(strips, p, sections, m, local, basis)
    if turned is None:
        return late
    return np.where((m.sagging_service > m.hogging_service) == basis.sagging, late, turned)


def _loads(permanent: Array, variable: CaseLoads, rules: dict[str, Combined]) -> dict[str, Array]:
    """Permanent and heaviest factored loads at each section (..., K)."""
    result = {"permanent_load": permanent}
    for key, state in (("ultimate_load", ULTIMATE), ("characteristic_load", CHARACTERISTIC)):
        rows = [
            on * permanent + (factors * variable.down).sum(axis=-1)
            for on, factors in zip(rules[state].permanent, rules[state].variable, strict=True)
        ]
        result[key] = np.maximum.reduce(rows)
    return result
