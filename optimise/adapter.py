"""The one file that imports pymoo: its operators on plain arrays, and its searches as baselines."""

from typing import Any

import numpy as np
from pymoo.algorithms.moo.gde3 import GDE3
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.problem import Problem as PymooProblem
from pymoo.operators.crossover.dex import de_differential
from pymoo.operators.crossover.sbx import cross_sbx
from pymoo.operators.mutation.pm import mut_pm
from pymoo.operators.repair.bounds_repair import repair_random_init
from pymoo.optimize import minimize

from longvault.optimise.front import costs, nondominated
from longvault.optimise.problem import DELIVERED_MARGIN, UNKNOWN, Designs, Problem
from longvault.sections.symbols import Array


def simulated_binary(
    parents: Array,
    lower: Array,
    upper: Array,
    rng: np.random.Generator,
    *,
    eta: float = 15.0,
    share: float = 0.5,
) -> Array:
    """Cross pairs of parents (2, N, d) into 2 N children by simulated binary crossover.

    Parameters
    ----------
    parents : array (2, N, d)
        The two parents of each mating.
    lower, upper : array (d,)
        Bounds; children stay inside.
    rng : numpy.random.Generator
    eta : float
        Distribution index: larger keeps children nearer their parents.
    share : float
        Chance that a variable is crossed.

    Notes
    -----
    Deb & Agrawal, Complex Systems 9 (1995) 115-148; carried out by pymoo.
    """
    count = parents.shape[1]
    column = np.ones((count, 1))
    children = cross_sbx(parents, lower, upper, eta * column, share * column, 0.5 * column, random_state=rng)
    return np.ascontiguousarray(children.reshape(2 * count, len(lower)))


def polynomial_mutation(
    x: Array, lower: Array, upper: Array, rng: np.random.Generator, *, eta: float = 20.0, share: float
) -> Array:
    """Change each variable of x (N, d) with chance ``share`` by polynomial mutation, inside the bounds.

    Notes
    -----
    Deb & Goyal, Computer Science and Informatics 26 (1996) 30-45; carried out by pymoo.
    """
    count = len(x)
    return np.asarray(
        mut_pm(
            x, lower, upper, np.full(count, eta), np.full(count, share), at_least_once=False, random_state=rng
        )
    )


def differential(
    parents: Array, lower: Array, upper: Array, rng: np.random.Generator, *, scale: Array
) -> Array:
    """Move base designs along the difference of two others, x0 + scale (x1 - x2).

    All variables move together: what it finds does not depend on how the variables are turned in space.

    Parameters
    ----------
    parents : array (3, N, d)
        Base, first and second design of each child.
    lower, upper : array (d,)
        Bounds; a variable that leaves them is drawn anew between the bound and the base.
    rng : numpy.random.Generator
    scale : array (N,)
        Factor of the difference.

    Notes
    -----
    Storn & Price, J. Global Optimization 11 (1997) 341-359; carried out by pymoo.
    """
    moved = de_differential(parents, scale, jitter=False)
    return np.asarray(repair_random_init(moved, parents[0], lower, upper, random_state=rng))


class _Wrapped(PymooProblem):  # type: ignore[misc]
    """Our problem as pymoo sees it: costs to be made small, limits at or below 0."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(
            n_var=len(problem.lower),
            n_obj=len(problem.objectives),
            n_ieq_constr=len(problem.margin_names),
            xl=np.array(problem.lower),
            xu=np.array(problem.upper),
        )

    def _evaluate(self, x: Array, out: dict[str, Any], *args: Any, **kwargs: Any) -> None:
        designs = self.problem.score(self.problem.snap(x))
        out["F"] = costs(designs.objectives, self.problem.maximise)
        if len(self.problem.margin_names):
            out["G"] = np.nan_to_num(designs.margins - DELIVERED_MARGIN, nan=UNKNOWN, posinf=UNKNOWN)


def plain_nsga2(problem: Problem, *, evaluations: int, population: int = 100, seed: int = 1) -> Designs:
    """Run pymoo's NSGA-II as it comes and return its feasible non-dominated final designs.

    The baseline of the benchmarks: default operators, first population at random, no archive.
    """
    return _final(problem, NSGA2(pop_size=population), evaluations, seed)


def plain_gde3(problem: Problem, *, evaluations: int, population: int = 100, seed: int = 1) -> Designs:
    """Run pymoo's GDE3 as it comes: a third opinion of a reference front, by differential evolution alone.

    Kukkonen & Lampinen, IEEE Congress on Evolutionary Computation 1 (2005) 443-450.
    """
    return _final(problem, GDE3(pop_size=population), evaluations, seed)


def _final(problem: Problem, algorithm: Any, evaluations: int, seed: int) -> Designs:
    result = minimize(_Wrapped(problem), algorithm, ("n_eval", evaluations), seed=seed, verbose=False)
    final = problem.score(problem.snap(result.pop.get("X")))
    final = final.take(final.feasible)
    return final.take(nondominated(final.objectives, maximise=problem.maximise))
