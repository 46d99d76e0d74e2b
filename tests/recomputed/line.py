"""One section as arrays over its strips, its properties, and how its strips hang together."""

import numpy as np

BEAMS = ("kerb", "edge beam", "valley beam")

HALVES = ("valley beam",)


class Line:
    """One section as arrays over its strips."""

    def __init__(self, x, z, ends, t, parts):
        self.i, self.j = ends[:, 0], ends[:, 1]
        self.x1, self.z1, self.x2, self.z2 = x[self.i], z[self.i], x[self.j], z[self.j]
        self.dx, self.dz = self.x2 - self.x1, self.z2 - self.z1
        self.length = np.hypot(self.dx, self.dz)
        self.t, self.area = t, self.length * t
        names = np.array(parts)
        self.names = names
        self.roof, self.half = ~np.isin(names, BEAMS), np.isin(names, HALVES)
        self.whole = np.where(self.half, 2 * t, t)
        self.chain = np.array_equal(ends, np.column_stack([np.arange(len(ends)), np.arange(len(ends)) + 1]))
        nx, nz = -self.dz / self.length * t / 2, self.dx / self.length * t / 2
        # corners of each strip in order round its rectangle (4, e)
        self.cx = np.stack([self.x1 + nx, self.x2 + nx, self.x2 - nx, self.x1 - nx])
        self.cz = np.stack([self.z1 + nz, self.z2 + nz, self.z2 - nz, self.z1 - nz])


def properties(s):
    """Area, centroid, second moments of rectangles by the parallel-axis rule, extreme corners."""
    a, xm, zm = s.area, (s.x1 + s.x2) / 2, (s.z1 + s.z2) / 2
    total = a.sum()
    x0, z0 = (a * xm).sum() / total, (a * zm).sum() / total
    along, across = a * s.length**2 / 12, a * s.t**2 / 12
    cos, sin = s.dx / s.length, s.dz / s.length
    p = {"area": total, "x": x0, "z": z0}
    p["ixx"] = (a * (zm - z0) ** 2 + along * sin**2 + across * cos**2).sum()
    p["izz"] = (a * (xm - x0) ** 2 + along * cos**2 + across * sin**2).sum()
    p["ixz"] = (a * (xm - x0) * (zm - z0) + (along - across) * sin * cos).sum()
    p["top"], p["bottom"] = s.cz.max(), s.cz.min()
    p["width"] = s.cx.max() - s.cx.min()
    return p


def fibres(p, x, z, held):
    """Stress of a unit sagging moment, compression +: unsymmetrical bending, free or held straight."""
    if held:
        return (z - p["z"]) / p["ixx"]
    determinant = p["ixx"] * p["izz"] - p["ixz"] ** 2
    return ((z - p["z"]) * p["izz"] - (x - p["x"]) * p["ixz"]) / determinant


def hanging_on(s, e, node):
    """Strips that hang on ``node`` when strip e is taken away."""
    found, reached = [], [node]
    while reached:
        here = reached.pop()
        for g in np.flatnonzero((s.i == here) | (s.j == here)):
            if g != e and g not in found:
                found.append(g)
                reached.append(s.j[g] if s.i[g] == here else s.i[g])
    return found


def corners(s):
    """Pairs of strips that meet where no third one does: into the corner and out of it."""
    if s.chain:
        first = np.arange(len(s.t) - 1)
        return first, first + 1, np.ones(len(first)), np.ones(len(first))
    rows = []
    for node in range(max(s.i.max(), s.j.max()) + 1):
        meeting = np.flatnonzero((s.i == node) | (s.j == node))
        if len(meeting) == 2:
            e, g = meeting
            rows.append((e, g, 1.0 if s.j[e] == node else -1.0, 1.0 if s.i[g] == node else -1.0))
    e, g, into, out = np.array(rows).T
    return e.astype(int), g.astype(int), into, out


def distance_along(s):
    """Distance of each node from the last one along the strips."""
    if s.chain:
        return np.concatenate([np.cumsum(s.length[::-1])[::-1], [0.0]])
    far = np.full(max(s.i.max(), s.j.max()) + 1, np.inf)
    far[s.j[-1]] = 0.0
    for _ in range(len(s.t)):
        np.minimum.at(far, s.i, far[s.j] + s.length)
        np.minimum.at(far, s.j, far[s.i] + s.length)
    return far
