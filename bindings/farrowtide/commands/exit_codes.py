"""Exit codes: 0 fine, 1 an internal error, 2 the user's mistake, 3 a difference, 130 interrupted."""

from __future__ import annotations

EXIT_INTERNAL, EXIT_MISTAKE, EXIT_INTERRUPTED = 1, 2, 130
EXIT_DIFFERS = 3
