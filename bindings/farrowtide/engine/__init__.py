"""Runs of a single scenario: their tables and the provenance of these."""
