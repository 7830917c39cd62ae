"""Pictures, for reports, for notebooks (they show themselves) and for `save`."""
