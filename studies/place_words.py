"""Places along the span in words: the tip of the overhang, the middle of span 2."""

from longvault.constraints.spans import Spans
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import mm

NEAR = 0.06
"""Share of a field by which a place may miss its middle and still be called that."""


def place_words(spans: Spans, y: float) -> str:
    """Name a place along the span.

    Examples
    --------
    >>> canopy = Spans.canopy(back=4.0, arm=9.0)
    >>> [place_words(canopy, y) for y in (13.0, 10.0, 2.1, 4.0)]
    ['tip of the overhang', 'overhang', 'middle of the span', 'support']
    >>> row = Spans.overhanging(8.0, left=2.0, right=3.0)
    >>> place_words(row, 0.0), place_words(Spans.continuous(8.0, 6.0), 9.0)
    ('tip of the overhang at the start', 'span 2, 1 m from its start')
    >>> place_words(Spans.cantilever(5.0), 5.0)
    'tip'
    """
    if any(abs(y - support) < 1e-9 for support in spans.supports):
        return "support"
    k = next(i for i, (_, b) in enumerate(spans.fields) if y <= b)
    (a, b), overhang = spans.fields[k], spans.overhangs[k]
    if overhang:
        name = "overhang" if len(spans.fields) > 1 else "cantilever"
        if sum(spans.overhangs) > 1:
            name += " at the start" if k == 0 else " at the end"
        if y in (0.0, spans.length):
            return "tip" if len(spans.fields) == 1 else f"tip of the {name}"
        return name
    count = len(spans.fields) - sum(spans.overhangs)
    name = f"span {k + 1 - sum(spans.overhangs[:k])}" if count > 1 else "the span"
    if abs(y - 0.5 * (a + b)) < NEAR * (b - a):
        return f"middle of {name}"
    return f"{name}, {y - a:.3g} m from its start"


def tip_rule(spans: Spans, ratio: float) -> str:
    """Say what the tips of the overhangs are allowed, each with its sum.

    Examples
    --------
    >>> tip_rule(Spans.canopy(back=4.0, arm=9.0), 250.0)
    'allowed 2 x 9 m / 250 = 72 mm'
    """
    arms = [b - a for (a, b), overhang in zip(spans.fields, spans.overhangs, strict=True) if overhang]
    return "allowed " + " and ".join(f"2 x {a:g} m / {ratio:g} = {2e3 * a / ratio:.3g} mm" for a in arms)


def place_rows(checked: Checked) -> list[tuple[str, str, str]]:
    """Say where the deflection stands that is nearest its limit, and how far the tip of an overhang moves."""
    m, line, ratio = checked.measures, checked.basis.line, checked.basis.requirements.deflection_ratio
    rows = []
    if "deflection_place" in m:
        place, span = m["deflection_place"], m["deflection_allowed"] * ratio
        words = f"{place_words(line, place)}, y = {place:.2f} m; allowed there {span:g} m / {ratio:g}"
        rows.append(("place of that: nearest its limit", words, mm(m["deflection_allowed"])))
    if "deflection_tip" in m:
        rows.append(
            ("tip of the overhang, long term, cracked", tip_rule(line, ratio), mm(m["deflection_tip"]))
        )
    return rows
