"""Section files: one cross-section as JSON, in and out."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import CAUTION

FORMAT = "longvault-section"
VERSION = 1
MAX_NODES = 20_000
JOINT_KINDS = ("valley", "slot", "strut")


class SectionFileError(ValueError):
    """A section file cannot be read; the message names the file, the place and what is allowed."""


@dataclass(frozen=True, slots=True)
class Joint:
    """What holds a node of the section when the module stands in a row.

    Parameters
    ----------
    node : int
        Node number.
    kind : str
        ``valley`` (shared with the neighbour), ``slot`` (free edge at glass) or ``strut``.
    side : str
        ``left`` or ``right``: the neighbour it faces.
    spring : float
        Stiffness from the edge to mid-slot for a strut [N/m per metre of span = N/m2].
    """

    node: int
    kind: str
    side: str
    spring: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """One named cross-section with its joints, as a section file holds it."""

    name: str
    strips: Strips
    joints: tuple[Joint, ...] = ()


def section_schema() -> dict[str, Any]:
    """Return the JSON Schema of a section file, as shipped in the package."""
    text = resources.files("longvault.sections").joinpath("section.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def read_section(path: str | Path) -> Section:
    """Read and check a section file.

    Raises
    ------
    SectionFileError
        With one message that names the file, the place, what it got and what is allowed.
    """
    path = Path(path)
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise SectionFileError(f"{path}: cannot be read ({error.strerror or error})") from None
    try:
        data = json.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise SectionFileError(f"{path}: is not UTF-8 text; a section file is JSON") from None
    except (ValueError, RecursionError) as error:
        raise SectionFileError(f"{path}: is not JSON: {error}") from None
    try:
        return section_from_dict(data)
    except SectionFileError as error:
        raise SectionFileError(f"{path}: {error}") from None


def section_from_dict(data: object) -> Section:
    """Build a `Section` from the parsed JSON of a section file.

    Examples
    --------
    >>> wall = section_from_dict({"format": "longvault-section", "version": 1, "name": "wall",
    ...     "nodes_m": [[0, 0], [0, 2]], "strips": [{"nodes": [0, 1], "thickness_m": 0.1, "part": "web"}]})
    >>> wall.strips.length.tolist()
    [2.0]
    """
    if not isinstance(data, Mapping):
        raise SectionFileError(f"a section file is one JSON object; got {type(data).__name__}")
    if data.get("format") != FORMAT:
        raise SectionFileError(f'format: got {data.get("format")!r}; must be "{FORMAT}"')
    if data.get("version") != VERSION:
        raise SectionFileError(f"version: got {data.get('version')!r}; this release reads version {VERSION}")
    nodes = _nodes(data.get("nodes_m"))
    ends, thickness, parts = _strips(data.get("strips"), len(nodes))
    _check_strips(nodes, ends)
    connectivity = np.array(ends, dtype=np.intp)
    strips = Strips(nodes[:, 0], nodes[:, 1], connectivity, np.array(thickness), tuple(parts))
    name = data.get("name", "section")
    if not isinstance(name, str):
        raise SectionFileError(f"name: got {name!r}; must be text")
    return Section(name, strips, _joints(data.get("joints", []), len(nodes)))


def section_to_dict(section: Section, extra: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Write a section as the JSON object of a section file, with the caution and any ``extra`` keys."""
    strips = section.strips
    if strips.batch:
        raise ValueError(f"a section file holds one section; got a batch of shape {strips.batch}")
    document: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "name": section.name,
        "caution": CAUTION,
        "nodes_m": strips.nodes.tolist(),
        "strips": [
            {"nodes": [int(i), int(j)], "thickness_m": float(t), "part": part}
            for (i, j), t, part in zip(strips.ends, strips.thickness, strips.parts, strict=True)
        ],
    }
    if section.joints:
        document["joints"] = [_joint_to_dict(joint) for joint in section.joints]
    return document | dict(extra or {})


def _joint_to_dict(joint: Joint) -> dict[str, Any]:
    entry: dict[str, Any] = {"node": joint.node, "kind": joint.kind, "side": joint.side}
    return entry | ({"spring_kN_m2": joint.spring / 1e3} if joint.kind == "strut" else {})


def _number(value: object, place: str) -> float:
    number = math.nan
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:  # an integer of hundreds of digits
            number = math.inf
    if not math.isfinite(number):
        raise SectionFileError(f"{place}: got {repr(value)[:40]}; must be a finite number")
    return number


def _list(value: object, place: str, least: int) -> Sequence[Any]:
    if not isinstance(value, list) or len(value) < least:
        got = f"a list of {len(value)}" if isinstance(value, list) else repr(value)
        raise SectionFileError(f"{place}: got {got}; must be a list of at least {least}")
    return value


def _nodes(value: object) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    rows = _list(value, "nodes_m", 2)
    if len(rows) > MAX_NODES:
        raise SectionFileError(f"nodes_m: got {len(rows)} nodes; at most {MAX_NODES} are read")
    nodes = np.empty((len(rows), 2))
    for i, row in enumerate(rows):
        if not isinstance(row, list) or len(row) != 2:
            raise SectionFileError(f"nodes_m[{i}]: got {row!r}; must be [x, z] in metres")
        nodes[i] = [_number(v, f"nodes_m[{i}]") for v in row]
    return nodes


def _node_index(value: object, count: int, place: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < count:
        raise SectionFileError(f"{place}: got {value!r}; must be a node number 0 to {count - 1}")
    return value


def _strips(value: object, count: int) -> tuple[list[list[int]], list[float], list[str]]:
    ends, thickness, parts = [], [], []
    for i, entry in enumerate(_list(value, "strips", 1)):
        if not isinstance(entry, Mapping):
            raise SectionFileError(f"strips[{i}]: got {entry!r}; must hold nodes, thickness_m, part")
        pair = entry.get("nodes")
        if not isinstance(pair, list) or len(pair) != 2:
            raise SectionFileError(f"strips[{i}].nodes: got {pair!r}; must be [i, j]")
        ends.append([_node_index(v, count, f"strips[{i}].nodes") for v in pair])
        t = _number(entry.get("thickness_m"), f"strips[{i}].thickness_m")
        if t <= 0:
            raise SectionFileError(f"strips[{i}].thickness_m: got {t:g} m; must be above 0")
        thickness.append(t)
        part = entry.get("part", "wing")
        if not isinstance(part, str):
            raise SectionFileError(f"strips[{i}].part: got {part!r}; must be text")
        parts.append(part)
    return ends, thickness, parts


def _check_strips(nodes: np.ndarray[Any, np.dtype[np.float64]], ends: list[list[int]]) -> None:
    size = float(np.ptp(nodes, axis=0).max())
    for i, (a, b) in enumerate(ends):
        if float(np.hypot(*(nodes[b] - nodes[a]))) <= 1e-9 * size:
            raise SectionFileError(
                f"strips[{i}]: joins nodes {a} and {b} at one place; its length must be above 0"
            )


def _joints(value: object, count: int) -> tuple[Joint, ...]:
    joints = []
    for i, entry in enumerate(_list(value, "joints", 0)):
        if not isinstance(entry, Mapping):
            raise SectionFileError(f"joints[{i}]: got {entry!r}; must be an object with node, kind, side")
        kind, side = entry.get("kind"), entry.get("side")
        if kind not in JOINT_KINDS:
            raise SectionFileError(f"joints[{i}].kind: got {kind!r}; must be one of {', '.join(JOINT_KINDS)}")
        if side not in ("left", "right"):
            raise SectionFileError(f"joints[{i}].side: got {side!r}; must be left or right")
        node = _node_index(entry.get("node"), count, f"joints[{i}].node")
        spring = _number(entry.get("spring_kN_m2", 0), f"joints[{i}].spring_kN_m2")
        if spring < 0:
            raise SectionFileError(f"joints[{i}].spring_kN_m2: got {spring:g}; must be 0 or more")
        joints.append(Joint(node, kind, side, spring * 1e3))
    return tuple(joints)
