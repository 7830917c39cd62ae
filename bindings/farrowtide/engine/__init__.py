"""Runs of one scenario: the tables they give, and where these come from."""
