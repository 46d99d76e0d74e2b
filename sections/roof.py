"""A roof of modules side by side: pitch, structural module and architectural bay, places in the row."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from longvault.sections.parts import shared
from longvault.sections.properties import section_properties
from longvault.sections.section_file import Joint, Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import BoolArray

Place = Literal["lone", "end", "interior"]


@dataclass(frozen=True, slots=True, eq=False)
class Bay:
    """One module in its place in a row.

    Parameters
    ----------
    section : Section
        The structural module: what acts as one beam.
    shift : float
        Distance of its axis x = 0 from that of the first bay [m].
    pitch : float
        Width of plan it covers [m].
    place : str
        ``lone``, ``end`` (no neighbour on one side) or ``interior``.
    """

    section: Section
    shift: float
    pitch: float
    place: Place

    @property
    def strips(self) -> Strips:
        """The module where it stands in the roof."""
        return self.section.strips.shifted(self.shift)


@dataclass(frozen=True, slots=True, eq=False)
class Roof:
    """Bays from left to right; neighbouring modules may differ.

    Parameters
    ----------
    bays : tuple of Bay
        From `row` or `side_by_side`.
    """

    bays: tuple[Bay, ...]

    @property
    def width(self) -> float:
        """Plan width of the roof [m]."""
        return sum(bay.pitch for bay in self.bays)

    @property
    def area(self) -> float:
        """Concrete of the whole cross-section [m2], every shared valley member once.

        Each module holds its half of a shared member; at the outermost bay lines, where there is no
        neighbour, the other half is there too (the last member is whole).
        """
        inside = sum(float(section_properties(bay.section.strips).area) for bay in self.bays)
        first, last = self.bays[0].section.strips, self.bays[-1].section.strips
        return inside + _shared_area(first, -1) + _shared_area(last, 1)

    @property
    def equivalent_thickness(self) -> float:
        """Concrete per plan area [m]."""
        return self.area / self.width


def row(section: Section, *, pitch: float, bays: int) -> Roof:
    """Repeat one module at a pitch.

    Parameters
    ----------
    section : Section
        The structural module.
    pitch : float
        Distance at which modules repeat [m].
    bays : int
        Number of modules, at least 1.

    Examples
    --------
    >>> slab = Section("slab", Strips.chain([-1.0, 1.0], [0.0, 0.0], 0.1, "slab"))
    >>> roof = row(slab, pitch=2.0, bays=3)
    >>> [bay.place for bay in roof.bays], round(roof.equivalent_thickness, 6)
    (['end', 'interior', 'end'], 0.1)
    """
    if bays < 1:
        raise ValueError(f"bays: got {bays}; must be 1 or more")
    return side_by_side([(section, pitch)] * bays)


def side_by_side(modules: list[tuple[Section, float]]) -> Roof:
    """Set different modules side by side, each with the plan width it covers.

    The axis x = 0 of a module stands in the middle of its width.

    Raises
    ------
    ValueError
        If there is no module or a width is not above 0.

    Examples
    --------
    >>> slab = Section("slab", Strips.chain([-1.0, 1.0], [0.0, 0.0], 0.1, "slab"))
    >>> [bay.shift for bay in side_by_side([(slab, 2.0), (slab, 3.0)]).bays]
    [0.0, 2.5]
    """
    if not modules:
        raise ValueError("modules: got none; a roof has at least one")
    for section, pitch in modules:
        if not pitch > 0:
            raise ValueError(f"pitch of {section.name}: got {pitch:g} m; must be above 0")
    widths = np.array([pitch for _, pitch in modules])
    middles = np.cumsum(widths) - 0.5 * widths - 0.5 * widths[0]
    places = ["lone"] if len(modules) == 1 else ["end", *["interior"] * (len(modules) - 2), "end"]
    return Roof(
        tuple(
            Bay(section, float(x), pitch, place)  # type: ignore[arg-type]
            for (section, pitch), x, place in zip(modules, middles, places, strict=True)
        )
    )


def _shared_area(strips: Strips, side: int) -> float:
    """Area of the halves of shared members on one side of a module."""
    dx = 0.5 * (strips.at_first(strips.x) + strips.at_second(strips.x))
    mine = shared(strips) & (np.sign(dx) == side)
    return float((strips.length * strips.thickness)[mine].sum())


def module_with_whole_members(section: Section) -> Section:
    """Make the halves of shared valley members whole: the section of a lone module.

    The half flush with the bay line becomes a whole member centred on it.

    Examples
    --------
    >>> half = Section("half", Strips.chain([-1.9, -1.9, 1.9, 1.9], [-0.5, 0, 0, -0.5], 0.2,
    ...                ["valley beam", "slab", "valley beam"]))
    >>> module_with_whole_members(half).strips.thickness.tolist()
    [0.4, 0.2, 0.4]
    """
    strips = section.strips
    halves = shared(strips)
    thickness = np.where(halves, 2.0 * strips.thickness, strips.thickness)
    x = strips.x.copy()
    for strip in np.flatnonzero(halves):
        tip = (
            strips.ends[strip, 1]
            if np.sum(strips.ends == strips.ends[strip, 1]) == 1
            else strips.ends[strip, 0]
        )
        foot = strips.ends[strip].sum() - tip
        outward = np.sign(strips.x[tip]) * 0.5 * strips.thickness[strip]
        x[[tip, foot]] = strips.x[[tip, foot]] + outward
    return Section(section.name, Strips(x, strips.z, strips.ends, thickness, strips.parts), section.joints)


def architectural_bay(section: Section, *, pitch: float) -> Section:
    """Cut a module at its axis x = 0 and swap the halves: the bay the visitor reads, for hatching.

    The same concrete hatched half a bay further: area, I_xx, both moduli of held bending and the height
    histogram stay as they are. The pieces hang together where the module's own edges meet its neighbours';
    for a gull-wing they are the two halves of the vault over the slot.

    Parameters
    ----------
    section : Section
        A module with a node on its axis or a strip across it (the strip is split there).
    pitch : float
        Distance at which modules repeat [m].

    Examples
    --------
    >>> slab = Section("slab", Strips.chain([-1.0, 1.0], [0.0, 0.0], 0.1, "slab"))
    >>> architectural_bay(slab, pitch=2.0).strips.x.tolist()
    [0.0, 0.0, 1.0, -1.0]
    """
    strips = _split_at_axis(section.strips)
    middle = 0.5 * (strips.at_first(strips.x) + strips.at_second(strips.x))
    right = middle > 0.0
    on_axis = (strips.x == 0.0) & _touches(strips, right) & _touches(strips, ~right)
    twin = np.full(strips.x.size, -1, dtype=np.intp)
    twin[on_axis] = strips.x.size + np.arange(int(on_axis.sum()))
    ends = strips.ends.copy()
    swap = right[:, None] & (twin[ends] >= 0)
    ends[swap] = twin[ends][swap]
    x = np.concatenate([strips.x, strips.x[on_axis]])
    z = np.concatenate([strips.z, strips.z[on_axis]])
    goes_left = np.zeros(x.size, dtype=np.bool_)
    goes_left[ends[right]] = True
    x = x + np.where(goes_left, -0.5 * pitch, 0.5 * pitch)
    return Section(f"{section.name}, architectural bay", Strips(x, z, ends, strips.thickness, strips.parts))


def _touches(strips: Strips, mask: BoolArray) -> BoolArray:
    touched = np.zeros(strips.x.size, dtype=np.bool_)
    touched[strips.ends[mask]] = True
    return touched


def _split_at_axis(strips: Strips) -> Strips:
    """Split strips that cross x = 0 between their ends."""
    x1, x2 = strips.at_first(strips.x), strips.at_second(strips.x)
    crossing = np.flatnonzero(x1 * x2 < 0.0)
    x, z, ends = list(strips.x), list(strips.z), strips.ends.tolist()
    t, parts = list(strips.thickness), list(strips.parts)
    for strip in crossing:
        i, j = ends[strip]
        share = x1[strip] / (x1[strip] - x2[strip])
        x.append(0.0)
        z.append(float(strips.z[i] + share * (strips.z[j] - strips.z[i])))
        ends[strip] = [i, len(x) - 1]
        ends.append([len(x) - 1, j])
        t.append(t[strip])
        parts.append(parts[strip])
    return Strips(np.array(x), np.array(z), np.array(ends, dtype=np.intp), np.array(t), tuple(parts))


def joints_in_place(section: Section, place: Place, *, open_side: str = "left") -> tuple[Joint, ...]:
    """Joints that act where the module stands.

    Lone: none. Interior: all. End: none on its open side. Nothing is ever held because it is outermost:
    slot edges stay free unless the section declares a strut.

    Examples
    --------
    >>> slab = Strips.chain([-1.0, 1.0], [0.0, 0.0], 0.1, "slab")
    >>> pair = Section("slab", slab, (Joint(0, "valley", "left"), Joint(1, "valley", "right")))
    >>> [joint.side for joint in joints_in_place(pair, "end")]
    ['right']
    """
    if place not in ("lone", "end", "interior"):
        raise ValueError(f"place: got {place!r}; must be lone, end or interior")
    if open_side not in ("left", "right"):
        raise ValueError(f"open_side: got {open_side!r}; must be left or right")
    if place == "lone":
        return ()
    return tuple(joint for joint in section.joints if place == "interior" or joint.side != open_side)
