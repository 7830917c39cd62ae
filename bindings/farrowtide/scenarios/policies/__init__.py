"""Policies of the user's own, in Python."""
