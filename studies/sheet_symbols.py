"""Symbols of the sheet in words: those that its formulas use."""

import re

from longvault.studies.sheet_table import SheetTable

SYMBOLS = (
    ("G", "permanent load; snow, maintenance, wind, water: variable loads"),
    ("L, L_eq", "span; span for depth and deflection: L, or 2 L of a cantilever"),
    ("A, A_s", "area of concrete; area of main steel"),
    ("h, t, b_t, d", "overall height, thickness, mean width of the tension zone, depth to the bars"),
    ("z_c, x_c", "centroid"),
    ("I_xx, I_zz, I_xz", "second moments about the horizontal and vertical axis, product of area"),
    ("S, S_c, S_t", "section modulus; of the compressed and of the stretched side"),
    ("M_d, V_d, q_d", "moment, shear force and shear flow, ultimate; q = V Q / I, Q first moment of area"),
    ("M_k", "moment, characteristic"),
    ("M_cr, I_cr, zeta", "moment that cracks, second moment of the cracked section, share of that state"),
    ("M_R, m_R", "bending resistance of the section, and of the mesh across the vault"),
    ("N, f", "normal force; stress along the span of a unit moment"),
    ("H, g", "moment about the vertical axis; stress along the span of a unit of it"),
    ("B, omega, Gamma", "bimoment, sectorial coordinate, warping constant"),
    ("T_w, T_s, J", "warping and St Venant part of the torque, torsion constant"),
    ("q_1, S_omega", "shear flow of a unit shear force; first sectorial moment"),
    ("N_y, N_s, N_ys", "membrane forces of the folded plate along the span, across, in shear"),
    ("m_s, m_y", "bending moments of the plate across and along the span"),
    ("w, Q", "load per metre of span; first moment of area"),
    ("z", "lever arm of the inner forces; in the geometry, height"),
    ("a_s", "mesh each way, area per metre"),
    ("w_k, s_r,max, eps_sm, eps_cm", "width and spacing of cracks, mean strain of steel and of concrete"),
    ("h_c,ef, A_c,eff, rho", "depth and area of concrete that the bars hold, steel over that area"),
    ("k_2, phi, c_c", "share of tension that is even, diameter of a bar, concrete over it"),
    ("f_s", "stress of steel under service loads (ACI)"),
    ("f_yd, f_yk, f_cd, f_ctm", "strength of steel (design, yield) and concrete (design, mean tensile)"),
    ("E_cm, E_s", "modulus of concrete (mean) and of steel"),
    ("E_c, f_r", "modulus of concrete and modulus of rupture (ACI)"),
    ("f_y", "yield strength of steel (ACI)"),
    ("R, dt / ds", "radius of the curve; change of thickness along it"),
    ("P, P_0", "prestressing force in service and at transfer"),
    ("x / x_yield", "depth of the compression zone over that at which the bars just yield"),
)
"""Symbols, as they stand in formulas, and their meaning."""


def symbols_table(tables: list[SheetTable]) -> SheetTable:
    """List the symbols that stand in the tables of a sheet.

    Examples
    --------
    >>> found = symbols_table([SheetTable("Steel", ("item",), (("M_d / (z f_yd)",),))])
    >>> [row[0] for row in found.rows]
    ['M_d, V_d, q_d', 'z', 'f_yd, f_yk, f_cd, f_ctm']
    >>> symbols_table([SheetTable("Steel", ("item",), (("max(1, 2)",),))]).rows  # the max of s_r,max is none
    ()
    """
    cells = [cell for table in tables for row in table.rows for cell in row] + [
        note for table in tables for note in table.notes
    ]
    used = set(re.findall(r"[A-Za-z_]+\w*", " ".join(cells)))
    rows = tuple(row for row in SYMBOLS if used & _symbols(row[0]))
    return SheetTable("Symbols", ("symbol", "meaning"), rows, words=(0, 1))


def _symbols(text: str) -> set[str]:
    """Names in a row of `SYMBOLS`, each without what stands behind a comma in it."""
    return set(re.findall(r"[A-Za-z_]+\w*", re.sub(r",\w+", "", text)))
