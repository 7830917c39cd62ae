"""Pictures for reports, for notebooks, which display them, and for files."""

import os
import sys
from contextlib import chdir, suppress
from pathlib import Path

if "matplotlib" not in sys.modules:
    # Matplotlib looks for its settings in the working directory and where the environment says, where anybody may have
    # put a file that keeps it waiting, that it cannot read, or that speaks through its warnings.
    _settings = {name: os.environ.pop(name) for name in ("MATPLOTLIBRC", "MPLBACKEND") if name in os.environ}
    try:
        with chdir(Path(__file__).parent):
            import matplotlib
    finally:
        os.environ.update(_settings)
    if _settings.get("MPLBACKEND"):  # for the user's own pictures; those of this package need none
        with suppress(ValueError):
            matplotlib.rcParams["backend"] = _settings["MPLBACKEND"]
