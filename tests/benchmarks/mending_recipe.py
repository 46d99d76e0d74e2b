"""How many random designs that fail are mended, family by family: run by hand, writes mending.txt beside it.

OMP_NUM_THREADS=1 python tests/benchmarks/mending_recipe.py [DESIGNS]
"""

import sys
import time
import warnings
from pathlib import Path

import numpy as np

from longvault.sections import Section
from longvault.sections.families.registry import FAMILIES
from longvault.studies.brief import basis_of, family_of, read_brief, variables_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import starter_text
from longvault.studies.checked import check_section
from longvault.studies.mending import mend_section


def brief_for(key):
    """Classroom, and the canopy for tapers, with a family put in the place of theirs."""
    text = starter_text("canopy" if key.startswith("tapered") else "classroom")
    own = next(line for line in text.splitlines() if line.startswith("family = "))
    return read_brief(text.replace(own, f'family = "{key}"'))


def one(key, rng):
    """Draw a random design; return limits failed, whether it is mended, the size of the change, seconds."""
    brief = brief_for(key)
    family, variables = family_of(brief), variables_of(brief)
    low, high = np.array([(v.lower, v.upper) for v in variables]).T
    x = low + (high - low) * rng.random(len(low))
    data = {"family": key, "variables": dict(zip((v.name for v in variables), x.tolist(), strict=True))}
    began = time.monotonic()
    found = mend_section(Section("random", family.strips(x), family.joints), data, brief)
    seconds = time.monotonic() - began
    if found is None:
        return False, np.nan, seconds
    design = found.design
    again = check_section(design.section("x"), basis_of(brief), proving_of(brief), member=design.member)
    return again.feasible, found.distance, seconds


def main(designs):
    """Write the table."""
    warnings.simplefilter("ignore")
    lines = [
        "Random designs mended and checked again: classroom brief, tapers: canopy.",
        "0 mended: a search of 4000 designs finds none of that family that holds every limit of the brief.",
        "",
    ]
    lines.append(f"{'family':34s} mended   size of the change (median)   seconds")
    for key in FAMILIES:
        rows = [one(key, np.random.default_rng([seed, len(key)])) for seed in range(designs)]
        mended = [row for row in rows if row[0]]
        size = np.median([row[1] for row in mended]) if mended else np.nan
        seconds = np.median([row[2] for row in rows])
        lines.append(f"{key:34s} {len(mended)} of {designs}   {size:10.2f} {seconds:25.1f}")
        print(lines[-1], flush=True)
    (Path(__file__).parent / "mending.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
