"""Every example in a docstring runs and gives the number it shows."""

import doctest
import pkgutil
from importlib import import_module

import pytest

PACKAGES = ("longvault.sections", "longvault.constraints", "longvault.optimise", "longvault.studies")
MODULES = sorted(
    info.name
    for package in PACKAGES
    for info in pkgutil.walk_packages(import_module(package).__path__, package + ".")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name):
    result = doctest.testmod(import_module(name))
    assert result.failed == 0


def test_examples_exist():
    attempted = sum(doctest.testmod(import_module(name)).attempted for name in MODULES[:25])
    assert attempted > 20
