"""The section drawing: to scale, with dimensions, neighbours, neutral axis, stress diagram if asked for."""

from longvault.sections.export.layout import axes, concrete, glass, labels, make_layout, neighbours, sizes
from longvault.sections.export.scene import Scene, bounds, moved
from longvault.sections.export.sheet import compose
from longvault.sections.export.stress_drawing import stress_panel
from longvault.sections.section_file import Section

LEGEND = (
    ("midline", "mid-line"),
    ("neutral axis", "neutral axis, free to move sideways"),
    ("glass", "glass"),
    ("neighbour", "next module"),
)


def draw_section(section: Section, *, bay: float | None = None, moment: float | None = None) -> Scene:
    """Draw one section to scale.

    Parameters
    ----------
    section : Section
        Its strips must be finite, of positive length and thickness.
    bay : float, optional
        Distance at which modules repeat [m]: neighbours, glass lines and clear openings are then drawn.
    moment : float, optional
        Bending moment [N m], sagging +: the stress diagram is then drawn beside the section.

    Returns
    -------
    Scene
        True to scale in millimetres of paper, with the caution at its foot.

    Raises
    ------
    ValueError
        If the section has no finite properties or ``bay`` is not above 0.

    Examples
    --------
    >>> from longvault.sections import Strips
    >>> from longvault.sections.export.scene import Text
    >>> slab = Section("slab", Strips.chain([0.0, 5.0], [0.0, 0.0], 0.1, "slab"))
    >>> [item.text for item in draw_section(slab).items if isinstance(item, Text)][:2]
    ['slab', 'Section, scale 1:20']
    """
    layout = make_layout(section, bay)
    panes, pane_labels = glass(layout)
    figure = [*neighbours(layout), *concrete(layout), *axes(layout), *panes]
    figure += labels(layout, figure, pane_labels)
    figure += sizes(layout, figure)
    if moment is not None:
        panel = stress_panel(layout, moment)
        figure += moved(panel, bounds(figure)[2] - bounds(panel)[0] + 6.0, 0.0)
    used = {item.layer for item in figure}
    legend = [line for line in LEGEND if line[0] in used]
    return compose(figure, title=section.name, scale=layout.scale, legend=legend)
