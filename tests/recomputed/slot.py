"""The slot between neighbours: clear opening, angle of the glass."""

import numpy as np

from .shape import point_gap


def opening(s, pitch, frame):
    """Clear distance of the rectangles at the right edge from those at the left edge of the next module."""
    right, left = slot_edge(s, 1.0), slot_edge(s, -1.0)
    # (a, b, corner or side): outlines as closed rings
    ax, az = s.cx.T[right][:, None], s.cz.T[right][:, None]
    bx, bz = s.cx.T[left][None] + pitch, s.cz.T[left][None]
    if separate(ax, az, bx, bz).all():
        gaps = (ring_gap(ax, az, bx, bz), ring_gap(bx, bz, ax, az))
        return max(min(gaps) - frame, 0.0)
    return 0.0


def glass_angle(s, pitch):
    """Angle from the horizontal of the shortest line across the slot; upright where there is none."""
    if opening(s, pitch, 0.0) <= 0:
        return np.pi / 2
    right, left = slot_edge(s, 1.0), slot_edge(s, -1.0)
    rings = [s.cx.T[right], s.cz.T[right]], [s.cx.T[left] + pitch, s.cz.T[left]]
    best = np.inf, 0.0
    for (px, pz), (qx, qz) in (rings, rings[::-1]):
        for ax, az in zip(px.ravel(), pz.ravel(), strict=True):
            for ring_x, ring_z in zip(qx, qz, strict=True):
                for k in range(4):
                    bx, bz, cx, cz = ring_x[k - 1], ring_z[k - 1], ring_x[k], ring_z[k]
                    ux, uz = cx - bx, cz - bz
                    u = min(max(((ax - bx) * ux + (az - bz) * uz) / (ux**2 + uz**2), 0.0), 1.0)
                    dx, dz = ax - bx - u * ux, az - bz - u * uz
                    best = min(best, (np.hypot(dx, dz), np.arctan2(abs(dz), abs(dx))))
    return best[1]


def slot_edge(s, side):
    """Strips of one slot edge: kerbs of that half, strips at the outermost node, the outermost outline."""
    outer = np.maximum(side * s.x1, side * s.x2)
    tip, size = outer.max(), np.ptp(np.concatenate([s.x1, s.x2]))
    reach = (side * s.cx).max(axis=0)
    at_tip, at_face = outer >= tip - 1e-9 * size, reach >= reach.max() - 1e-9 * size
    kerb = (s.names == "kerb") & (side * (s.x1 + s.x2) / 2 > tip - size / 2)
    return np.flatnonzero(at_tip | at_face | kerb)


def separate(ax, az, bx, bz):
    """Whether convex rings are apart: a side of one of them parts them (separating-axis rule)."""
    parted = np.zeros(np.broadcast_shapes(ax.shape[:2], bx.shape[:2]), bool)
    for px, pz, qx, qz in ((ax, az, bx, bz), (bx, bz, ax, az)):
        for k in (0, 1):
            ux, uz = px[..., k + 1] - px[..., k], pz[..., k + 1] - pz[..., k]
            p = px * ux[..., None] + pz * uz[..., None]
            q = qx * ux[..., None] + qz * uz[..., None]
            parted |= (p.max(-1) < q.min(-1)) | (q.max(-1) < p.min(-1))
    return parted


def ring_gap(px, pz, qx, qz):
    """Least distance of the corners of rings p from the sides of rings q."""
    nx, nz = np.roll(qx, -1, -1), np.roll(qz, -1, -1)
    sides = (v[..., None, :] for v in (qx, qz, nx, nz))
    return point_gap(px[..., :, None], pz[..., :, None], *sides).min()
