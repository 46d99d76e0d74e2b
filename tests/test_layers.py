"""The arrows between the packages, sections <- constraints <- optimise <- studies, and who imports what."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ORDER = ("sections", "constraints", "optimise", "studies")
MODULES = sorted(path for package in ORDER for path in (ROOT / package).rglob("*.py"))


def imported_modules(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import; write longvault...."
            names.add(node.module or "")
    return names


def package_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0]


def test_there_are_modules_to_look_at():
    assert len(MODULES) > 30
    assert {package_of(path) for path in MODULES} == set(ORDER)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_left_only(path):
    allowed = ORDER[: ORDER.index(package_of(path)) + 1]
    for name in imported_modules(path):
        assert name.split(".")[0] not in ORDER, f"{name}: a bare import makes a second copy of every class"
        if name.startswith("longvault."):
            assert name.split(".")[1] in allowed, f"{path.name} imports {name}, against the layers"


@pytest.mark.parametrize(
    ("library", "home"), [("pymoo", "optimise/adapter.py"), ("moocore", "optimise/front.py")]
)
def test_one_file_imports(library, home):
    users = {
        str(p.relative_to(ROOT)) for p in MODULES for n in imported_modules(p) if n.split(".")[0] == library
    }
    assert users == {home}


def test_matplotlib_stays_in_studies():
    for path in MODULES:
        if any(name.split(".")[0] == "matplotlib" for name in imported_modules(path)):
            assert package_of(path) == "studies", path
