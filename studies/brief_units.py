"""Units in key names: what a key is measured in, how to write it, and likely slips."""

UNITS = {
    "kgCO2e_m2": "kg CO₂e/m²",
    "kg_m2": "kg/m²",
    "m2_m2": "m²/m²",
    "per_m2": "money/m²",
    "kN_m2": "kN/m²",
    "kN_m3": "kN/m³",
    "kN_m": "kN/m",
    "kNm_m": "kNm/m",
    "MN_m2": "MN/m²",
    "mm_m": "mm/m",
    "cm2_m": "cm²/m",
    "kNm": "kNm",
    "MPa": "MPa",
    "deg": "°",
    "pct": "%",
    "cm2": "cm²",
    "m2": "m²",
    "m3": "m³",
    "m4": "m⁴",
    "m6": "m⁶",
    "kN": "kN",
    "mm": "mm",
    "m": "m",
}
"""Unit as spelled in names -> as shown."""

WORDS = {
    "m": "metres",
    "mm": "millimetres",
    "deg": "degrees",
    "pct": "per cent",
    "kN_m2": "kN per square metre",
    "kN_m3": "kN per cubic metre",
    "kN_m": "kN per metre",
    "MPa": "MPa (N/mm²)",
}
"""Unit as spelled in keys of a brief -> in words."""

SLIPS = {
    "m": (1e-3, 1e-2),
    "mm": (1e3, 1e1),
    "kN_m2": (1e-3, 9.81e-3),
    "kN_m3": (1e-3, 9.81e-3),
    "kN_m": (1e-3, 9.81e-3),
    "MPa": (1e-6, 1e-3),
    "deg": (57.29577951308232,),
    "pct": (100.0,),
}
"""Factors that turn a number written in another common unit into the unit of the key."""


def unit_of(key: str) -> str:
    """Return the unit in the name of a key, ``""`` if it has none.

    Examples
    --------
    >>> unit_of("snow_ground_kN_m2"), unit_of("slope_max_deg"), unit_of("snow_factor")
    ('kN_m2', 'deg', '')
    """
    return next((unit for unit in UNITS if key.endswith(f"_{unit}")), "")


def with_unit(value: float, unit: str) -> str:
    """Write a number with its unit.

    Examples
    --------
    >>> with_unit(24000.0, "m"), with_unit(45.0, "deg"), with_unit(18.0, "")
    ('24000 m', '45°', '18')
    """
    number = f"{value:.10g}"
    if not unit:
        return number
    return f"{number}°" if unit == "deg" else f"{number} {UNITS[unit]}"


def likely_slip(value: float, unit: str, low: float, high: float) -> str:
    """Say what a value out of range may have meant, or nothing.

    Examples
    --------
    >>> likely_slip(24000.0, "m", 3, 100)
    'did you mean 24 m? the key is in metres'
    """
    for factor in (*SLIPS.get(unit, ()), -1.0):
        meant = value * factor
        if low <= meant <= high and meant != 0:
            shown = with_unit(float(f"{meant:.3g}"), unit)
            return f"did you mean {shown}?" + (f" the key is in {WORDS[unit]}" if factor > 0 else "")
    return ""
