"""The default resolution, against a fine model: the kept study, run again."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

from longvault.constraints.plates import ODD_HARMONICS

FOLDER = Path(__file__).parents[1] / "benchmarks"


def recipe():
    spec = spec_from_file_location("plates_resolution_recipe", FOLDER / "plates_resolution_recipe.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_sixty_five_nodes_and_five_harmonics_are_enough():
    stress, drop, moment = recipe().worst(64, len(ODD_HARMONICS))
    assert stress < 0.015, f"peak stress {stress:.4f}"
    assert drop < 0.007, f"deflection {drop:.4f}"
    assert moment < 0.03, f"transverse moment {moment:.4f}"


def test_the_kept_table_says_the_same():
    rows = (FOLDER / "plates_resolution.txt").read_text().splitlines()[3:]
    kept = {tuple(map(int, row.split()[:2])): tuple(map(float, row.split()[2:])) for row in rows}
    found = recipe().worst(32, 5)
    assert all(abs(100 * now - then) < 0.02 for now, then in zip(found, kept[33, 5], strict=True))
