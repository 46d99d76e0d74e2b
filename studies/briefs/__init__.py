"""Starter briefs, one TOML file each."""
