"""Formulas of the trade and of mechanics: pure functions, units in names, a source in every docstring."""
