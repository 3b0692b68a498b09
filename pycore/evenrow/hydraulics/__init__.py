"""Hydraulics of drip irrigation: emitters, laterals, run length, sources and networks.

All values are SI floats and NumPy arrays: head in metres of water, flow in m3/s.
"""
