"""Results in sentences and cells of tables."""
