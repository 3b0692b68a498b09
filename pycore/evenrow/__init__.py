"""Evenrow: drip irrigation systems that water the last plant as well as the first."""

__version__ = "0.1.0"
