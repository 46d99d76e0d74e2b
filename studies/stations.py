"""A taper in a design file: its sections from root to tip beside the root, written and read back."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.taper import places
from longvault.sections.member import Member
from longvault.sections.section_file import SectionFileError, section_from_dict
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


def station_places(basis: Basis, stations: int) -> tuple[tuple[float, float], ...]:
    """First and last place along the span at which each section stands, from root to tip [m].

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.beam import SUPPORTS
    >>> need = Requirements(height_max=1.5)
    >>> arm = Basis(span=8.0, pitch=4.0, requirements=need, support=SUPPORTS["cantilever"])
    >>> station_places(arm, 5)
    ((0.0, 0.0), (2.0, 2.0), (4.0, 4.0), (6.0, 6.0), (8.0, 8.0))
    """
    where = places(basis.line, stations)
    found = [where.mesh.y[where.section == k] for k in range(stations)]
    return tuple((float(y.min()), float(y.max())) for y in found)


def stations_document(member: Member, basis: Basis) -> list[dict[str, Any]]:
    """Write each section of a taper: where it stands, its nodes and thicknesses [m].

    Strips, parts and joints are those of the root, which the file holds as its section.
    """
    s = member.sections
    return [
        {
            "y_m": [first, last],
            "nodes_m": np.column_stack([s.x[k], s.z[k]]).tolist(),
            "thickness_m": s.thickness[k].tolist(),
        }
        for k, (first, last) in enumerate(station_places(basis, member.stations))
    ]


def read_member(path: str | Path) -> Member | None:
    """Read the sections of a taper from a design file; None where the file holds one section alone.

    Raises
    ------
    SectionFileError
        If the stations do not go with the section of the file, or their places are repeated or out of order.
    """
    path = Path(path)
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(data, dict) or "stations" not in data:
        return None
    root = section_from_dict(data).strips
    try:
        _look_at_places([row["y_m"] for row in data["stations"] if "y_m" in row], len(data["stations"]))
        rows = [_strips_at(root, row) for row in data["stations"]]
        x, z, t = (np.stack([getattr(row, key) for row in rows]) for key in ("x", "z", "thickness"))
        return Member(Strips(x, z, root.ends, t, root.parts))
    except (KeyError, TypeError, ValueError) as error:
        raise SectionFileError(f"stations: cannot be read as a taper ({error})") from None


def _look_at_places(places: list[Any], count: int) -> None:
    """Refuse places along the span that do not lead from the root to the tip, one beyond the other."""
    if not places:  # a file may leave them out: the brief says where its stations stand
        return
    if len(places) < count:
        raise ValueError(
            f"y_m: {count - len(places)} of {count} stations have none; give all of them or none"
        )
    first, last = np.array(places, dtype=np.float64).reshape(count, 2).T
    if not (np.isfinite(first) & np.isfinite(last) & (first <= last)).all():
        raise ValueError("y_m: each must be [first, last], two places along the span in m, first <= last")
    right, left = np.diff(last) > 0.0, np.diff(first) < 0.0
    if not (right.all() or left.all()):
        at = int(np.argmin(right if right.sum() >= left.sum() else left))
        raise ValueError(
            f"y_m: station {at + 2} stands at {places[at + 1]}, station {at + 1} at {places[at]}; they must "
            "run from the root to the tip, each beyond the one before, none repeated"
        )


def _strips_at(root: Strips, row: dict[str, Any]) -> Strips:
    nodes: Array = np.array(row["nodes_m"], dtype=np.float64)
    thickness: Array = np.array(row["thickness_m"], dtype=np.float64)
    if nodes.shape != (root.x.size, 2) or thickness.shape != root.thickness.shape:
        raise ValueError("each needs as many nodes and thicknesses as the section")
    return Strips(nodes[:, 0], nodes[:, 1], root.ends, thickness, root.parts)
