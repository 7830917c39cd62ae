"""Tables computed from what was simulated. Drawing them and writing them into files stand above."""
