#!/usr/bin/env python3
"""Refuses coroutine code that some compiler miscompiles silently.

g++ 12 miscompiles a co_await in a condition, under ?: and beside braced temporaries. Every compiler accepts coroutine
parameters and captures that are gone by the first resume. So a co_await stands alone in its statement,

    const auto name = co_await thing;

and coroutine parameters are values, or references to entities that outlive the process.

    python3 .ci/coroutine_lint.py [FILE...]     checks the files, or libsim, bindings and tests
    python3 .ci/coroutine_lint.py --self-test   checks the check
"""

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
SOURCES = ("libsim", "bindings", "tests")
BUILD_FILES = ("CMakeLists.txt", "*.cmake", "CMakePresets.json", "pyproject.toml")

# Braces of these stay allowed beside a co_await: their temporaries have nothing to destroy twice.
TRIVIAL = r"\b(?:Duration|Time|Rank|ProcessRef|EventId)\s*\{[^{}]*\}"

CONDITION = "co_await in a condition: g++ 12 never runs the body; name the result first"
ALONE = "a co_await stands alone in its statement: [const auto name =] co_await thing;"
CHOICE = "no ?:, && or || beside a co_await: g++ 12 destroys temporaries twice; use if and else"
BRACES = "no braced temporary beside a co_await: g++ 12 destroys it twice; name it first"
PARAMETER = "coroutine parameter {!r} may be gone by the first resume: take it by value, or an entity by T&"
CAPTURE = "a coroutine lambda must not capture: its captures die with the statement; pass arguments"
DRAWS = "two draws from one stream in a statement come in no fixed order; name the first"
FAST_MATH = "this option changes random variates and results"


class Finding(NamedTuple):
    line: int
    text: str


class Statement(NamedTuple):
    line: int
    text: str


def blank(match: re.Match[str]) -> str:
    """Keeps the lines of what is taken out, so that findings keep their numbers."""
    return re.sub(r"[^\n]", " ", match.group())


def without_text(code: str) -> str:
    """Code without comments, preprocessor lines and the insides of literals."""
    code = re.sub(r'R"(\w*)\((?:.|\n)*?\)\1"', blank, code)
    code = re.sub(r'"(?:\\.|[^"\\\n])*"|(?<!\w)\'(?:\\.|[^\'\\\n])+\'|//[^\n]*|/\*(?:.|\n)*?\*/', blank, code)
    return re.sub(r"^[ \t]*#(?:.*\\\n)*.*", blank, code, flags=re.MULTILINE)


def opens_block(before: str) -> bool:
    """Whether a brace after this text opens a block, and not a list of initialisers."""
    before = before.rstrip()
    return (
        not before
        or before[-1] in ")];:{}"
        or re.search(r"\b(?:else|do|try|mutable|noexcept|const|override|final)$", before) is not None
        or re.search(r"->\s*[\w:<>,&*\s]+$", before) is not None
        or re.search(r"^\s*(?:\w[\w<>, ]*\s+)?(?:class|struct|namespace|union|enum|extern)\b[^;=()]*$", before)
        is not None
    )


def statements(code: str) -> Iterator[Statement]:
    """Every statement and every head of a block, the bodies of lambdas apart from what surrounds them."""
    stack: list[tuple[str, int, int, bool]] = []  # text so far, its first line, depth of parentheses, a block?
    text, first, depth, line = "", 1, 0, 1
    for char in code:
        if not text.strip():
            text, first = "", line
        if char == "\n":
            line += 1
        if char == "{":
            block = opens_block(text)
            stack.append((text, first, depth, block))
            if block:
                yield Statement(first, text)
                text, depth = "", 0
                continue
        elif char == "}" and stack:
            outer, outer_first, outer_depth, block = stack.pop()
            if block:
                yield Statement(first, text)
                inside_expression = outer_depth > 0 or re.search(r"\[[^\]]*\]\s*(?:\(|mutable|->|$)", outer) is not None
                text, first, depth = (
                    (outer + " lambda ", outer_first, outer_depth) if inside_expression else ("", line, 0)
                )
                continue
        elif char == ";" and depth == 0:
            yield Statement(first, text)
            text = ""
            continue
        depth += {"(": 1, ")": -1}.get(char, 0)
        text += char
    yield Statement(first, text)


def closing(text: str, start: int) -> int:
    """Where the parenthesis that opens at `start` closes."""
    depth = 0
    for position in range(start, len(text)):
        depth += {"(": 1, ")": -1}.get(text[position], 0)
        if depth == 0:
            return position
    return len(text)


def after_head(text: str) -> tuple[str, str]:
    """The conditions and loop heads that a statement starts with, and the rest."""
    heads = ""
    while True:
        text = re.sub(r"^\s*(?:(?:else\b|do\b|case\b[^:]*:|default\s*:|\w+\s*:(?!:))\s*)*", "", text)
        head = re.match(r"(?:if|while|for|switch)\b\s*(?:constexpr\s*)?\(", text)
        if head is None:
            return heads, text
        end = closing(text, head.end() - 1)
        heads, text = heads + text[:end], text[end + 1 :]


def waits(statement: Statement) -> Iterator[str]:
    heads, rest = after_head(statement.text)
    if re.search(r"\bco_await\b", heads):
        yield CONDITION
    if not re.search(r"\bco_await\b", rest):
        return
    rest = re.sub(TRIVIAL, "trivial", rest)
    if "?" in rest or "&&" in rest or "||" in rest:
        yield CHOICE
    if "{" in rest:
        yield BRACES
    if not re.match(r"(?:[^=(){}?]*[^=!<>+*/|&^-]=\s*)?co_await\b", rest) or len(re.findall(r"\bco_await\b", rest)) > 1:
        yield ALONE


def split_parameters(text: str) -> list[str]:
    parameters, depth = [""], 0
    for char in text:
        depth += {"(": 1, "<": 1, "[": 1, "{": 1, ")": -1, ">": -1, "]": -1, "}": -1}.get(char, 0)
        if char == "," and depth == 0:
            parameters.append("")
        else:
            parameters[-1] += char
    return [" ".join(parameter.split()) for parameter in parameters]


def coroutine_heads(text: str) -> Iterator[tuple[str, str]]:
    """Captures and parameters of every function or lambda in the text that returns a Process."""
    for match in re.finditer(r"\bProcess<[^;{}()]*>\s+[\w:]+\s*\(", text):
        yield "", text[match.end() : closing(text, match.end() - 1)]
    for match in re.finditer(r"\[([^\[\]]*)\]\s*(\()?", text):
        end = closing(text, match.end() - 1) if match.group(2) else match.end() - 1
        if re.match(r"\s*(?:mutable|noexcept)?\s*->\s*(?:farrowtide::)?Process\b", text[end + 1 :]):
            yield match.group(1), text[match.end() : end] if match.group(2) else ""


def lifetimes(statement: Statement) -> Iterator[str]:
    for captures, parameters in coroutine_heads(statement.text):
        if captures.strip():
            yield CAPTURE
        for parameter in split_parameters(parameters):
            borrowed = re.search(r"\bconst\b.*&|&&|\bstring_view\b|\bspan\b|\binitializer_list\b", parameter)
            if borrowed and not parameter.startswith("=") and "Process" not in parameter:
                yield PARAMETER.format(parameter)


def draws(statement: Statement) -> Iterator[str]:
    _, rest = after_head(statement.text)
    drawn = re.findall(r"[\w})]\s*\(\s*(\w*stream\w*)\s*\)|\b(\w*stream\w*)\s*\(\s*\)", rest)
    names = [first or second for first, second in drawn]
    if len(names) != len(set(names)):
        yield DRAWS


def check_code(code: str) -> list[Finding]:
    return [
        Finding(statement.line, text)
        for statement in statements(without_text(code))
        for rule in (waits, lifetimes, draws)
        for text in rule(statement)
    ]


def check_options(text: str) -> list[Finding]:
    return [
        Finding(number, FAST_MATH)
        for number, line in enumerate(text.splitlines(), 1)
        if re.search(r"-ffast-math|-Ofast|-funsafe-math|-fassociative-math", line)
        and not re.search(r"MATCHES|message\(", line)
    ]


def check_file(path: Path) -> list[Finding]:
    text = path.read_text(encoding="utf-8")
    return check_code(text) if path.suffix in {".cpp", ".hpp"} else check_options(text)


def tracked_files() -> list[Path]:
    sources = [path for folder in SOURCES for path in (ROOT / folder).rglob("*.[ch]pp")]
    folders = [ROOT, *(ROOT / folder for folder in SOURCES)]
    options = {path for folder in folders for name in BUILD_FILES for path in folder.glob(name)}
    options |= {path for folder in folders[1:] for name in BUILD_FILES for path in folder.rglob(name)}
    return sorted(sources) + sorted(options)


LIFE = "Process<> life(Room& room) {{ {} }}"
BAD = [
    (CONDITION, LIFE.format("if (co_await room.fed()) eat();")),
    (CONDITION, LIFE.format("while (co_await room.fed()) { eat(); }")),
    (CONDITION, LIFE.format("for (;;) { if (!(co_await x)) { break; } }")),
    (CONDITION, LIFE.format("switch (co_await x) { case 1: break; }")),
    (CONDITION, LIFE.format("for (i = co_await x; i < 3; ++i) {}")),
    (CHOICE, LIFE.format("auto k = b ? co_await x : co_await y;")),
    (CHOICE, LIFE.format("co_await (b ? x() : y());")),
    (CHOICE, LIFE.format("bool k = p && co_await x;")),
    (BRACES, LIFE.format("co_await room.work(Options{.name = n});")),
    (BRACES, LIFE.format("co_await room.work({1, 2, 3});")),
    (BRACES, LIFE.format("Sow a[2] = {co_await x, co_await y};")),
    (ALONE, LIFE.format("use(co_await x);")),
    (ALONE, LIFE.format("co_return co_await x;")),
    (ALONE, LIFE.format("auto k = 1 + co_await x;")),
    (ALONE, LIFE.format("k += co_await x;")),
    (ALONE, LIFE.format("Result r(co_await x);")),
    (ALONE, LIFE.format("spawn([](Room& r) -> Process<> { use(co_await r.x()); }(room));")),
    (PARAMETER.format("const std::string& name"), "Process<> life(Room& room, const std::string& name);"),
    (PARAMETER.format("Sow&& sow"), "Process<int> life(Room& room, Sow&& sow) { co_return 1; }"),
    (
        PARAMETER.format("std::string_view name"),
        "auto f = [](Room& room, std::string_view name) -> Process<> { co_return; };",
    ),
    (
        PARAMETER.format("std::span<Sow> sows"),
        "Process<std::vector<int>> Room::life(std::span<Sow> sows) { co_return x; }",
    ),
    (CAPTURE, "clock.spawn([&room](Sow& sow) -> Process<> { co_return; }(sow));"),
    (CAPTURE, "auto life = [=] -> Process<> { co_return; };"),
    (DRAWS, "pair(normal(stream), uniform(stream));"),
    (DRAWS, "const auto x = stream() + stream();"),
]
GOOD = [
    LIFE.format("co_await x; const auto y = co_await room.fed(); if (y) { co_await z; } else co_await w;"),
    LIFE.format("for (int i = 0; i < 3; ++i) co_await room.clock.delay(1_h);"),
    LIFE.format("for (const Duty& duty : roster) { co_await x; y = co_await z; sow.fed = co_await z; }"),
    LIFE.format("const auto [a, b] = co_await pair(x, y); std::vector<int> v = co_await w;"),
    LIFE.format("auto first = co_await first_of(seat.serve(Duration{5}), sow.died.wait()); co_return first.which();"),
    LIFE.format('try { co_await x; } catch (const Error& e) { note("if (co_await x)"); }  // if (co_await x) { }'),
    LIFE.format("if (a && b) { const Options options{.k = 1}; co_await work(options); }"),
    LIFE.format("clock.spawn(life([&] { return a ? b : c; })); co_await x; case 2: case 3: co_await y;"),
    "Process<Seat> Room::seat(Duration patience) { auto s = co_await x; co_return Seat(); }",
    "auto life = [](Room& room, auto child, std::string name) -> Process<> { co_await child(room); };",
    "ProcessRef spawn(Process<> life, Order home = Order::animal); Process& operator=(Process&& other) noexcept;",
    "void f(const std::string& name) { const auto x = normal(stream); const auto y = uniform(stream); }",
    "struct A { int x{0}; Process<> stay(Sow& sow) { co_await sow.born.wait(); } };",
]


def self_test() -> int:
    failures = 0
    for expected, code in BAD:
        found = [finding.text for finding in check_code(code)]
        if expected not in found:
            failures += 1
            print(f"not refused: {code}\n  expected {expected!r}, found {found}", file=sys.stderr)
    for code in GOOD:
        found = check_code(code)
        if found:
            failures += 1
            print(f"refused without reason: {code}\n  {found}", file=sys.stderr)
    if check_code("\n\n" + BAD[0][1])[0].line != 3:
        failures += 1
        print("a finding names the wrong line", file=sys.stderr)
    if not check_options("\nadd_compile_options(-ffast-math)") or check_options('if(X MATCHES "-ffast-math")'):
        failures += 1
        print("compiler options are not distinguished", file=sys.stderr)
    print(f"{len(BAD)} bad and {len(GOOD)} good samples, {failures} judged incorrectly")
    return 1 if failures else 0


def main(arguments: list[str]) -> int:
    if arguments == ["--self-test"]:
        return self_test()
    files = [Path(argument).resolve() for argument in arguments] or tracked_files()
    findings = 0
    for path in files:
        shown = path.relative_to(ROOT) if path.is_relative_to(ROOT) else path
        for finding in check_file(path):
            findings += 1
            print(f"{shown}:{finding.line}: {finding.text}")
    print(f"{len(files)} files, {findings} findings")
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
