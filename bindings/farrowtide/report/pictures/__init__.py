"""Pictures for reports, for notebooks, which display them, and for files."""

from contextlib import chdir
from pathlib import Path

# Matplotlib looks for its settings in the working directory first, where anybody may have put a file that keeps it
# waiting, that it cannot read, or that speaks through its warnings.
with chdir(Path(__file__).parent):
    import matplotlib as _  # noqa: F401
