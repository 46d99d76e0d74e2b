"""A section from outside as a family of its variations: taller, thicker part by part, with edge members."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.remedies import EDGE_WIDTH, outer_edges
from longvault.sections.families.base import Variable
from longvault.sections.section_file import Joint, Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

EDGE = "edge_depth"


@dataclass(frozen=True, slots=True, eq=False)
class GivenSection:
    """Variations of one section: its height, the thickness of each of its parts, and, with ``edged``, edges.

    Parameters
    ----------
    section : Section
        A single section.
    edged : bool
        Adds an upright member at both outer free edges, away from the middle of the height.

    Examples
    --------
    >>> fold = Section("fold", Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"]))
    >>> given = GivenSection(fold)
    >>> [v.name for v in given.variables], given.unchanged.tolist()
    (['height_factor', 'crown_added_thickness', 'wing_added_thickness'], [1.0, 0.0, 0.0])
    """

    section: Section
    edged: bool = False
    key: str = "given section"

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the parts of the section, each once."""
        return tuple(sorted(set(self.section.strips.parts)))

    @property
    def variables(self) -> tuple[Variable, ...]:
        """Height first, then added thickness of each part, then the depth of the edge members."""
        strips = self.section.strips
        rows = [Variable("height_factor", 0.5, 2.0, "", "height over that of the section given")]
        for part in self.parts:
            least = min(
                t for t, name in zip(strips.thickness.tolist(), strips.parts, strict=True) if name == part
            )
            name = f"{part.replace(' ', '_')}_added_thickness"
            rows.append(Variable(name, -0.5 * least, 0.2, "m", f"added thickness of {part}"))
        if self.edged:
            rows.append(Variable(EDGE, 0.02, 1.0, "m", "depth of an upright member at both outer edges"))
        return tuple(rows)

    @property
    def unchanged(self) -> Array:
        """Variables of the section as given (with the least of an edge member)."""
        return np.array([1.0, *np.zeros(len(self.parts)), *([0.02] if self.edged else [])])

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Those of the section."""
        return self.section.joints

    def strips(self, x: Array) -> Strips:
        """Section for variables x (..., d)."""
        x, s = np.asarray(x, dtype=np.float64), self.section.strips
        low = s.z.min()
        z = low + x[..., :1] * (s.z - low)
        places = np.array([1 + self.parts.index(part) for part in s.parts])
        thickness, across = s.thickness + x[..., places], np.broadcast_to(s.x, z.shape)
        if not self.edged:
            return Strips(across, z, s.ends, thickness, s.parts)
        edges = outer_edges(s)
        away = np.where(s.z[edges] < 0.5 * (s.z.min() + s.z.max()), -1.0, 1.0)
        tips = z[..., edges] + away * x[..., -1:]
        valley = {joint.node for joint in self.joints if joint.kind == "valley"}
        wide = np.array([EDGE_WIDTH * (0.5 if edge in valley else 1.0) for edge in edges])
        return Strips(
            np.concatenate([across, across[..., edges]], axis=-1),
            np.concatenate([z, tips], axis=-1),
            np.concatenate([s.ends, [[edge, len(s.x) + i] for i, edge in enumerate(edges)]]),
            np.concatenate([thickness, np.broadcast_to(wide, tips.shape)], axis=-1),
            (*s.parts, "edge beam", "edge beam"),
        )

    def starts(self) -> Array:
        """Return the section itself, taller and thicker in steps."""
        rows = []
        for taller in (1.0, 1.25, 1.5, 1.8):
            for thicker in (0.0, 0.03, 0.06, 0.12):
                rows.append([taller, *np.full(len(self.parts), thicker), *([0.4] if self.edged else [])])
        return np.array(rows)
