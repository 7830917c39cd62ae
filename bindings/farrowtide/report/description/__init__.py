"""The description of a study, for readers who must be able to repeat it."""
