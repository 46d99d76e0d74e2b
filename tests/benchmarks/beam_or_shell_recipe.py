"""Recipe of ``beam_or_shell.json`` and of the picture: ``python tests/benchmarks/beam_or_shell_recipe.py``.

Every family of sections, one section each, as a lone module under its surface load over spans from 1.5 to 96
bays: peak stress along the span and deflection by the folded plate over those of beam theory, at mid-span.
Takes about a minute. A tapered family is left out: it is not prismatic, and the folded plate needs that.
"""

import json
from pathlib import Path

import matplotlib as mpl
import numpy as np

from longvault.constraints.plates_proof import prove
from longvault.sections import Section
from longvault.sections.families import Setting
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.studies.plots import BLUE, RUST, STYLE, new_figure, save, with_caution

DATA = Path(__file__).with_name("beam_or_shell.json")
PICTURE = Path(__file__).parents[2] / "studies" / "pictures" / "beam-or-shell.png"
BAY, HEIGHT, THICKNESS, START = 7.5, 2.6, 0.08, 1
LOAD, MODULUS, POISSON = 3e3, 30e9, 0.0
SPANS = (1.5, 3.0, 6.0, 12.0, 24.0, 48.0, 96.0)
PRISMATIC = tuple(key for key in FAMILIES if not key.startswith("tapered-"))
SHOWN = {
    "shallow-vault": {"color": BLUE, "linestyle": "-", "marker": "o"},
    "semicircle-vault": {"color": BLUE, "linestyle": "--", "marker": "s"},
    "gull-wing-keel": {"color": RUST, "linestyle": "-", "marker": "^"},
    "fold-v": {"color": "black", "linestyle": ":", "marker": "D"},
}


def section_of(key):
    """Return the section of a family that the sweep looks at."""
    family = make_family(key, Setting(pitch=BAY, height=HEIGHT, thickness=THICKNESS))
    return Section(key, family.strips(family.starts()[START]), family.joints)


def shares(key, spans=SPANS):
    """Folded plate over beam theory for each span in bays: stress, deflection."""
    proofs = [
        prove(section_of(key), span=ratio * BAY, surface_load=LOAD, modulus=MODULUS, poisson=POISSON)
        for ratio in spans
    ]
    return [float(p.share.stress) for p in proofs], [float(p.share.deflection) for p in proofs]


def figure_of(data):
    """Draw both ratios over the span, every family thin, four of them named."""
    with mpl.rc_context(STYLE):
        figure = new_figure(9.6, 4.6)
        panels = figure.subplots(1, 2)
        names = (("stress", "peak stress along the span"), ("deflection", "deflection"))
        for axes, (kind, words) in zip(panels, names, strict=True):
            for one in data["families"].values():
                axes.plot(data["spans_over_bay"], one[kind], color="#b5b5b5", linewidth=0.7, zorder=1)
            for key, look in SHOWN.items():
                values = data["families"][key][kind]
                axes.plot(data["spans_over_bay"], values, label=key, markersize=4.5, zorder=3, **look)
            axes.axhline(1.0, color="black", linewidth=0.8, zorder=2)
            axes.set(xscale="log", yscale="log", xlabel="span over bay", ylabel="folded plate / beam theory")
            axes.set_title(words)
            axes.set_xticks(data["spans_over_bay"], [f"{v:g}" for v in data["spans_over_bay"]])
            ticks = [0.8, 1.0, 1.5, 2.0, 3.0, 5.0] if kind == "stress" else [1.0, 2.0, 5.0, 10.0, 20.0, 30.0]
            axes.set_yticks(ticks, [f"{v:g}" for v in ticks])
            axes.minorticks_off()
        panels[1].legend(loc="upper right", title=f"{len(data['families'])} families, lone modules")
        return with_caution(figure)


def main():
    """Run the sweep, keep its data, draw it."""
    families = {}
    for key in PRISMATIC:
        stress, deflection = (np.round(values, 5).tolist() for values in shares(key))
        families[key] = {"stress": stress, "deflection": deflection}
    data = {
        "about": "folded plate over beam theory at mid-span, lone module, surface load; see the recipe",
        "spans_over_bay": list(SPANS),
        "left_out": {k: "not prismatic" for k in FAMILIES if k not in PRISMATIC},
        "families": families,
    }
    DATA.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    save(figure_of(data), PICTURE)


if __name__ == "__main__":
    main()
