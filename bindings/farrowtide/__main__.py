"""Runs the command line: `farrowtide`, `python -m farrowtide`. Light, so that Ctrl-C finds it while the rest is loaded."""

import sys

from farrowtide.commands.exit_codes import EXIT_INTERRUPTED


def main() -> None:
    """Loads the command line and runs it."""
    try:
        from farrowtide.commands.main import main as command_line
    except KeyboardInterrupt:
        print("interrupted: nothing is kept", file=sys.stderr)
        sys.exit(EXIT_INTERRUPTED)
    command_line(prog_name="farrowtide")


if __name__ == "__main__":  # and not on MPI's workers, which import it
    main()
