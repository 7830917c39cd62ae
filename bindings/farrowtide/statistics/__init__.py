"""Statistics of plain numbers: nothing here knows what an output or a scenario is."""
