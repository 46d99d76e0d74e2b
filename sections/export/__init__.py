"""Drawings and files of a section for other tools."""
