"""What tests of studies may ask for by name."""

import pytest


@pytest.fixture
def no_figures(monkeypatch):
    """Draw no figures, which take most of the time of a small run."""
    monkeypatch.setattr("longvault.studies.run_figures.draw_figures", lambda *args: None)
