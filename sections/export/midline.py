"""The mid-line as polylines: strips joined where they can be."""

from longvault.sections.strips import Strips


def midline_runs(strips: Strips) -> list[list[tuple[float, float]]]:
    """Mid-line as point lists [m], broken only at free ends and where three or more strips meet.

    Examples
    --------
    >>> midline_runs(Strips([0, 1, 2], [0, 0, 1], [[1, 2], [0, 1]], [0.1, 0.1], ("web", "web")))
    [[(0.0, 0.0), (1.0, 0.0), (2.0, 1.0)]]
    """
    meeting: dict[int, list[int]] = {}
    for e, pair in enumerate(strips.ends):
        for node in pair:
            meeting.setdefault(int(node), []).append(e)
    unused = set(range(len(strips.ends)))
    runs = []
    for start in sorted(meeting, key=lambda node: (len(meeting[node]) == 2, node)):
        while free := [e for e in meeting[start] if e in unused]:
            runs.append(_walk(strips, meeting, unused, start, free[0]))
    return [[(float(strips.x[n]), float(strips.z[n])) for n in run] for run in runs]


def _walk(
    strips: Strips, meeting: dict[int, list[int]], unused: set[int], node: int, strip: int
) -> list[int]:
    run = [node]
    while True:
        unused.remove(strip)
        i, j = (int(n) for n in strips.ends[strip])
        node = j if i == node else i
        run.append(node)
        onward = [e for e in meeting[node] if e in unused]
        if len(meeting[node]) != 2 or not onward:
            return run
        strip = onward[0]
