"""What is simulated: scenarios, policies of the user's own, and what the keys of scenarios mean."""
