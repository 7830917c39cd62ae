"""What happened to one sow and her litter, and why, from the records of one replicate."""
