"""What a user holds: tables that draw themselves and write themselves into files, and the functions that make them."""
