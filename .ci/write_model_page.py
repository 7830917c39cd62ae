#!/usr/bin/env python3
"""Writes .site/generated/model.md (every equation) and coefficients.md (every number) from headers and coefficient files,
and the index of equations that `farrowtide describe` reads from the package.

--check fails if a page is not current; --self-test tries samples. An equation's header comment carries, after its sentence:
    Equation:
      name [unit] = plain-text maths    a 'quoted' text is words, the rest are symbols
    Where: symbol [unit] meaning; symbol [unit] meaning
    Valid: range
    Source: who measured or assumed it
A symbol is a coefficient the class reads (the end of its path), on a left side, in Where, or another class. It is a mistake to leave
out a coefficient that the code reads, or to name one that it does not.
"""

import json
import posixpath
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import yaml

ROOT = Path(__file__).resolve().parent.parent
LIBSIM = ROOT / "libsim"
GENERATED = ROOT / ".site" / "generated"
INDEX = ROOT / "bindings" / "farrowtide" / "report" / "description" / "equations.json"
NOT_READ = "**not read**"
GRADES = {
    "A": "published value",
    "B": "derived or fitted here to published values",
    "C": "trade practice or assumption",
}

# In the order of a sow's stay: title, what it is about, pictures of sensitivity, headers below libsim/model.
SECTIONS = [
    (
        "The herd at loading",
        "The sows that come in: parity, body size, litter, lasting differences between sows, legs, what first-parity sows have to learn.",
        ["parity"],
        ["sow/herd", "sow/leg_trouble", "sow/learning"],
    ),
    (
        "Room climate",
        "Room temperature and humidity hour by hour, from outdoor air, building, ventilation and the animals' heat.",
        [],
        ["room/outdoor", "room/heat_balance", "room/psychrometrics", "room/animal_heat", "room/micro_climate"],
    ),
    (
        "Feed, appetite, meals, water",
        "What a sow would eat today, when it becomes a meal, and how trough, drinker and staff limit it.",
        ["temperature", "meals", "drinker_flow"],
        [
            *("sow/diet", "sow/appetite", "sow/effective_temperature", "sow/appetite_clock", "sow/meals", "sow/trough"),
            *("room/drinker", "sow/water", "sow/standing_up", "sow/handling"),
        ],
    ),
    (
        "Farrowing",
        "When labour starts, how it proceeds from birth to birth, what help changes, and stillbirth.",
        ["attendance"],
        ["litter/gestation", "litter/farrowing"],
    ),
    (
        "Health of the sow",
        "Post-partum disorder, its signs, and sow mortality. Diagnosis and treatment are the herd veterinarian's responsibility.",
        [],
        [
            "sow/feed_harm",
            "sow/post_partum_disorder",
            "sow/rectal_temperature",
            "sow/signs",
            "sow/sow_loss",
            "sow/starvation",
            "room/overheating",
        ],
    ),
    (
        "Colostrum, survival, moving, scours",
        "What a piglet is born with, what it drinks and its hazards, with its own dam or another sow.",
        ["litter_size"],
        [
            *("litter/birth_weight", "litter/colostrum", "litter/survival", "litter/chilling", "litter/teats"),
            *("litter/moving", "litter/scours"),
        ],
    ),
    (
        "Milk, growth, body",
        "Balanced at midnight from what was eaten: milk, litter gain and body reserves.",
        [],
        ["sow/milk", "sow/energy_balance", "litter/growth", "litter/unfed", "litter/creep_feed"],
    ),
    (
        "After weaning",
        "Consequences of the lactation, reported apart from results in the room.",
        [],
        ["sow/after_weaning"],
    ),
    ("Staff", "Task times, the order of work, and when work is late.", [], ["staff/roster", "staff/task"]),
    (
        "How tables are read",
        "Shared by many equations.",
        [],
        ["curves/parity_table", "curves/knot_curve", "curves/parity_class"],
    ),
]

FUNCTIONS = {"exp", "ln", "sqrt", "cos", "atan", "min", "max", "clip", "round", "floor", "sum", "mean", "exponential"}
WORDS = {"if", "else", "or", "and", "to", "then", "pi", "transposed"}
SYMBOL = re.compile(r"(?<![\w.])[A-Za-z_]\w*(?:\.(?:\w+|\*))*")
LEFT_SIDE = re.compile(r"^(\w+(?:, \w+)*)((?:\[[^\]]*\])?(?:\([^)]*\))?) \[([^\]]+)\] = ")


class Mistake(Exception):
    pass


# Coefficients ---------------------------------------------------------------------------------------------------------


def leaves(tree: dict, path: str) -> Iterator[tuple[str, dict]]:
    for key, node in tree.items():
        yield from [(f"{path}.{key}", node)] if "value" in node else leaves(node, f"{path}.{key}")


def read_coefficients() -> dict[str, dict]:
    files = sorted((LIBSIM / "coefficients").glob("*.yaml"))
    return dict(
        entry for file in files for entry in leaves(yaml.safe_load(file.read_text(encoding="utf-8")), file.stem)
    )


def number_text(value: float) -> str:
    """As short as it is exact."""
    return str(value) if isinstance(value, int) else f"{value:.10g}"


def value_cell(entry: dict) -> str:
    """The number, or a line for each place of the table's axis."""
    if "axis" not in entry:
        return number_text(entry["value"])
    name = entry["axis"]["name"].replace("_", " ") + (
        "" if entry["axis"]["unit"] == "-" else f" [{entry['axis']['unit']}]"
    )
    places = zip(entry["axis"]["at"], entry["value"], strict=True)
    return f"{name}<br>" + "<br>".join(f"{cell(at)}: {number_text(value)}" for at, value in places)


def range_cell(entry: dict) -> str:
    ends = zip(entry["low"], entry["high"], strict=True) if "axis" in entry else [(entry["low"], entry["high"])]
    lines = ["fixed" if low == high else f"{number_text(low)} to {number_text(high)}" for low, high in ends]
    return "fixed" if set(lines) == {"fixed"} else "<br>".join([""] * ("axis" in entry) + lines)


def cell(text: object) -> str:
    return str(text).replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*")


def table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    head = list(head)
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return "\n".join(lines + ["| " + " | ".join(map(str, row)) + " |" for row in rows])


# Code -----------------------------------------------------------------------------------------------------------------


def without_comments(text: str) -> str:
    """The same lines, comments blanked. Strings of the engine hold no double slash."""
    return re.sub(r"//[^\n]*", "", text)


def line_of(text: str, offset: int) -> int:
    return text.count("\n", 0, offset) + 1


def definitions(text: str) -> Iterator[tuple[str, str, int, str]]:
    """Functions of a .cpp file as clang-format lays them out: owner ("" if free), name, line, text."""
    start = re.compile(r"^(?!namespace|using|static_assert|constexpr|struct|enum|#)[A-Za-z][^\n;]*\(", re.M)
    named = re.compile(r"(?:\b([A-Z]\w*(?:::[A-Z]\w*)*)::)?\b(operator\(\)|operator\[\]|~?\w+)\(")
    at = 0
    while begin := start.search(text, at):
        end = re.compile(r"^\}|\{\}$|(?<=[;}]) \}$", re.M).search(text, begin.start())
        at = end.end() if end else len(text)
        body = text[begin.start() : at]
        name = named.search(body)
        owner = (name.group(1) or "").split("::")
        yield owner[0], "::".join([*owner[1:], name.group(2)]), line_of(text, begin.start()), body


def paths_in(code: str, file_code: str, known: Iterable[str]) -> dict[str, int]:
    """Coefficient paths that a piece of code names, whole or as prefix + name, each with the first offset."""
    found = {m.group(1): m.start() for m in reversed(list(re.finditer(r'"([a-z_]+(?:\.\w+)+)"', code)))}
    for m in re.finditer(r'"(\w+\.[\w.]*[._])"[)}]? \+', code):
        prefix = m.group(1)
        whole = [prefix + piece for piece in re.findall(r'"(\w+)"', file_code) if prefix + piece in known]
        if not whole:
            raise Mistake(f"can't tell which coefficients begin with {prefix}")
        found = dict.fromkeys(whole, m.start()) | found
    groups: dict[str, str] = {}  # the prefix of each view, by its variable
    view = re.compile(
        r'const auto (\w+) = coefficients\.group\("([\w.]+)"\);|\b(\w+)\.(?:number|table|axis_labels)\(\s*"(\w+)"'
    )
    for m in view.finditer(code):
        variable, prefix, reader, name = m.groups()
        if variable:
            groups[variable] = prefix
        elif reader in groups:
            path = f"{groups[reader]}.{name}"
            if path not in known:
                raise Mistake(f"there is no coefficient {path}")
            found = {path: m.start()} | found
    return {path: at for path, at in found.items() if path in known}


@dataclass
class Entry:
    """A documented class of a header."""

    name: str
    header: str  # path below libsim
    line: int
    doc: list[str]
    body: str
    coefficients: list[str] = field(default_factory=list)
    code: list[tuple[str, str, int]] = field(default_factory=list)  # function, file below libsim, line
    used: bool = True

    @cached_property
    def parts(self) -> dict[str, list[str]]:
        parts: dict[str, list[str]] = {"": []}
        part = ""
        for line in self.doc:
            if line.strip() == "Equation:":
                part = "Equation"
                parts[part] = []
            elif m := re.match(r" (Where|Valid|Source): (.*)", line):
                part = m.group(1)
                parts[part] = [m.group(2)]
            else:
                parts[part].append(line[3:] if part == "Equation" else line.strip())
        return parts

    @property
    def equation(self) -> list[str]:
        return self.parts.get("Equation", [])

    def text(self, part: str) -> str:
        return (
            "\n".join(self.parts.get(part, [])).replace("\n\n", "\0").replace("\n", " ").replace("\0", "\n\n").strip()
        )

    @property
    def takes_coefficients(self) -> bool:
        return bool(re.search(rf"\b{self.name}\(const Coefficients&", self.body))

    @cached_property
    def where(self) -> list[tuple[str, str, str]]:
        """Symbols, unit, meaning; a note has no symbols."""
        found = []
        for item in filter(None, self.text("Where").split("; ")):
            m = re.fullmatch(r"(\w+(?:, \w+)*) \[([^\]]+)\]((?: |$)[^\[]*)", item)
            if not m and "[" in item:
                raise Mistake(f"{self.name}: can't read '{item}' in Where (symbol [unit] meaning; ...)")
            found.append((m.group(1), m.group(2), m.group(3).strip()) if m else ("", "", item))
        return found


def documented_classes(text: str, header: str) -> Iterator[Entry]:
    for m in re.finditer(r"((?:^///[^\n]*\n)+)^(?:class|struct) (\w+)[^;\n]*\{\n(.*?)^\};", text, re.M | re.S):
        doc = [line[3:] for line in m.group(1).rstrip("\n").split("\n")]
        yield Entry(m.group(2), header, line_of(text, m.start(2)), doc, without_comments(m.group(3)))


def symbols_of(line: str) -> list[str]:
    line = re.sub(r"'[^']*'", " ", line)
    if m := LEFT_SIDE.match(line):
        line = m.group(2) + " " + line[m.end() :]
    return SYMBOL.findall(line)


def is_called(path: str, symbol: str) -> bool:
    if symbol.endswith(".*"):
        return f".{symbol[:-1]}" in path
    return path.endswith(f".{symbol}")


def mistakes_of(entry: Entry, classes: set[str]) -> Iterator[str]:
    """Whether the comment says what the code reads."""
    yield from (f"has no {part}" for part in ("Equation", "Valid", "Source") if not entry.parts.get(part))
    if not entry.equation:
        return
    left = [m for line in entry.equation if (m := LEFT_SIDE.match(line))]
    own = {name for m in left for name in m.group(1).split(", ")} | {
        n for s, _, _ in entry.where for n in s.split(", ")
    }
    named: set[str] = set()
    for line in entry.equation:
        if re.match(r"^\w+(\[[^\]]*\])?(\([^)]*\))? = ", line):
            yield f"'{line}' has no unit on the left"
        for symbol in symbols_of(line):
            called = [path for path in entry.coefficients if is_called(path, symbol)]
            if symbol in own or (not called and symbol in FUNCTIONS | WORDS | classes):
                continue
            if not called:
                yield f"'{symbol}' is no coefficient it reads, and Where does not say what it is"
            if len(called) > 1 and not symbol.endswith(".*"):
                yield f"'{symbol}' may be {' or '.join(called)}"
            named |= set(called)
    for path in entry.coefficients:
        if path not in named:
            yield f"reads {path}, which its equation does not name"
    used = {symbol for line in entry.equation for symbol in symbols_of(line)}
    for symbol in (n for s, _, _ in entry.where if s for n in s.split(", ")):
        if symbol not in used:
            yield f"'{symbol}' of Where is not in the equation"


def equation_headers() -> list[Path]:
    """Of the model's parts; settings/ holds sections of a scenario, which state no equation."""
    return [path for path in (LIBSIM / "model").glob("*/*.hpp") if path.parent.name != "settings"]


class Engine:
    """Headers, code and coefficients of the working tree."""

    def __init__(self) -> None:
        self.coefficients = read_coefficients()
        self.files = {
            path.relative_to(LIBSIM).as_posix(): without_comments(path.read_text(encoding="utf-8"))
            for path in sorted([*LIBSIM.rglob("*.cpp"), *LIBSIM.rglob("*.hpp")])
        }
        self.entries: list[Entry] = []
        for header in sorted(path.relative_to(LIBSIM).as_posix() for path in equation_headers()):
            self.entries += documented_classes((LIBSIM / header).read_text(encoding="utf-8"), header)
        for entry in self.entries:
            self.read_code(entry)
        self.find_users()
        self.find_readers()

    def read_code(self, entry: Entry) -> None:
        cpp = entry.header.replace(".hpp", ".cpp")
        text = self.files.get(cpp, "")
        functions = list(definitions(text))
        mine = [(name, line, body) for owner, name, line, body in functions if owner == entry.name]
        pieces = [entry.body] + [body for _, _, body in mine]
        pieces += [b for o, name, _, b in functions if not o and any(re.search(rf"\b{name}\(", p) for p in pieces)]
        found = {path for piece in pieces for path in paths_in(piece, self.with_headers(cpp), self.coefficients)}
        entry.coefficients = [path for path in self.coefficients if path in found]
        entry.code = [(n, cpp, line) for n, line, _ in mine if n != entry.name and not n.startswith("read_")]
        raw = (LIBSIM / entry.header).read_text(encoding="utf-8").split("\n")
        size = entry.body.count("\n")
        for line in range(entry.line, entry.line + size):
            if m := re.match(r"\s+[\w:<>&, ]+ (operator\[\]|\w+)\([^)]*\)(?: const)? \{", raw[line]):
                entry.code.append((m.group(1), entry.header, line + 1))

    def with_headers(self, file: str) -> str:
        """The file with the headers it includes itself: they may hold the ends of the paths that it reads."""
        text = self.files.get(file, "")
        return text + "".join(self.files.get(name, "") for name in re.findall(r'#include "libsim/([^"]+)"', text))

    def find_users(self) -> None:
        """An equation is used if a file of the engine, or a used equation beside it, names it."""
        biology = "model/biology.hpp"

        def is_used(entry: Entry) -> bool:
            stem = entry.header.removesuffix(".hpp")
            word = re.compile(rf"\b{entry.name}\b")
            others = [text for name, text in self.files.items() if not name.startswith(stem + ".") and name != biology]
            if any(word.search(text) for text in others):
                return True
            if m := re.search(rf"\b{entry.name} (\w+)[;{{]", self.files[biology]):
                return any(re.search(rf"\.{m.group(1)}\b", text) for text in others)
            beside = [other for other in self.entries if other.header == entry.header and other is not entry]
            return any(word.search(other.body) and is_used(other) for other in beside)

        for entry in self.entries:
            entry.used = is_used(entry)

    def find_readers(self) -> None:
        """For each coefficient, who reads it: equations, and places (file, line) outside of them."""
        self.equations_of: dict[str, list[Entry]] = {path: [] for path in self.coefficients}
        self.places_of: dict[str, list[tuple[str, int]]] = {path: [] for path in self.coefficients}
        for entry in self.entries:
            for path in entry.coefficients:
                self.equations_of[path].append(entry)
        in_entry = {(e.header.removesuffix(".hpp"), path) for e in self.entries for path in e.coefficients}
        for name, text in self.files.items():
            for path, offset in paths_in(text, self.with_headers(name), self.coefficients).items():
                if (name.rsplit(".", 1)[0], path) not in in_entry:
                    self.places_of[path].append((name, line_of(text, offset)))
        for file in sorted((ROOT / "bindings" / "farrowtide").rglob("*.py")):
            text = file.read_text(encoding="utf-8")
            for path, offset in paths_in(text, text, self.coefficients).items():
                self.places_of[path].append((f"../{file.relative_to(ROOT)}", line_of(text, offset)))

    def mistakes(self) -> list[str]:
        found = []
        placed = [header for *_, headers in SECTIONS for header in headers]
        there = {path.relative_to(LIBSIM / "model").as_posix()[:-4] for path in equation_headers()}
        found += [
            f"libsim/model/{h}.hpp has no section in .ci/write_model_page.py" for h in sorted(there - set(placed))
        ]
        found += [f"libsim/model/{h}.hpp of .ci/write_model_page.py is not there" for h in placed if h not in there]
        names = {entry.name for entry in self.entries}
        for entry in self.entries:
            if not entry.takes_coefficients and not entry.equation:
                continue
            try:
                found += [f"libsim/{entry.header}: {entry.name} {why}" for why in mistakes_of(entry, names)]
            except Mistake as mistake:
                found.append(f"libsim/{entry.header}: {mistake}")
        return found


# Pages ----------------------------------------------------------------------------------------------------------------


def link_to(file: str, line: int | None = None) -> str:
    """From a generated page to a file below libsim, or beside it with a leading "../"."""
    return f"../../{posixpath.normpath(f'libsim/{file}')}" + (f"#L{line}" if line else "")


def anchor(title: str) -> str:
    return re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-")


def group_of(path: str) -> str:
    return ".".join(path.split(".")[:2])


def grade_counts(entries: Iterable[dict]) -> str:
    counts = Counter(entry["grade"] for entry in entries)
    return ", ".join(f"{counts[grade]} {grade}" for grade in GRADES if counts[grade])


def sentence(text: str) -> str:
    return cell(text).replace("_", "\\_")


def entry_text(entry: Entry, coefficients: dict[str, dict]) -> str:
    out = [f"### {entry.name}", sentence(entry.text(""))]
    if not entry.used:
        out.append("*Used by tests only, not by the room.*")
    if entry.equation:
        out.append("```text\n" + "\n".join(entry.equation) + "\n```")
    if rows := [(f"`{s}`", cell(unit), sentence(meaning)) for s, unit, meaning in entry.where if s]:
        out.append(table(["symbol", "unit", "is"], rows))
    if notes := [sentence(note) for symbols, _, note in entry.where if not symbols]:
        out.append("; ".join(notes) + ".")
    facts = [f"**Valid:** {sentence(entry.text('Valid'))}.", f"**Source:** {sentence(entry.text('Source'))}."]
    facts = facts if entry.equation else []
    read = [coefficients[path] for path in entry.coefficients]
    if read:
        facts.append(f"**Grade:** {max(one['grade'] for one in read)} ({grade_counts(read)}).")
    places = [f"[`{name}`]({link_to(file, line)})" for name, file, line in entry.code]
    facts.append("**Code:** " + ", ".join([f"[header]({link_to(entry.header, entry.line)})", *places]) + ".")
    out.append("  \n".join(facts))
    if read:
        rows = [
            (f"[`{path}`](coefficients.md#{anchor(group_of(path))})", value_cell(one), cell(one["unit"]),
             range_cell(one), one["grade"])
            for path, one in zip(entry.coefficients, read, strict=True)
        ]  # fmt: skip
        out.append(table(["coefficient", "value", "unit", "range", "grade"], rows))
    return "\n\n".join(out)


def pictures(keys: list[str]) -> list[str]:
    """Those of sensitivity that have been drawn, each with its sentence."""
    words = GENERATED / "sensitivity.json"
    told = json.loads(words.read_text(encoding="utf-8")) if words.exists() else {}
    shown = []
    for key in keys:
        if (GENERATED / f"sensitivity_{key}.svg").exists():
            title = told.get(key, {}).get("title", f"Sensitivity to {key.replace('_', ' ')}")
            shown += [f"![{title}](sensitivity_{key}.svg)", sentence(told.get(key, {}).get("says", title))]
    return shown


MODEL_HEAD = """# The model

Every equation of the engine, in the order of a sow's stay, each with its symbols, valid range, source, grade of
evidence, the coefficients it reads and the lines of code that implement it. How they are put together is described in
[libsim/README.md](../../libsim/README.md); all numbers are in [coefficients.md](coefficients.md), and the comparison
with the literature in [validation.md](validation.md).

**Notation.** The maths is plain text, as in the headers. A symbol that is not explained is a coefficient, named by the
end of its path. `clip(x, a, b)` limits x to a-b, `ln` is the natural logarithm, z a standard normal draw and *uniform*
a draw between 0 and 1. `(x if condition)` without an else is 0 in a sum and 1 in a product. Words are in 'quotes'.
Day 0 is the calendar day of the last birth. Grades: **A** published value, **B** derived or fitted here to published
values, **C** trade practice or assumption; an equation has the grade of its weakest coefficient.

This page is written by `.ci/write_model_page.py` from the comments of the headers and the coefficient files. The
script refuses an equation whose comment names other coefficients than its code reads.
"""

NUMBERS_HEAD = """# Coefficients

Every biological number of the engine with value, unit, range for uncertainty analysis (*fixed* marks a definition or a
centring constant), grade and source. *Range: judgement* marks a range set by the authors. A scenario can replace any of
them, and the provenance of every result names the replacements. The equations are in [model.md](model.md).

This page is written by `.ci/write_model_page.py` from the files in `libsim/coefficients`.
"""


def elsewhere(engine: Engine) -> str:
    rows = [
        (f"`{path}`", value_cell(one), cell(one["unit"]), one["grade"],
         ", ".join(f"[{Path(file).name if file.startswith('..') else file.removeprefix('model/')}]({link_to(file, line)})" for file, line in engine.places_of[path]))
        for path, one in engine.coefficients.items()
        if engine.places_of[path] and not engine.equations_of[path]
    ]  # fmt: skip
    head = "## Coefficients without an equation\n\nDefaults of scenarios and policies, and single limits that the room or the package applies itself.\n\n"
    return head + table(["coefficient", "value", "unit", "grade", "read in"], rows)


def shown_entries(engine: Engine, headers: list[str]) -> list[Entry]:
    """What the page shows of these headers."""
    shown = [entry for entry in engine.entries if entry.equation or entry.coefficients]
    return [entry for header in headers for entry in shown if entry.header == f"model/{header}.hpp"]


def equation_index(engine: Engine) -> str:
    """The page's equations as JSON: chapter -> name, anchor, what it is, whether the room uses it, valid, source, grade."""
    index = {
        title: [
            {
                "name": entry.name,
                "anchor": anchor(entry.name),
                "is": sentence(entry.text("")).split("\n\n")[0],
                "used": entry.used,
                "valid": sentence(entry.text("Valid")),
                "source": sentence(entry.text("Source")) or "as its coefficients",
                "grade": max((engine.coefficients[path]["grade"] for path in entry.coefficients), default=""),
            }
            for entry in shown_entries(engine, headers)
        ]
        for title, _, _, headers in SECTIONS
    }
    return json.dumps(index, indent=1, ensure_ascii=False) + "\n"


def model_page(engine: Engine) -> str:
    shown = [entry for entry in engine.entries if entry.equation or entry.coefficients]
    chapters, contents = [], []
    for title, about, keys, headers in SECTIONS:
        entries = shown_entries(engine, headers)
        links = ", ".join(f"[{entry.name}](#{anchor(entry.name)})" for entry in entries)
        contents.append(f"- [{title}](#{anchor(title)}): {links}")
        texts = [entry_text(entry, engine.coefficients) for entry in entries]
        chapters.append("\n\n".join([f"## {title}", about, *pictures(keys), *texts]))
    unused = [f"[{entry.name}](#{anchor(entry.name)})" for entry in shown if not entry.used]
    if unused:
        contents.append(f"\nUsed by tests only, not by the room: {', '.join(unused)}.")
    count = sum(bool(entry.equation) for entry in shown)
    facts = f"{count} equations and rules, {len(engine.coefficients)} coefficients ({grade_counts(engine.coefficients.values())})."
    return "\n\n".join([MODEL_HEAD + "\n" + facts, "\n".join(contents), *chapters, elsewhere(engine)]) + "\n"


def readers(engine: Engine, path: str) -> str:
    equations = [f"[{e.name}](model.md#{anchor(e.name)})" for e in engine.equations_of[path]]
    places = [f"[{Path(file).name}]({link_to(file, line)})" for file, line in engine.places_of[path]]
    return ", ".join(equations + places) or NOT_READ


def numbers_page(engine: Engine) -> str:
    coefficients = engine.coefficients
    rows = []
    for file in sorted({path.split(".")[0] for path in coefficients}):
        inside = [one for path, one in coefficients.items() if path.startswith(f"{file}.")]
        counts = Counter(one["grade"] for one in inside)
        unread = sum(path.startswith(f"{file}.") and readers(engine, path) == NOT_READ for path in coefficients)
        rows.append(
            (
                f"[{file}.yaml]({link_to('coefficients/' + file + '.yaml')})",
                len(inside),
                *(counts[grade] for grade in GRADES),
                unread,
            )
        )
    rows.append(("all", *(sum(row[column] for row in rows) for column in range(1, 6))))
    out = [NUMBERS_HEAD, table(["file", "numbers", *GRADES, "not read"], rows)]
    out.append("\n".join(f"- **{grade}**: {meaning}" for grade, meaning in GRADES.items()))
    out.append(unread_text(engine))
    for group in dict.fromkeys(map(group_of, coefficients)):
        inside = [(path, one) for path, one in coefficients.items() if group_of(path) == group]
        lines = [
            (f"`{path.removeprefix(group + '.')}`", value_cell(one), cell(one["unit"]), range_cell(one),
             one["grade"], sentence(one["source"]), sentence(one.get("note", "")), readers(engine, path))
            for path, one in inside
        ]  # fmt: skip
        head = ["name", "value", "unit", "range", "grade", "source", "note", "read by"]
        out.append(f"## {group}\n\n" + table(head, lines))
    return "\n\n".join(part.rstrip("\n") for part in out) + "\n"


def by_group(paths: Iterable[str]) -> str:
    groups: dict[str, list[str]] = {}
    for path in paths:
        groups.setdefault(group_of(path), []).append(f"`{path.removeprefix(group_of(path) + '.')}`")
    return "\n".join(f"- `{group}`: {', '.join(names)}" for group, names in groups.items())


def unread_text(engine: Engine) -> str:
    unread = [path for path in engine.coefficients if readers(engine, path) == NOT_READ]
    idle = [
        path
        for path, entries in engine.equations_of.items()
        if entries and not engine.places_of[path] and not any(entry.used for entry in entries)
    ]
    return "\n\n".join(
        [
            f"## Not read\n\n{len(unread)} numbers that no code reads: alternatives to the values in use, and evidence kept beside them. "
            "No result depends on them.",
            by_group(unread),
            f"{len(idle)} are read only by equations that tests use and the room does not:",
            by_group(idle),
        ]
    )


# Samples --------------------------------------------------------------------------------------------------------------

HEADER = """
/// Feed of a day.
/// Equation:
///   feed [kg/d] = level * min(1, day / half_time) 'for all'
/// Where: day [d] of lactation; sows [-] in the
///   room
/// Valid: days 1-28
/// Source: Author 2007
class Feed {
 public:
  explicit Feed(const Coefficients& coefficients);

 private:
  double level_, half_time_d_;
};
""".replace("; sows [-] in the\n///   room", "")
CODE = """
Feed::Feed(const Coefficients& coefficients)
    : level_(coefficients.number("sow.feed.level", "kg/d")), half_time_d_(coefficients.number("sow.feed.half_time", "d")) {}

double Feed::operator()(double day) const { return level_ * std::min(1.0, day / half_time_d_); }

Other::Other(const Coefficients& coefficients) {
  const auto other = coefficients.group("sow.other");
  first_ = other.number("first", "-");
}
"""
KNOWN = ["sow.feed.level", "sow.feed.half_time", "sow.other.first"]
BAD = {
    "no Equation": ("/// Equation:\n", ""),
    "no Valid": ("/// Valid: days 1-28\n", ""),
    "no Source": ("/// Source: Author 2007\n", ""),
    "no unit": ("feed [kg/d] =", "feed ="),
    "'dya' is no": ("day / half", "dya / half"),
    "does not name": ("level * ", ""),
    "is not in the equation": ("day [d] of lactation", "day [d] of lactation; sows [-] in the room"),
    "can't read": ("day [d] of lactation", "the day [d] of lactation"),
    "'all' is no": ("'for all'", "* all"),
}


def sample(header: str) -> str:
    entry = next(documented_classes(header, "model/sow/feed.hpp"))
    mine = "\n".join(body for owner, _, _, body in definitions(CODE) if owner == entry.name)
    entry.coefficients = list(paths_in(mine, CODE, KNOWN))
    try:
        return "; ".join(mistakes_of(entry, {"Feed"}))
    except Mistake as mistake:
        return str(mistake)


def self_test() -> list[str]:
    found = [f"refused without reason: {why}" for why in [sample(HEADER)] if why]
    for expected, (old, new) in BAD.items():
        if old not in HEADER or expected not in (why := sample(HEADER.replace(old, new))):
            found.append(f"not noticed: {expected} (but: {why})")
    laid_out = [(owner, name, line) for owner, name, line, _ in definitions(CODE)]
    if laid_out != [("Feed", "Feed", 2), ("Feed", "operator()", 5), ("Other", "Other", 7)]:
        found.append(f"functions read as {laid_out}")
    if "sow.other.first" not in paths_in(CODE, CODE, KNOWN):
        found.append("a path read through a group is not found")
    try:
        paths_in(CODE.replace('"first"', '"frist"'), CODE, KNOWN)
        found.append("an unknown path read through a group is let through")
    except Mistake:
        pass
    if paths_in('x("sow.feed.levels")', "", KNOWN):
        found.append("an unknown path is found")
    if list(paths_in('x("sow.feed." + name)', '{"level"}', KNOWN)) != ["sow.feed.level"]:
        found.append("a path whose end stands elsewhere in the file is not found")
    if (text := table(["a", "b"], [(1, cell("x|y"))])) != "| a | b |\n|---|---|\n| 1 | x\\|y |":
        found.append(f"a table reads {text}")
    return found


def main() -> int:
    if "--self-test" in sys.argv:
        found = self_test()
        print("\n".join(found) or "every sample is judged correctly")
        return 1 if found else 0
    try:
        engine = Engine()
        found = engine.mistakes()
    except Mistake as mistake:
        found = [str(mistake)]
    if found:
        print("\n".join(found), file=sys.stderr)
        return 1
    pages = {
        GENERATED / "model.md": model_page(engine),
        GENERATED / "coefficients.md": numbers_page(engine),
        INDEX: equation_index(engine),
    }
    stale = [page for page, text in pages.items() if not page.exists() or page.read_text(encoding="utf-8") != text]
    if "--check" in sys.argv:
        for page in stale:
            print(f"{page.relative_to(ROOT)} is not current: python .ci/write_model_page.py", file=sys.stderr)
        return 1 if stale else 0
    for page in stale:
        page.write_text(pages[page], encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
