"""The description of a study, so that it can be repeated."""
