"""What a search needs to know: variables, objectives with their sense, limits, and one batched function."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array, BoolArray

if TYPE_CHECKING:
    from longvault.optimise.families import Families
    from longvault.optimise.preferences import Preference

DELIVERED_MARGIN = -1e-9
"""A design is feasible when every margin is at or below this: a recomputation finds none above 0."""

UNKNOWN = 1e6
"""What a limit that was not worked out counts in a violation."""

SENSES = ("min", "max")


def frozen(values: ArrayLike) -> Array:
    """Return a read-only, C-ordered float64 array; the caller's own array is copied, never frozen."""
    array = np.array(values, dtype=np.float64, order="C")
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True)
class Objective:
    """One measure to make small or large.

    Parameters
    ----------
    name : str
        Key of the measure, for example ``area_m2``.
    sense : str
        ``min`` or ``max``. The search never asks for a flipped sign: the sense is data.
    """

    name: str
    sense: str = "min"

    def __post_init__(self) -> None:
        if self.sense not in SENSES:
            raise ValueError(
                f"sense of objective {self.name!r}: got {self.sense!r}; must be one of {', '.join(SENSES)}"
            )


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """What one evaluation of N designs returns.

    Parameters
    ----------
    objectives : array (N, M)
        Objective values in the problem's own sense. A row with a value that is not finite is infeasible.
    margins : array (N, K)
        Graded limits, order 1: at or below 0 holds. K may be 0. NaN marks a design that cannot be judged.
        inf marks a limit not worked out, a costly check left out because the design fails another or could
        not count: of two infeasible designs the one with fewer of them is nearer.
    """

    objectives: Array
    margins: Array


Evaluate = Callable[[Array], Scores]


@dataclass(frozen=True, slots=True, eq=False)
class Designs:
    """N designs with their scores: a population, an archive, a front.

    Parameters
    ----------
    x, objectives, margins : array (N, d), (N, M), (N, K)
        Variables and scores, row by row; read-only.
    """

    x: Array
    objectives: Array
    margins: Array

    def __post_init__(self) -> None:
        for name in ("x", "objectives", "margins"):
            values = getattr(self, name)
            if not isinstance(values, np.ndarray) or values.flags.writeable or values.dtype != np.float64:
                object.__setattr__(self, name, frozen(values))
        if not len(self.x) == len(self.objectives) == len(self.margins):
            raise ValueError(
                "x, objectives and margins must have one row a design; "
                f"got {len(self.x)}, {len(self.objectives)} and {len(self.margins)} rows"
            )

    def __len__(self) -> int:
        return len(self.x)

    def take(self, index: Any) -> "Designs":
        """Return the designs at ``index`` (integers, a slice or a mask), in that order."""
        return Designs(*(_own(part[index]) for part in (self.x, self.objectives, self.margins)))

    def joined(self, *others: "Designs") -> "Designs":
        """Return these designs followed by the others."""
        parts = ([getattr(s, name) for s in (self, *others)] for name in ("x", "objectives", "margins"))
        return Designs(*(_own(np.concatenate(part)) for part in parts))

    @property
    def feasible(self) -> BoolArray:
        """Whether each design holds every limit with the delivered margin and has finite objectives (N,)."""
        holds = np.all(self.margins <= DELIVERED_MARGIN, axis=1)
        return np.asarray(holds & np.isfinite(self.objectives).all(axis=1), dtype=bool)

    @property
    def violation(self) -> Array:
        """Sum of the margins above the delivered margin (N,): 0 for a feasible design, inf for a NaN row.

        A limit not worked out (inf) counts ``UNKNOWN``, more than any limit that was.
        """
        amount: Array = np.clip(self.margins - DELIVERED_MARGIN, 0.0, UNKNOWN).sum(axis=1)
        amount[np.isnan(amount) | ~np.isfinite(self.objectives).all(axis=1)] = np.inf
        return amount


def _own(array: Array) -> Array:
    """Freeze an array this module has just made, without another copy."""
    array = np.ascontiguousarray(array)
    if array.base is not None:
        array = array.copy()
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """A multi-objective problem with bounds, steps and graded limits.

    Parameters
    ----------
    lower, upper : array (d,)
        Bounds of the variables, finite.
    objectives : sequence of Objective
        Two or more.
    evaluate : callable
        Pure batched function: x (N, d), read-only -> `Scores` of N rows. Row i depends on x[i] alone
        (bit for bit), so that blocks and workers never change a result. A bad design is a NaN row.
    margin_names : sequence of str
        One name a margin; its length is K.
    step : array (d,), optional
        0 for a continuous variable, else the variable is a whole multiple of the step (10 mm, 1). Rounding
        happens before evaluation: every design kept is a rounded one.
    seeds : array (k, d), optional
        Designs to start from; clipped to the bounds and rounded.
    reference : array (M,), optional
        Reference point of the hypervolume, in the objectives' own units and sense. Without one it is
        taken from the final front (see `longvault.optimise.history`).
    key : str
        What else identifies the problem (the hash of a brief, say): a saved run is refused under another key.
    kinds : Families, optional
        Where the first variable numbers the kind of design (`longvault.optimise.families.united`).
    preference : Preference, optional
        Where to look harder; the archive keeps the whole front.

    Raises
    ------
    ValueError
        If shapes do not belong together, a bound is not finite or reversed, or a step has no multiple inside.

    Examples
    --------
    >>> square = Problem([-3.0], [3.0], [Objective("near 0"), Objective("near 2")],
    ...     lambda x: Scores(np.hstack([x**2, (x - 2) ** 2]), np.empty((len(x), 0))), step=[0.1])
    >>> square.snap([[0.17], [9.0]]).ravel().tolist()
    [0.2, 3.0]
    """

    lower: Array
    upper: Array
    objectives: tuple[Objective, ...]
    evaluate: Evaluate
    margin_names: tuple[str, ...] = ()
    step: Array | None = None
    seeds: Array | None = None
    reference: Array | None = None
    key: str = ""
    kinds: "Families | None" = None
    preference: "Preference | None" = None
    _grid: tuple[Array, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "lower", frozen(self.lower))
        object.__setattr__(self, "upper", frozen(self.upper))
        object.__setattr__(self, "objectives", tuple(self.objectives))
        object.__setattr__(self, "margin_names", tuple(self.margin_names))
        size = self.lower.shape
        step = np.zeros(size) if self.step is None else self.step
        seeds = np.empty((0, *size)) if self.seeds is None else self.seeds
        object.__setattr__(self, "step", frozen(step))
        object.__setattr__(self, "seeds", frozen(seeds))
        if self.reference is not None:
            object.__setattr__(self, "reference", frozen(self.reference))
        self._check()
        object.__setattr__(self, "_grid", _grid(self.lower, self.upper, frozen(step)))

    def _check(self) -> None:
        if self.lower.ndim != 1 or not len(self.lower) or self.upper.shape != self.lower.shape:
            raise ValueError(
                f"lower and upper must have one shape (d,); got {self.lower.shape} and {self.upper.shape}"
            )
        if len(self.objectives) < 2:
            raise ValueError(f"objectives: got {len(self.objectives)}; a trade-off needs at least 2")
        bad = np.flatnonzero(
            ~(np.isfinite(self.lower) & np.isfinite(self.upper) & (self.lower <= self.upper))
        )
        if len(bad):
            i = int(bad[0])
            raise ValueError(
                f"bounds of variable {i}: got {self.lower[i]:g} to {self.upper[i]:g}; "
                "must be finite, the lower not above the upper"
            )
        step, seeds = np.asarray(self.step), np.asarray(self.seeds)
        if step.shape != self.lower.shape or not (np.isfinite(step) & (step >= 0)).all():
            raise ValueError(
                f"step must be {len(self.lower)} finite values of 0 or more; got {step.tolist()}"
            )
        if seeds.ndim != 2 or seeds.shape[1] != len(self.lower) or not np.isfinite(seeds).all():
            raise ValueError(
                f"seeds must be finite, of shape (k, {len(self.lower)}); got shape {seeds.shape}"
            )
        if self.reference is not None and self.reference.shape != (len(self.objectives),):
            raise ValueError(
                f"reference must have one value for each of the {len(self.objectives)} objectives; "
                f"got shape {self.reference.shape}"
            )

    @property
    def screen(self) -> Evaluate | None:
        """Quick part of ``evaluate``, where that is an object with a method ``screen``."""
        return cast("Evaluate | None", getattr(self.evaluate, "screen", None))

    @property
    def pieces(self) -> Callable[[Array], Array] | None:
        """Smooth pieces of kinked limits, where ``evaluate`` is an object with a method ``pieces``.

        x (N, d) -> (N, P), graded as margins. A limit that is the worst of several values has kinks, where
        one slope misleads; each value by itself has none. Polishing keeps the pieces that hold where it
        begins; one that is broken there asks nothing, so a piece may ask more than the limits do. They
        refuse no design.
        """
        return cast("Callable[[Array], Array] | None", getattr(self.evaluate, "pieces", None))

    @property
    def maximise(self) -> BoolArray:
        """Which objectives are to be made large (M,)."""
        return np.array([objective.sense == "max" for objective in self.objectives])

    def snap(self, x: ArrayLike) -> Array:
        """Return x (N, d) clipped to the bounds and rounded to the steps."""
        low, high, factor, divisor = self._grid
        counts = np.asarray(x, dtype=np.float64) * divisor / factor
        stepped = np.clip(np.rint(counts), low, high) * factor / divisor
        snapped = np.where(np.asarray(self.step) > 0, stepped, np.clip(x, self.lower, self.upper))
        if self.kinds is not None:
            snapped = self.kinds.rounded(snapped)
        return _own(snapped + 0.0)  # + 0.0 turns -0.0 into 0.0: equal designs have equal bytes

    def steps(self, x: Array) -> Array:
        """Step of each variable of each design (N, d): 0 for a continuous one."""
        return np.broadcast_to(np.asarray(self.step), x.shape) if self.kinds is None else self.kinds.steps(x)

    def score(self, x: Array) -> Designs:
        """Evaluate snapped designs x (N, d) and check the shapes that come back."""
        return self.designs(x, self.evaluate(x))

    def designs(self, x: Array, scores: Scores) -> Designs:
        """Join x with its scores, refusing scores of a wrong shape."""
        wanted = ((len(x), len(self.objectives)), (len(x), len(self.margin_names)))
        got = (np.shape(scores.objectives), np.shape(scores.margins))
        if got != wanted:
            raise ValueError(
                f"evaluate returned objectives {got[0]} and margins {got[1]} for x {x.shape}; "
                f"must be {wanted[0]} and {wanted[1]}"
            )
        return Designs(x, scores.objectives, scores.margins)

    @property
    def empty(self) -> Designs:
        """No design at all, with the right widths."""
        return Designs(*(np.empty((0, len(p))) for p in (self.lower, self.objectives, self.margin_names)))


def _grid(lower: Array, upper: Array, step: Array) -> tuple[Array, ...]:
    """Least and greatest multiple of each step, and the step as factor / divisor.

    A step such as 0.01 is kept as 1 / 100, so that 7 steps are exactly the number written 0.07.
    """
    safe = np.where(step > 0, step, 1.0)
    inverse = np.rint(1.0 / safe)
    whole = (inverse > 0) & (np.abs(inverse * safe - 1.0) < 1e-12)
    factor, divisor = np.where(whole, 1.0, safe), np.where(whole, inverse, 1.0)
    low = np.ceil(lower / safe - 1e-9)
    high = np.floor(upper / safe + 1e-9)
    none = np.flatnonzero((step > 0) & (low > high))
    if len(none):
        i = int(none[0])
        raise ValueError(
            f"step of variable {i}: no multiple of {step[i]:g} lies between {lower[i]:g} and {upper[i]:g}; "
            "widen the bounds or take a smaller step"
        )
    return tuple(frozen(values) for values in (low, high, factor, divisor))
