"""Families of sections: a few numbers in, a batch of strips out."""

from longvault.sections.families.base import Family, Variable

__all__ = ["Family", "Variable"]
