#!/usr/bin/env python3
"""Refuse the ways of writing a coroutine that g++ 12 compiles wrongly without a word, or that dangle with every compiler.

A `co_await` stands alone in its statement, `const auto name = co_await thing;`: in a condition, beside a second one,
under ?:, && or ||, or beside an aggregate temporary, g++ 12 skips the body or destroys objects twice. A parameter of a
coroutine is a value or a reference to something that lives longer, and a coroutine lambda captures nothing: what a
temporary argument or a closure held is gone at the first wait. `--self-test` holds these rules against samples.
"""

import re
import sys
from collections.abc import Iterator
from pathlib import Path

# Temporaries that may be written with braces beside a co_await: their members are plain numbers.
PLAIN = {"Time", "Duration", "Rank"}

NOT_CODE = re.compile(
    r'R"(?P<fence>[^\s()\\]{0,16})\(.*?\)(?P=fence)"|"(?:\\.|[^"\\\n])*"|(?<!\w)\'(?:\\.|[^\'\\\n])+\'|//[^\n]*|/\*.*?\*/',
    re.DOTALL,
)
HEAD = re.compile(r"\b(?:if|while|for|switch)\b(?:\s+constexpr)?\s*\(")
LABEL = re.compile(r"\b(?:case\b(?:[^;{}:]|::)*|default\s*):(?!:)")
AWAIT = re.compile(r"\bco_await\b")
ALONE = re.compile(
    r"\s*(?:(?:else|do)\b\s*)?(?:co_return\b\s*|(?:(?:const\s+)?[\w:<>,*&\s]+?(?:\s[\w.>-]+|\s*\[[\w,\s]+\])|[\w.>-]+)\s*=\s*)?"
)
# What a block's opening brace follows; after anything else a brace begins an initialiser.
BEFORE_BLOCK = re.compile(
    r"(?:^|[;{})]|\b(?:else|do|try|const|noexcept|mutable)|->\s*[\w:]*Process\s*<[^;{}()]*>)\s*\Z"
)
COROUTINE = re.compile(r"\b(?:\w+::)*Process\s*<[^;{}()]*>\s+(?:\w+::)*\w+\s*\(")
CAPTURE = re.compile(r"\[(?P<capture>[^\[\]]*)\]\s*(?=\()")
RETURNS_PROCESS = re.compile(r"\s*(?:mutable\b\s*)?(?:noexcept\b\s*)?->\s*(?:\w+::)*Process\b")
BODY = re.compile(r"\s*(?:mutable\b\s*)?(?:noexcept\b\s*)?\{")
DANGLES = re.compile(r"\bconst\b[^*]*&|&&|\bstring_view\b|\bspan\s*<|\binitializer_list\s*<|\bauto\s*&&")
DRAW = re.compile(r"\b(?:uniform|normal|exponential|lognormal|triangular)\s*\(")
LOOSE_ARITHMETIC = re.compile(r"-ffast-math|-Ofast|-funsafe-math-optimizations|-fassociative-math")
OPEN, CLOSE = "([{", ")]}"


def blank(match: re.Match) -> str:
    return re.sub(r"[^\n]", " ", match[0])


def closing(text: str, start: int) -> int:
    """The place of the bracket that closes the one at `start`."""
    depth = 0
    for place in range(start, len(text)):
        depth += (text[place] in OPEN) - (text[place] in CLOSE)
        if depth == 0:
            return place
    return len(text) - 1


def statement_end(text: str, start: int) -> int:
    """The semicolon that ends the statement around `start`, or what closes around it before."""
    depth = 0
    for place in range(start, len(text)):
        if (text[place] == ";" and depth == 0) or depth < 0:
            return place
        depth += (text[place] in OPEN) - (text[place] in CLOSE)
    return len(text)


def split(arguments: str) -> list[str]:
    pieces, depth = [""], 0
    for character in arguments:
        depth += (character in "([{<") - (character in ")]}>")
        if character == "," and depth == 0:
            pieces.append("")
        else:
            pieces[-1] += character
    return [piece.strip() for piece in pieces if piece.strip()]


def wait_mistakes(code: str) -> Iterator[tuple[int, str]]:
    """What stands beside each co_await. Heads of if and for are looked at first, then blanked like labels."""
    for head in HEAD.finditer(code):
        end = closing(code, head.end() - 1) + 1
        for wait in AWAIT.finditer(code, head.start(), end):
            yield wait.start(), "co_await in a condition: give its result a name first"
        code = code[: head.start()] + re.sub(r"[^\n]", " ", code[head.start() : end]) + code[end:]
    code = LABEL.sub(blank, code)
    for wait in AWAIT.finditer(code):
        start = max(code.rfind(mark, 0, wait.start()) for mark in ";{}")
        before = code[start + 1 : wait.start()]
        after = code[wait.end() : statement_end(code, wait.end())]
        in_braces = start >= 0 and code[start] == "{" and not BEFORE_BLOCK.search(code[max(0, start - 200) : start])
        if in_braces or not ALONE.fullmatch(before):
            yield wait.start(), "co_await does not stand alone: write `const auto name = co_await thing;`"
        if AWAIT.search(after):
            yield wait.start(), "two co_awaits in one statement"
        if re.search(r"\?|&&|\|\|", after):
            yield wait.start(), "?:, && or || beside a co_await"
        for brace in re.finditer(r"(\w*)\s*\{", after):
            if brace[1] not in PLAIN:
                yield wait.start(), f"'{brace[1]}{{' beside a co_await: make it a named variable before"
        if DRAW.search(after):
            yield wait.start(), "a draw beside a co_await: draw into a named variable before"


def parameter_mistakes(code: str, opening: int) -> Iterator[tuple[int, str]]:
    for parameter in split(code[opening + 1 : closing(code, opening)]):
        declared = parameter.split("=")[0]
        if DANGLES.search(declared):
            yield opening, f"parameter '{declared.strip()}' of a coroutine can outlive its argument: take a value"


def coroutine_mistakes(code: str) -> Iterator[tuple[int, str]]:
    for match in COROUTINE.finditer(code):
        yield from parameter_mistakes(code, match.end() - 1)
    for match in CAPTURE.finditer(code):
        end = closing(code, match.end()) + 1
        body = BODY.match(code, end)
        if RETURNS_PROCESS.match(code, end):
            yield from parameter_mistakes(code, match.end())
            if match["capture"].strip():
                yield (
                    match.start(),
                    f"a coroutine lambda that captures [{match['capture'].strip()}]: pass it as an argument",
                )
        elif body and AWAIT.search(code, body.end(), closing(code, body.end() - 1)):
            inner = code[body.end() : closing(code, body.end() - 1)]
            if not RETURNS_PROCESS.search(inner):
                yield match.start(), "a coroutine lambda names its type: -> Process<>"


def mistakes(text: str) -> list[tuple[int, str]]:
    code = NOT_CODE.sub(blank, text)
    found = {*wait_mistakes(code), *coroutine_mistakes(code)}
    return sorted((text.count("\n", 0, place) + 1, why) for place, why in found)


def build_mistakes(text: str) -> list[tuple[int, str]]:
    """Flags that let the compiler re-associate: draws and results would depend on it. A line that refuses them is fine."""
    lines = enumerate(text.splitlines(), 1)
    return [
        (n, f"{found[0]} changes results")
        for n, line in lines
        if (found := LOOSE_ARITHMETIC.search(line)) and "if(" not in line and "message(" not in line
    ]


REFUSED = """
Process<> f(Room& r) { if (co_await r.x() == 7) go(); }
Process<> f(Room& r) { while (!(co_await r.x())) {} }
Process<> f(Room& r) { if (r.p && co_await r.x()) go(); }
Process<> f(Room& r) { for (int i = co_await r.x(); i < 3; ++i) go(); }
Process<> f(Room& r) { switch (co_await r.x()) { default: break; } }
Process<> f(Room& r) { do { go(); } while (co_await r.x()); }
Process<> f(Room& r) { const auto a = co_await r.x(Options{T(1), "a"}); }
Process<> f(Room& r) { co_await r.x({.a = T(1), .k = 5}); }
Process<> f(Room& r) { T a[2] = {co_await r.x(), T(1)}; }
Process<> f(Room& r) { Result a{co_await r.x()}; }
Process<> f(Room& r) { auto a = r.b ? T(co_await r.x()) : T(1); }
Process<> f(Room& r) { auto a = co_await (r.b ? r.x() : r.y()); }
Process<> f(Room& r) { auto a = co_await r.x() && r.b; }
Process<> f(Room& r) { auto a = co_await r.x() + co_await r.y(); }
Process<> f(Room& r) { EXPECT_EQ(co_await r.x(), 3); }
Process<> f(Room& r) { use(co_await r.x()); }
Process<> f(Room& r) { return_to(1), co_await r.x(); }
Process<> f(Room& r) { co_await r.clock.delay(Duration::from_minutes(exponential(key))); }
Process<> f(Room& r, const std::string& name);
Process<> f(Room& r, std::string&& name);
Process<> Room::f(std::string_view name) { co_return; }
farrowtide::Process<int> f(std::span<const int> n);
auto f = [&](Room& r) -> Process<> { co_return; };
auto f = [this, n](Room& r) mutable -> Process<> { co_return; };
auto f = [](const auto& r) -> Process<> { co_return; };
auto f = [](Room& r) { co_await r.x(); };
"""

PERMITTED = """
Process<> f(Room& r) { co_await r.x(); }
Process<> f(Room& r) { const auto fed = co_await r.x(); if (fed) go(); }
Process<> f(Room& r) { std::vector<std::pair<int, T>> list = co_await r.x(); }
Process<> f(Room& r) { auto [a, b] = co_await r.x(); r.seat = co_await r.y(); }
Process<> f(Room& r) { for (int i = 0; i < 3; ++i) co_await r.x(); }
Process<> f(Room& r) { for (;;) { co_await r.x(); } }
Process<> f(Room& r) { if (r.b && r.c) co_await r.x(); else co_await r.y(); }
Process<> f(Room& r) { switch (r.n) { case Kind::a: co_await r.x(); break; default: co_await r.y(); } }
Process<int> f(Room& r) { co_return co_await r.x(); }
Process<> f(Room& r) { co_await r.clock.until(Time{} + 3 * 1_d, Order::task); co_await r.request(Rank{2}); }
Process<> f(Room& r) { co_await any_of(r.clock.delay(1'000_s), r.bell.wait()); /* if (co_await x) */ }
Process<> f(Room& r) { note("if (co_await x)"); co_await r.x(); }
Process<> f(Room& r, std::string name, Rank rank = {}, const Sow* sow = nullptr);
auto f = [](Room& r, auto callee) -> Process<> { co_await callee(r); };
const auto f = [&](int n) { return n && ready; };
const auto make = [&](Room& r) { return [](Room& s) -> Process<> { co_await s.x(); }(r); };
"""


def self_test() -> list[str]:
    silent = [f"not noticed: {line}" for line in REFUSED.strip().splitlines() if not mistakes(line)]
    noisy = [
        f"refused without reason: {line}: {found}"
        for line in PERMITTED.strip().splitlines()
        if (found := mistakes(line))
    ]
    flags = (
        []
        if build_mistakes("add_compile_options(-Ofast)") and not build_mistakes("-O2")
        else ["loose arithmetic not noticed"]
    )
    return silent + noisy + flags


def tree_mistakes(root: Path) -> list[str]:
    sources = sorted(file for folder in ("libsim", "bindings", "tests") for file in (root / folder).rglob("*.[ch]pp"))
    builds = sorted(
        [
            root / "CMakePresets.json",
            root / "pyproject.toml",
            root / "CMakeLists.txt",
            *root.glob("*/**/CMakeLists.txt"),
        ]
    )
    if not any(AWAIT.search(file.read_text(encoding="utf-8")) for file in sources):
        return ["no file has a co_await: this check has nothing to look at"]
    found = [(file, mistakes) for file in sources] + [(file, build_mistakes) for file in builds]
    return [
        f"{file.relative_to(root)}:{line}: {why}"
        for file, check in found
        for line, why in check(file.read_text(encoding="utf-8"))
    ]


if __name__ == "__main__":
    found = self_test() if "--self-test" in sys.argv else tree_mistakes(Path(__file__).resolve().parent.parent)
    print("\n".join(found) or "every coroutine keeps the rules")
    sys.exit(1 if found else 0)
