"""Pictures for reports, for notebooks, which display them, and for files."""
