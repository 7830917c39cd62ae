"""The most of what can be asked for; beyond, nothing is begun."""

MOST_REPLICATES = 2**31  # their numbers are whole numbers of 32 bits
MOST_THREADS = 1024  # and workers
MOST_COMBINATIONS = 2_000  # of the values that a sweep varies, each an alternative
LEAST_DRAWS, MOST_DRAWS = 40, 20_000  # of what is not known
