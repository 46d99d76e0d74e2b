"""Families of sections: a few numbers in, a batch of strips out."""

from longvault.sections.families.base import Family, Setting, Variable

__all__ = ["Family", "Setting", "Variable"]
