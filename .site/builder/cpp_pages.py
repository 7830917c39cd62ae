"""The pages of the C++ interface: what headers declare, with their comments.

The headers follow one format, so that a light reading is enough: a declaration stands between blank lines, below its
comment, and private members come last.
"""

import re
from pathlib import Path

from prose import plain
from python_pages import contents
from tree import ROOT

CPP = """# C++

The headers of the engine that a program includes, with their comments; all names are in the namespace `farrowtide`.
[The guide of the engine](../development/engine.md) says how to use it from CMake and how its layers hang together; the equations
of `libsim/model` have [a page of their own](../evidence/model.md).
"""
FOLDERS = {
    "kernel": "Kernel: time, processes, resources, random draws",
    "scenario": "Scenario: files in, checked values out",
    "policy": "Policies: what staff decide",
    "record": "Records: tables, tasks, ledger",
    "run": "Run: a scenario, replications on threads",
}
NAME = re.compile(
    r"\b(?:class|struct|enum class|enum|concept)\s+(?:\[\[\w+\]\]\s+)?(\w+)|\busing\s+(\w+)\s*=|(\w+|operator\S+)\(|(\w+) = "
)
TEMPLATE = re.compile(r"^template <.*>$", re.MULTILINE)
OUTSIDE = ("#", "namespace", "inline namespace", "}  // namespace")
FORWARD = re.compile(r"(template <[^;]*>\s*)?(class|struct) \w+;")
# A line with which the body of a function begins, and the comment behind it.
BODY = re.compile(r"(  )?\S.*\) (?:const )?(?:&{1,2} )?(?:noexcept )?(?:override )?(?:-> \S+ )?\{(\s*//.*)?$")


def pages() -> dict[str, str]:
    """The text of each page."""
    names = [f"cpp_{folder}" for folder in FOLDERS]
    return {"reference/cpp": CPP + contents(names)} | {
        f"reference/cpp_{folder}": _page(folder, title) for folder, title in FOLDERS.items()
    }


def _page(folder: str, title: str) -> str:
    headers = sorted((ROOT / "libsim" / folder).rglob("*.hpp"))
    return "\n".join([f"# {title}\n", *map(_header, headers)])


def _header(file: Path) -> str:
    about, _, text = file.read_text(encoding="utf-8").partition("#pragma once\n")
    shown = [_declaration(*block) for block in _blocks(text.splitlines())]
    path = file.relative_to(ROOT).as_posix()
    return "\n".join([f"## {path.removeprefix('libsim/')}\n", _markdown(about.splitlines()), *filter(None, shown)])


def _blocks(lines: list[str]) -> list[tuple[list[str], list[str]]]:
    """Each declaration of a namespace: its comment, and its code."""
    found: list[tuple[list[str], list[str]]] = []
    comment: list[str] = []
    code: list[str] = []
    for line in [*lines, ""]:
        inside = bool(code) and not _closed(code)
        if line.startswith("//") and not code:
            comment.append(line)
        elif line.startswith("//") and not inside:
            found.append((comment, code))
            comment, code = [line], []
        elif line.startswith(OUTSIDE) and not inside:
            comment = []
        elif line or inside:
            code.append(line)
        elif code:
            found.append((comment, code))
            comment, code = [], []
        else:
            comment = []
    return found


def _closed(code: list[str]) -> bool:
    """Whether the code ends outside all braces and at the end of a declaration."""
    text = "\n".join(code)
    return text.count("{") == text.count("}") and re.sub(r"\s*//.*", "", code[-1]).endswith((";", "}"))


def _declaration(comment: list[str], code: list[str]) -> str:
    text = "\n".join(code)
    if all(FORWARD.fullmatch(line) for line in code) or (not comment and text.startswith("inline ")):
        return ""
    name = NAME.search(TEMPLATE.sub("", text))
    title = next(filter(None, name.groups()), "") if name else ""
    head = f"### {plain(title)}\n" if title else ""
    return f"{head}\n{_markdown(comment)}\n```cpp\n{_interface(code)}\n```\n"


def _interface(code: list[str]) -> str:
    """Without what is private and without the bodies of functions."""
    kept: list[str] = []
    hidden = ""  # the line that ends what is left out
    for line in code:
        if hidden:
            if line.startswith(hidden):
                hidden, kept = "", [*kept, line] if hidden == "};" else kept
        elif line in (" private:", " protected:"):
            hidden = "};"
        elif BODY.match(line):
            kept.append(re.sub(r" (?:: .*)?\{(\s*//.*)?$", r";\1", line))
            hidden = "  }" if line.startswith(" ") else "}"
        else:
            kept.append(line)
    return re.sub(r"\n{3,}", "\n\n", "\n".join(kept)).replace("\n\n};", "\n};")


def _markdown(comment: list[str]) -> str:
    """A comment as paragraphs; what is indented is code."""
    lines = [re.sub(r"^\s*///?<? ?", "", line) for line in comment]
    parts: list[str] = []
    for block in re.split(r"\n\s*\n", "\n".join(lines)):
        if block.startswith("  "):
            parts.append(f"```cpp\n{block}\n```\n")
        elif block.strip():
            parts.append(f"{plain(block)}\n")
    return "\n".join(parts)
