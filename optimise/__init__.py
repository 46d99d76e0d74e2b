"""The search: variables, archive, fronts and outcomes."""
