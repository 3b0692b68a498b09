"""Calculators: each declared once; see `spec` for what follows from a declaration."""
