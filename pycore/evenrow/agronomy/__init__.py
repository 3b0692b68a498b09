"""Agronomy of drip irrigation: crop water, soil water, wetting, timing; water quality, cups.

Each module is imported by its name. Depths of water and soil are metres, rates metres per
day, volumes cubic metres, flows m3/s, shares and relative humidities fractions of 1;
weather is in the units of FAO-56 (degrees Celsius, kPa, MJ/m2/day, m/s).
"""
