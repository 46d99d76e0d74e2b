"""Free profiles: mid-line and thickness are B-splines, so a search may bend the section as it likes."""

from dataclasses import dataclass
from itertools import product

import numpy as np

from longvault.sections.curves import curve_points
from longvault.sections.families.base import Setting, Variable
from longvault.sections.section_file import Joint
from longvault.sections.splines import basis_matrix, combine, fit_controls
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

SHELL_STRIPS = 29
"""Strips along one spline; 65 stations for the symmetrical families."""
INNER = 4
"""Control points of the mid-line between its two ends."""
THICKNESS_CONTROLS = 5
SHIFT = 0.2
"""How far a control point may wander sideways from its even place, as a share of the run."""

_STATIONS = tuple(np.linspace(0.0, 1.0, SHELL_STRIPS + 1))
_MIDDLES = tuple((np.arange(SHELL_STRIPS) + 0.5) / SHELL_STRIPS)
_LINE = basis_matrix(INNER + 2, _STATIONS)
_THICK = basis_matrix(THICKNESS_CONTROLS, _MIDDLES, 2)
_EVEN = np.arange(INNER + 2) / (INNER + 1)


def _shell_variables(setting: Setting, low: float, high: float, free: int = INNER) -> tuple[Variable, ...]:
    """Return the variables of one spline stretch: along, up (the first ``free`` of them), thickness."""
    along = tuple(
        Variable(
            f"along_{i + 1}", -SHIFT, SHIFT, "", f"sideways shift of control point {i + 1}, share of the run"
        )
        for i in range(INNER)
    )
    up = tuple(
        Variable(f"up_{i + 1}", low, high, "", f"height of control point {i + 1}, share of the rise")
        for i in range(free)
    )
    thick = tuple(
        Variable(
            f"thickness_{i + 1}",
            setting.thickness,
            3.0 * setting.thickness,
            "m",
            f"shell thickness, control {i + 1}",
        )
        for i in range(THICKNESS_CONTROLS)
    )
    return along + up + thick


def _shell(x: Array, start: tuple[Array, Array], end: tuple[Array, Array]) -> tuple[Array, Array, Array]:
    """Mid-line (x, z) and thickness of a spline stretch from its variables and its two ends.

    Control points whose height is no variable stand at the height of the end.
    """
    along, up, thick = x[..., :INNER], x[..., INNER:-THICKNESS_CONTROLS], x[..., -THICKNESS_CONTROLS:]
    run, rise = (end[0] - start[0])[..., None], (end[1] - start[1])[..., None]
    zero, one = np.zeros_like(run), np.ones_like(run)
    at_end = np.ones((*run.shape[:-1], INNER - up.shape[-1] + 1))
    even = np.concatenate([zero, _EVEN[1:-1] + along, one], axis=-1)
    height = np.concatenate([zero, up, at_end], axis=-1)
    line_x = start[0][..., None] + run * combine(even, _LINE)
    line_z = start[1][..., None] + rise * combine(height, _LINE)
    return line_x, line_z, combine(thick, _THICK)


def _named_half(kind: str, run: float, rise: float, *, crown_first: bool = False) -> tuple[Array, Array]:
    """Fit the inner control points of half a named curve of run x rise, as shares: (along, up)."""
    x, z = curve_points(kind, width=2.0 * run, rise=rise, stations=401)  # type: ignore[arg-type]
    x, z = x[:201] / run + 1.0, z[:201] / rise
    if crown_first:
        x, z = 1.0 - x[::-1], 1.0 - z[::-1]
    matrix = basis_matrix(INNER + 2, tuple(np.linspace(0.0, 1.0, 201)))
    return fit_controls(matrix, x)[1:-1] - _EVEN[1:-1], fit_controls(matrix, z)[1:-1]


def _share(variable: Variable, share: float) -> float:
    return variable.lower + share * (variable.upper - variable.lower)


_NAMED = ("arc", "ellipse", "parabola", "cycloid")


def _within(rows: list[Array], variables: tuple[Variable, ...]) -> Array:
    low = np.array([v.lower for v in variables])
    high = np.array([v.upper for v in variables])
    return np.clip(np.array(rows), low, high)


@dataclass(frozen=True, slots=True)
class GullWing:
    """Keel at the bottom, two free wings rising to kerbs at the slot; mirror symmetrical about x = 0.

    The chain runs from the left kerb over the keel to the right kerb. The slot between two modules is
    ``pitch`` less twice the distance of the outer kerb face from the axis.
    """

    setting: Setting
    key: str = "gull-wing"

    @property
    def variables(self) -> tuple[Variable, ...]:
        """Overall shape first, then the spline of the wing."""
        s = self.setting
        return (
            Variable("rise", 0.3 * s.height, s.height, "m", "slot edge above the keel, mid-lines"),
            Variable("slot", 0.05 * s.pitch, 0.4 * s.pitch, "m", "distance between kerb faces of neighbours"),
            Variable("keel_width", 0.05 * s.pitch, 0.4 * s.pitch, "m", "width of the keel slab"),
            Variable("keel_thickness", s.thickness, 4.0 * s.thickness, "m", "thickness of the keel slab"),
            Variable("kerb_width", 0.12, 0.40, "m", "thickness of the kerb"),
            Variable("kerb_height", 0.15, 0.80, "m", "kerb above the slot edge"),
            *_shell_variables(s, -0.1, 1.3),
        )

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Both slot edges are free: kerb feet, left and right."""
        return (Joint(1, "slot", "left"), Joint(2 * SHELL_STRIPS + 5, "slot", "right"))

    def strips(self, x: Array) -> Strips:
        """Build the chain of 65 nodes: kerb, wing, keel (4 strips), wing, kerb."""
        x = np.asarray(x, dtype=np.float64)
        rise, slot, keel, keel_t, kerb_t, kerb_h = (x[..., i].copy() for i in range(6))
        tip = 0.5 * (self.setting.pitch - slot - kerb_t)
        line_x, line_z, thick = _shell(x[..., 6:], (0.5 * keel, np.zeros_like(keel)), (tip, rise))
        quarter = 0.25 * keel[..., None]
        right_x = np.concatenate([quarter, line_x, tip[..., None]], axis=-1)
        right_z = np.concatenate([np.zeros_like(quarter), line_z, (rise + kerb_h)[..., None]], axis=-1)
        half_t = np.concatenate([np.stack([keel_t, keel_t], -1), thick, kerb_t[..., None]], axis=-1)
        zero = np.zeros_like(quarter)
        parts = ["keel"] * 2 + ["wing"] * SHELL_STRIPS + ["kerb"]
        return Strips.chain(
            np.concatenate([-right_x[..., ::-1], zero, right_x], axis=-1),
            np.concatenate([right_z[..., ::-1], zero, right_z], axis=-1),
            np.concatenate([half_t[..., ::-1], half_t], axis=-1),
            parts[::-1] + parts,
        )

    def starts(self) -> Array:
        """Wings on the named curves, steep at the keel or at the slot; straight ones at 44 degrees."""
        v, t = self.variables, [self.setting.thickness] * THICKNESS_CONTROLS
        rows = []
        for kind, crown_first, share in product(_NAMED, (False, True), (0.35, 0.6, 0.85)):
            shape = [_share(v[0], share)] + [_share(one, 0.4) for one in v[1:6]]
            run = 0.5 * (self.setting.pitch - shape[1] - shape[4] - shape[2])
            along, up = _named_half(kind, run, shape[0], crown_first=crown_first)
            rows.append(np.concatenate([shape, along, up, t]))
        return _within([*rows, *self._straight_starts()], v)

    def _straight_starts(self) -> list[Array]:
        """Straight wings at 44 degrees, from narrow to wide slots, at the least and twice the thickness."""
        v, rows = self.variables, []
        for slot, keel, thick in product((0.1, 0.5, 0.9), (0.2, 0.6), (1.0, 2.0)):
            shape = [0.0, _share(v[1], slot), _share(v[2], keel)] + [_share(one, 0.4) for one in v[3:6]]
            run = 0.5 * (self.setting.pitch - shape[1] - shape[4] - shape[2])
            shape[0] = np.tan(np.radians(44.0)) * run
            t = [thick * self.setting.thickness] * THICKNESS_CONTROLS
            rows.append(np.concatenate([shape, np.zeros(INNER), _EVEN[1:-1], t]))
        return rows


@dataclass(frozen=True, slots=True)
class Vault:
    """A free vault between valley beams shared with the neighbours; mirror symmetrical about x = 0.

    The strips hold this bay's half of each valley beam, flush with the bay line at +- pitch / 2.
    """

    setting: Setting
    key: str = "vault"

    @property
    def variables(self) -> tuple[Variable, ...]:
        """Overall shape first, then the spline of the half vault (springing to crown)."""
        s = self.setting
        return (
            Variable("rise", 0.2 * s.height, s.height, "m", "crown above the springing, mid-lines"),
            Variable("beam_depth", 0.15, 0.6 * s.height, "m", "valley beam below the springing"),
            Variable("beam_width", 0.20, 0.60, "m", "width of the whole valley beam"),
            *_shell_variables(s, -0.05, 1.1, INNER - 1),
        )

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Both springings are shared valleys."""
        return (Joint(1, "valley", "left"), Joint(2 * SHELL_STRIPS + 1, "valley", "right"))

    def strips(self, x: Array) -> Strips:
        """Build the chain: half valley beam, vault of two mirrored splines, half valley beam.

        The last control point stands at the height of the crown, so that the crown is no fold.
        """
        x = np.asarray(x, dtype=np.float64)
        rise, depth, width = (x[..., i].copy() for i in range(3))
        edge = 0.5 * self.setting.pitch - 0.25 * width
        zero = np.zeros_like(rise)
        line_x, line_z, thick = _shell(x[..., 3:], (-edge, zero), (zero, rise))
        left_x = np.concatenate([-edge[..., None], line_x], axis=-1)
        left_z = np.concatenate([-depth[..., None], line_z], axis=-1)
        half_t = np.concatenate([0.5 * width[..., None], thick], axis=-1)
        parts = ["valley beam"] + ["crown"] * SHELL_STRIPS
        return Strips.chain(
            np.concatenate([left_x, -left_x[..., -2::-1]], axis=-1),
            np.concatenate([left_z, left_z[..., -2::-1]], axis=-1),
            np.concatenate([half_t, half_t[..., ::-1]], axis=-1),
            parts + parts[::-1],
        )

    def starts(self) -> Array:
        """Vaults on the named curves at three heights."""
        v, t = self.variables, [self.setting.thickness] * THICKNESS_CONTROLS
        rows = []
        for kind, share in product(_NAMED, (0.3, 0.6, 0.9)):
            shape = [_share(v[0], share), _share(v[1], 0.4), _share(v[2], 0.4)]
            along, up = _named_half(kind, 0.5 * self.setting.pitch - 0.25 * shape[2], shape[0])
            rows.append(np.concatenate([shape, along, up[:-1], t]))
        return _within(rows, v)


@dataclass(frozen=True, slots=True)
class OneSided:
    """A free profile without symmetry for north light: gutter with kerb and downstand, shell, top beam.

    The glass stands between the top beam and the gutter kerb of the next module. Node 0 is the top of the
    kerb; the downstand is a branch at the foot of the shell.
    """

    setting: Setting
    key: str = "one-sided"

    @property
    def variables(self) -> tuple[Variable, ...]:
        """Overall shape first, then the spline of the shell (gutter to top)."""
        s = self.setting
        return (
            Variable("rise", 0.3 * s.height, s.height, "m", "top of the shell above the gutter, mid-lines"),
            Variable("shell_width", 0.4 * s.pitch, 0.85 * s.pitch, "m", "width of the shell on plan"),
            Variable("gutter_width", 0.30, 0.2 * s.pitch, "m", "width of the gutter slab"),
            Variable("gutter_thickness", s.thickness, 3.0 * s.thickness, "m", "thickness of the gutter slab"),
            Variable("kerb_width", 0.12, 0.30, "m", "thickness of the kerb"),
            Variable("kerb_height", 0.20, 0.60, "m", "kerb above the gutter slab"),
            Variable("downstand_width", 0.15, 0.50, "m", "width of the beam under the gutter"),
            Variable("downstand_depth", 0.15, 0.9, "m", "depth of the beam under the gutter"),
            Variable("top_width", 0.12, 0.40, "m", "width of the top beam"),
            Variable("top_depth", 0.15, 0.70, "m", "depth of the top beam, below the top of the shell"),
            *_shell_variables(s, -0.1, 1.3),
        )

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Kerb foot and top of the shell are free slot edges."""
        return (Joint(1, "slot", "left"), Joint(SHELL_STRIPS + 2, "slot", "right"))

    def strips(self, x: Array) -> Strips:
        """Build the chain kerb, gutter slab, shell, top beam; and the downstand branch."""
        x = np.asarray(x, dtype=np.float64)
        rise, run, gutter, gutter_t, kerb_t, kerb_h, down_t, down, top_t, top = (
            x[..., i].copy() for i in range(10)
        )
        zero = np.zeros_like(rise)
        line_x, line_z, thick = _shell(x[..., 10:], (zero, zero), (run, rise))
        column = (..., None)
        chain_x = np.concatenate([-gutter[column], -gutter[column], line_x, run[column]], axis=-1)
        chain_z = np.concatenate([kerb_h[column], zero[column], line_z, (rise - top)[column]], axis=-1)
        chain_t = np.concatenate([kerb_t[column], gutter_t[column], thick, top_t[column]], axis=-1)
        nodes = SHELL_STRIPS + 4
        first = np.arange(nodes - 1)
        ends = np.concatenate([np.stack([first, first + 1], axis=1), [[2, nodes]]])
        return Strips(
            np.concatenate([chain_x, zero[column]], axis=-1),
            np.concatenate([chain_z, -down[column]], axis=-1),
            ends,
            np.concatenate([chain_t, down_t[column]], axis=-1),
            ("kerb", "gutter", *["wing"] * SHELL_STRIPS, "kerb", "edge beam"),
        )

    def starts(self) -> Array:
        """Shells on the named curves, steep at the gutter, at three heights."""
        v, t = self.variables, [self.setting.thickness] * THICKNESS_CONTROLS
        rows = []
        for kind, share in product(_NAMED, (0.5, 0.7, 0.9)):
            shape = [_share(v[0], share), _share(v[1], 0.7)] + [_share(one, 0.4) for one in v[2:10]]
            along, up = _named_half(kind, shape[1], shape[0])
            rows.append(np.concatenate([shape, along, up, t]))
        return _within(rows, v)
