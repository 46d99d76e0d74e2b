"""Roofs that several tests look at: one basis of design and a seeded batch for each free family."""

import numpy as np

from longvault.constraints.actions import STANDARDS, Loads
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS
from longvault.constraints.proving import Proving
from longvault.sections.families import Setting
from longvault.sections.families.registry import make_family

KEYS = ("gull-wing", "vault", "one-sided")
_ROOFS = {"gull-wing": (24.0, 7.5, 2.65), "vault": (24.0, 9.0, 2.5), "one-sided": (12.0, 6.0, 3.4)}


def basis_for(key, *, support="simple", standard="EN 1990:2002", held=False, row=False):
    span, pitch, height = _ROOFS[key]
    return Basis(
        span=span if support == "simple" else span / 2,
        pitch=pitch,
        requirements=Requirements(height_max=height, opening_min=0.3, steep_share_max=0.5),
        support=SUPPORTS[support],
        loads=Loads(finish=600.0, snow=640.0, maintenance=400.0, glass=500.0, services=700.0),
        standard=STANDARDS[standard],
        held=held,
        crosswise=Proving() if row else None,
        joints=family_for(key).joints if row else (),
    )


def family_for(key):
    _, pitch, height = _ROOFS[key]
    return make_family(key, Setting(pitch=pitch, height=height, thickness=0.08))


def designs_for(key, count, seed=0):
    """Random variables in the family's ranges, the family's own starts among them."""
    variables = family_for(key).variables
    low, high = (np.array([getattr(v, side) for v in variables]) for side in ("lower", "upper"))
    random = low + (high - low) * np.random.default_rng(seed).random((count, len(variables)))
    return np.concatenate([family_for(key).starts(), random])[:count]
