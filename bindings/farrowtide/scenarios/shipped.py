"""The scenarios and lessons that come with the package, found wherever it is installed."""

from __future__ import annotations

from pathlib import Path

from farrowtide.errors import unknown_name

_PACKAGE = Path(__file__).resolve().parent.parent


def folder(name: str) -> Path:
    """The folder "scenarios" or "notebooks": of the installed package, or of the repository in an editable install."""
    installed = _PACKAGE / "shipped" / name
    return installed if installed.is_dir() else _PACKAGE.parent.parent / name


def example_names() -> list[str]:
    """The names that `example` knows."""
    scenarios = folder("scenarios")
    names = (file.relative_to(scenarios) for file in scenarios.rglob("*.yaml"))
    return sorted(name.as_posix() for name in names if name.parts[0] != "invalid")


def example(name: str) -> Path:
    """Returns the path of a scenario that comes with farrowtide, from any working directory.

    >>> farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))  # doctest: +SKIP

    Raises UserError, with all names and the closest of them, where there is none of this name.
    """
    names = example_names()
    if name not in names:
        raise unknown_name("example", str(name), names)
    return folder("scenarios") / name
