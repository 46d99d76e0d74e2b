"""The module as a beam along the span: uniform load, classic supports."""

from dataclasses import dataclass
from functools import lru_cache

from longvault.constraints.spans import Spans, unit_response
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Support:
    """Coefficients of a uniformly loaded prismatic beam (any beam table, e.g. Roark; from memory).

    Parameters
    ----------
    moment : float
        Largest moment over w L^2, sagging positive.
    shear : float
        Largest shear force over w L.
    deflection : float
        Largest deflection times E I over w L^4.
    depth_span : float
        Span to use in span-to-depth rules and deflection limits, over L (twice the length of a cantilever).
    """

    key: str
    moment: float
    shear: float
    deflection: float
    depth_span: float


SUPPORTS = {
    "simple": Support("simple", 1 / 8, 1 / 2, 5 / 384, 1.0),
    "cantilever": Support("cantilever", -1 / 2, 1.0, 1 / 8, 2.0),
}

_SPANS = {
    "simple": Spans.simple,
    "cantilever": Spans.cantilever,
    "fixed": Spans.fixed,
    "propped": Spans.propped,
}


@lru_cache(maxsize=64)
def spans_of(key: str, span: float) -> Spans:
    """Where a beam of one field rests, by the name of its support.

    Raises
    ------
    ValueError
        If a support of that name needs more than one length.

    Examples
    --------
    >>> spans_of("simple", 24.0).supports
    (0.0, 24.0)
    """
    if key not in _SPANS:
        raise ValueError(f"support: got {key!r}; give `spans` for it, or use one of {', '.join(_SPANS)}")
    return _SPANS[key](span)


@lru_cache(maxsize=64)
def support_of(key: str, spans: Spans, span: float) -> Support:
    """Coefficients of any beam under a uniform load on all its fields, over powers of ``span``.

    Examples
    --------
    >>> row = support_of("continuous", Spans.continuous(10.0, 10.0), 10.0)
    >>> row.moment, row.shear, round(row.deflection, 6), row.depth_span
    (-0.125, 0.625, 0.005416, 1.0)
    """
    unit = unit_response(spans)
    moment, shear, sag = (v.sum(axis=0) for v in (unit.moment, unit.shear, unit.deflection))
    largest = max((float(moment.min()), float(moment.max())), key=abs)
    return Support(
        key,
        round(largest / span**2, 12),
        round(float(abs(shear).max()) / span, 12),
        float(abs(sag).max()) / span**4,
        spans.depth_span / span,
    )


def moment(support: Support, *, load: Array, span: float) -> Array:
    """Largest bending moment under a uniform load (...) [N m], sagging positive.

    Examples
    --------
    >>> import numpy as np
    >>> float(moment(SUPPORTS["simple"], load=np.array(1.0), span=1.0))
    0.125
    """
    return support.moment * load * span**2


def shear(support: Support, *, load: Array, span: float) -> Array:
    """Largest shear force under a uniform load (...) [N].

    Examples
    --------
    >>> import numpy as np
    >>> float(shear(SUPPORTS["cantilever"], load=np.array(2.0), span=3.0))
    6.0
    """
    return support.shear * load * span


def deflection(support: Support, *, load: Array, span: float, modulus: float, inertia: Array) -> Array:
    """Largest deflection under a uniform load, down positive (...) [m].

    Examples
    --------
    >>> import numpy as np
    >>> one = np.array(1.0)
    >>> round(float(deflection(SUPPORTS["simple"], load=one, span=1.0, modulus=1.0, inertia=one)), 7)
    0.0130208
    """
    return support.deflection * load * span**4 / (modulus * inertia)
