"""Exit codes: 0 success, 1 an internal error, 2 an error of the user, 3 a difference or a wrong answer, 130 interrupted."""

from __future__ import annotations

EXIT_INTERNAL, EXIT_MISTAKE, EXIT_DIFFERS, EXIT_INTERRUPTED = 1, 2, 3, 130
