"""Where the pages of the site come from: files of the repository, in sections, and the name of each page."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BUILD = ROOT / "build/docs"  # what is assembled and cached
SITE = ROOT / "build/site"  # what is read
SOURCE = BUILD / "source"
LESSONS = "notebooks/**/*.py"


@dataclass(frozen=True)
class Section:
    """A part of the navigation. A file belongs to the first pattern that it matches, of all sections."""

    title: str
    folder: str
    patterns: tuple[str, ...]  # of files; a name without a suffix is a page that `reference` writes


SECTIONS = (
    Section(
        "Tutorial",
        "tutorial",
        (
            "README.md",
            ".site/pages/getting_started.md",
            "notebooks/README.md",
            "notebooks/*.py",
            LESSONS,
            ".site/pages/teachers_note.md",
        ),
    ),
    Section(
        "How to",
        "how_to",
        (
            ".site/pages/how_to.md",
            "scenarios/README.md",
            "libsim/policy/README.md",
            ".site/pages/records.md",
            ".site/pages/watch.md",
            ".site/pages/story.md",
            ".site/pages/protocol.md",
        ),
    ),
    Section(
        "Explanation",
        "explanation",
        (
            ".site/pages/decisions/design.md",
            ".site/pages/decisions/*.md",
            ".site/pages/doubt.md",
            ".site/pages/calibration.md",
            ".site/pages/reliability.md",
            ".site/pages/security.md",
            ".site/pages/glossary.md",
            ".site/pages/*.md",
        ),
    ),
    Section(
        "Reference, written from the code",
        "reference",
        (
            ".site/generated/keys.md",
            "outputs",
            "tables",
            "commands",
            "python",
            "cpp",
            ".site/generated/coefficients.md",
            ".site/generated/warnings.md",
            ".site/generated/records.md",
            ".site/generated/licences.md",
        ),
    ),
    Section(
        "Evidence, written by measurements",
        "evidence",
        (
            ".site/generated/model.md",
            ".site/generated/validation.md",
            ".site/generated/*.md",
        ),
    ),
    Section(
        "Development",
        "development",
        ("DEVELOPERS.md", "libsim/README.md", "bindings/README.md", "tests/*/README.md", "CHANGELOG.md", "*.md"),
    ),
)
# Pages that are written from the code, and what a link to them names in the repository.
WRITTEN_FROM = {
    "bindings/farrowtide/outputs/catalogue": "reference/outputs",
    "bindings/farrowtide/commands": "reference/commands",
    "bindings/farrowtide/__init__.py": "reference/python",
    "libsim/record": "reference/tables",
    "libsim/kernel": "reference/cpp",
}
FRONT = ".site/pages/index.md"


def named(file: str) -> str:
    """The name of a page: that of its file, or of the folder that a README is about."""
    path = Path(file)
    if path.stem != "README":
        return path.stem.lower()
    return {"": "overview", "policy": "policies", "libsim": "engine", "bindings": "package"}.get(
        path.parent.name, path.parent.name
    )


def files_of(pattern: str) -> Iterator[str]:
    """The files of the repository that match a pattern, those that the README beside them names in its order, then by name."""
    for path in sorted(ROOT.glob(pattern), key=lambda path: (_place_in_readme(path), path)):
        if path.is_file() and not {"build", ".ipynb_checkpoints"} & set(path.relative_to(ROOT).parts):
            yield path.relative_to(ROOT).as_posix()


def _place_in_readme(path: Path) -> float:
    readme = path.parent / "README.md"
    place = readme.read_text(encoding="utf-8").find(f"]({path.name})") if readme.exists() else -1
    return place if place >= 0 else math.inf


def contents() -> dict[str, list[str]]:
    """The pages of each section, as paths below the folder of sources, in order."""
    return {section.title: list(_pages_of(section).values()) for section in SECTIONS}


def pages() -> dict[str, str]:
    """The page of each file: its path below the folder of sources, without suffix."""
    return {FRONT: "index"} | {
        file: page for section in SECTIONS for file, page in _pages_of(section).items() if "." in file
    }


def _pages_of(section: Section) -> dict[str, str]:
    earlier = {FRONT}
    for other in SECTIONS[: SECTIONS.index(section)]:
        earlier |= {file for pattern in other.patterns for file in files_of(pattern)}
    found: dict[str, str] = {}
    for pattern in section.patterns:
        for file in [pattern] if "." not in pattern else files_of(pattern):
            if file not in earlier:
                found.setdefault(file, f"{section.folder}/{_below(file)}")
    return found


def _below(file: str) -> str:
    return f"homework_{named(file)}" if "homework/" in file else named(file)
