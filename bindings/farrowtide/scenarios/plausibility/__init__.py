"""Warnings about a scenario, before anything is simulated."""
