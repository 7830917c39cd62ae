"""Runs the command line: `python -m farrowtide`."""

from farrowtide.commands.main import main

if __name__ == "__main__":  # and not on MPI's workers, which import it
    main(prog_name="farrowtide")
