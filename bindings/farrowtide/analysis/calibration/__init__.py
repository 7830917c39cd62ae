"""Calibration: what records say of a farm, which of its levels and coefficients they fix, and how well."""
