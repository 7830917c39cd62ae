"""What in a result lies outside plausible ranges: the ranges, what is counted, and the warnings that follow."""
