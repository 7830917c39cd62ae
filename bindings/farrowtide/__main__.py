"""Runs the command line: `farrowtide`, `python -m farrowtide`. Light, so that Ctrl-C finds it while the rest is loaded."""

import signal
import sys

from farrowtide.commands.exit_codes import EXIT_INTERRUPTED


def main() -> None:
    """Loads the command line and runs it."""
    try:
        from farrowtide.commands.main import main as command_line

        command_line(prog_name="farrowtide")
    except KeyboardInterrupt:
        print("interrupted: nothing is kept", file=sys.stderr)
        sys.exit(EXIT_INTERRUPTED)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the command is over, and its exit code stands


if __name__ == "__main__":  # and not on MPI's workers, which import it
    main()
