"""A running room beside the model: expected bands of each sow, flags, rooms off track, and audits of closed groups."""
