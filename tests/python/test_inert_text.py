"""Text from files does nothing where it is shown: on the terminal, in Markdown, HTML, SVG and spreadsheets."""

import csv
import itertools
import json
import os
import re
import subprocess
import sys
import tempfile
import unicodedata
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

import farrowtide
from farrowtide import inert_text
from farrowtide.commands.main import main
from farrowtide.report.page import render

HOSTILE = (
    "[/b] [red]x[/red] :skull: \x1b[31mred\x1b[0m \x1b]0;title\x07 \x9b2J \r over \u202eright \u2066left \x7f"
    " $x^2$ $\\frac{ <script>alert(1)</script> [link](javascript:alert(1)) ![i](http://x.example/i.png) `code` | cell"
    " **bold** _em_ &lt; &#60; <!-- c --> \\"
)
OWN_TABLES = ("differences.csv", "outputs.csv", "provenance.json")  # beside a report, which links to them
ACTIVE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
pytestmark = (
    pytest.mark.filterwarnings(  # a font may lack a letter of the hostile text, which may leave no room for axes
        "ignore:Glyph:UserWarning", "ignore:constrained_layout:UserWarning"
    )
)


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def hostile_scenario(text=HOSTILE, **more):
    return {
        "title": f"T {text}",
        "room": {"crates": 1},
        "study": {"replications": 2},
        "alternatives": {f"A {text}": {}, f"B {text}": {"handling.day": 3}},
        "cases": {f"C {text}": {"room.crates": 2}},
        **more,
    }


@pytest.fixture(scope="module")
def hostile_file(tmp_path_factory):
    file = tmp_path_factory.mktemp("hostile") / "s.json"
    file.write_text(json.dumps(hostile_scenario()), encoding="utf-8")
    return file


# --- The functions ---


def test_ordinary_text_stays_as_it_is():
    for text in (
        "2 hand feeds, 06:00",
        "Fütterung à la carte 30 °C ±1",
        "日本語",
        "a_b (c) - d; e: 50 %",
        "[07:00, 15:00]",
        "2.7 kg/d",
        "#1",
    ):
        assert inert_text.visible(text) == inert_text.one_line(text) == inert_text.markdown(text) == text
        assert inert_text.in_spreadsheet(text) == text
        assert inert_text.markdown_code(text) == f"`{text}`"
    assert inert_text.markdown("-5 degC") == "-5 degC"


@given(st.text(st.characters(exclude_categories=())))
def test_no_text_is_active(text):
    shown = inert_text.visible(text)
    assert not ACTIVE.search(shown)
    assert not any(
        unicodedata.bidirectional(letter) in ("LRE", "RLE", "LRO", "RLO", "LRI", "RLI", "FSI") for letter in shown
    )
    assert json.loads(inert_text.visible(json.dumps(text, ensure_ascii=False))) == text
    assert inert_text.visible(shown) == shown


@given(st.text())
def test_markdown_is_only_text(text):
    """A parser that knows HTML, links, tables and code finds one paragraph of text."""
    parser = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    for frame in ("{}", "# {}: x", "- {}", "| {} |\n|---|\n| x |"):
        plain, found = (
            kinds(parser.parse(frame.format(words))) for words in ("word", inert_text.markdown(text) or "word")
        )
        assert found == plain, frame


@given(st.text())
def test_code_in_markdown_is_only_code(text):
    parser = MarkdownIt("commonmark", {"html": True}).enable(["table"])
    code = inert_text.markdown_code(text)
    if inert_text.one_line(text):
        found = [token for token in parser.parse(f"x {code} y")[1].children if token.type != "text"]
        assert [token.type for token in found] == ["code_inline"]


def kinds(tokens):
    """The kinds of all tokens, inline ones too; pieces of text side by side are one."""
    found = []
    for token in tokens:
        found.append(token.type)
        inside = ["text" if part.type == "text_special" else part.type for part in token.children or ()]
        found += [kind for at, kind in enumerate(inside) if kind != "text" or inside[at - 1 : at] != ["text"]]
    return found


def test_cells_of_a_spreadsheet_are_no_formulas(tmp_path):
    table = pd.DataFrame(
        {
            "name": ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "\uff1d1", "a=1", "'=1", None],
            "kind": pd.Categorical(["=x", "y"] * 5),
            "number": [-1.5, 2, 3, 4, 5, 6, 7, 8, 9, float("nan")],
        }
    )
    inert_text.write_csv(table, tmp_path / "table.csv")
    with (tmp_path / "table.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["name"] for row in rows] == [
        "'=1+1", "'+1", "'-1", "'@x", "' =1", "\\u000d=1", "'\uff1d1", "a=1", "'=1", "",
    ]  # fmt: skip
    assert {row["kind"] for row in rows} == {"'=x", "y"}
    assert rows[0]["number"] == "-1.5"


SEPARATORS = (",", ";", "\t")  # of cells, in spreadsheet programs of different countries
FORMULA = re.compile("^\\s*[=+\\-@\uff1d\uff0b\uff0d\uff20]")


@given(st.lists(st.text(st.sampled_from("=+-@;,\t\n\r \"'ax1\uff1d")), min_size=1, max_size=4), st.booleans())
def test_no_cell_is_a_formula_whatever_separates_cells(names, text_first):
    """Read with each separator, with quotation marks understood and not, no cell but a number looks like a formula."""
    columns = {"name": names, "number": [-1.5] * len(names)}
    table = pd.DataFrame(columns if text_first else dict(reversed(columns.items())))
    with tempfile.TemporaryDirectory() as folder:
        inert_text.write_csv(table, Path(folder, "table.csv"))
        written = Path(folder, "table.csv").read_text(encoding="utf-8")
    assert len(written.splitlines()) == 1 + len(names)
    lines = written.splitlines(keepends=True)
    for separator, quoting in itertools.product(SEPARATORS, (csv.QUOTE_MINIMAL, csv.QUOTE_NONE)):
        if (separator, quoting) == (",", csv.QUOTE_NONE):
            continue  # the separator of the file, whose quotation marks every program understands
        for row in csv.reader(lines, delimiter=separator, quoting=quoting):
            assert not any(FORMULA.match(cell) and not cell.strip().startswith("-1.5") for cell in row), (row, written)
    rows = list(csv.DictReader(lines))
    assert [row["number"] for row in rows] == ["-1.5"] * len(names)


# --- The terminal ---


@pytest.mark.parametrize(
    "words",
    [
        ["run"],
        ["run", "-n", 2],
        ["run", "--trace"],
        ["labour", "-n", 2],
        ["compare", "-n", 2],
        ["pairing", "-n", 2],
        ["each-sow", "--alternative", f"B {HOSTILE}", "-n", 2],
        ["pick", "--output", "intake", "--indifference", "9", "-n", 40],
        ["sweep", "--vary", "handling.day=5", "-n", 2, "--pareto", "intake,labour"],
        ["describe"],
        ["check"],
        ["run", "--json"],
        ["compare", "--json", "-n", 2],
    ],
    ids=lambda words: " ".join(map(str, words))[:24],
)
def test_nothing_in_a_scenario_acts_on_the_terminal(words, hostile_file, tmp_path):
    out = ["--out", tmp_path / "out"] if words[0] == "compare" else []
    done = call(words[0], hostile_file, *words[1:], *out)
    assert done.exit_code == 0, done.output
    assert not ACTIVE.search(done.output)
    if "--json" in words:
        assert HOSTILE in json.dumps(json.loads(done.stdout)["provenance"]["recipe"]["scenario"]["text"]) or json.loads(
            done.stdout
        )


@pytest.mark.parametrize(
    "words",
    [
        ["run", "FILE", "--alternative", "\x1b[31mx"],
        ["run", "FILE", "--case", "\x1b[31mx"],
        ["run", "FILE", "--set", "\x1b[31mx=1"],
        ["run", "FILE", "--set", "title=\u202e", "--set", "room.crates=\x1b[31m"],
        ["run", "\x1b[31mx.yaml"],
        ["check", "\x1b[31mx.yaml"],
        ["explain", "\x1b[31mx"],
        ["compare", "FILE", "--output", "\x1b[31mx"],
        ["compare", "FILE", "--precision", "\x1b[31mx=1"],
        ["\x1b[31mx"],
        ["run", "FILE", "-\x1b[31mx"],
        ["run", "FILE", "--units", "\x1b[31mx"],
    ],
)
def test_no_error_message_acts_on_the_terminal(words, hostile_file):
    done = call(*(hostile_file if word == "FILE" else word for word in words))
    assert done.exit_code == 2, done.output
    assert not ACTIVE.search(done.output)


FORGED = "x\nerror: forged\twarning: forged"


@pytest.mark.parametrize(
    "words",
    [
        ["run", "FILE", "--alternative", FORGED],
        ["run", "FILE", "--case", FORGED],
        ["run", "FILE", "--set", f"{FORGED}=1"],
        ["run", "FILE", "--set", f"room.crates={FORGED}"],
        ["run", "FILE", "--set", f"study.reference={FORGED}"],
        ["run", FORGED],
        ["run", "NAMED"],
        ["check", "NAMED"],
        ["check", "NAMED", "FILE"],
        ["describe", "NAMED"],
        ["run", "FILE", "--policies", "NAMED"],
        ["run", "FILE", "--coefficients", "NAMED"],
        ["reproduce", "NAMED"],
        ["explain", FORGED],
        [FORGED],
        ["run", "FILE", f"--{FORGED}"],
        ["run", "FILE", "--units", FORGED],
        ["compare", "FILE", "--output", FORGED],
        ["compare", "FILE", "--precision", f"{FORGED}=1"],
        ["compare", "FILE", "--study", "NAMED FOLDER"],
        ["run", "FILE", "--out", "NAMED/x"],
        ["check", "MISTAKEN"],
    ],
)
def test_no_name_begins_a_line_of_its_own_in_a_message(words, hostile_file, tmp_path):
    named = tmp_path / FORGED
    (tmp_path / "m.json").write_text(json.dumps({"title": "t", FORGED: FORGED, "study": {"reference": FORGED}}))
    if "NAMED FOLDER" in words:
        named.mkdir()
        (named / "other").touch()
    else:
        named.write_text("title: t\n")
    paths = {"FILE": hostile_file, "NAMED": named, "NAMED FOLDER": named, "NAMED/x": named / "x"}
    done = call(*((paths | {"MISTAKEN": tmp_path / "m.json"}).get(word, word) for word in words))
    assert done.exit_code == 2, done.output
    assert "forged" in done.output
    for line in done.output.splitlines():
        assert not line.lstrip(" │").startswith(("error: forged", "warning: forged")), done.output
        assert "\t" not in line


@pytest.mark.parametrize("verb", ["run", "labour", "compare", "pairing", "describe", "check"])
def test_no_title_or_name_begins_a_message_of_its_own(verb, tmp_path):
    file = tmp_path / "s.json"
    file.write_text(json.dumps(hostile_scenario(FORGED)), encoding="utf-8")
    out = ["--out", tmp_path / "out"] if verb == "compare" else []
    done = call(verb, file, *(["-n", 2] if verb not in ("describe", "check") else []), *out)
    assert done.exit_code == 0, done.output
    assert not [line for line in done.output.splitlines() if line.startswith(("error: forged", "warning: forged"))]


@pytest.mark.parametrize("key", ["source", "path"])
def test_a_recipe_names_files_on_one_line(key, tmp_path):
    scenario = tmp_path / "s.yaml"
    scenario.write_text("title: t\nroom: {crates: 1}\n")
    assert call("run", scenario, "-n", 1, "--out", tmp_path / "out", "--quiet").exit_code == 0
    file = tmp_path / "out/provenance.json"
    held = json.loads(file.read_text(encoding="utf-8"))
    if key == "source":
        held["recipe"]["scenario"]["source"] = FORGED
    else:
        held["recipe"]["scenario"]["policies"] = [{"path": FORGED, "text": ""}]
    file.write_text(json.dumps(held))
    done = call("reproduce", file)
    assert done.exit_code == 2
    assert "Input should be a name without control characters" in done.output
    assert not [line for line in done.output.splitlines() if line.startswith("error: forged")]


def test_mistakes_in_a_file_are_shown_inert(tmp_path):
    (tmp_path / "s.yaml").write_text(
        'title: "\\e[31m"\nroom: {crates: "\\e[2J"}\n"\\e[31mkey": 1\nx\u202ey: 2\n', encoding="utf-8"
    )
    done = call("check", tmp_path / "s.yaml")
    assert done.exit_code == 2
    assert "room.crates" in done.output
    assert not ACTIVE.search(done.output)
    found = json.loads(call("check", tmp_path / "s.yaml", "--json").stdout)
    assert "\x1b[31mkey" in {mistake["key"] for mistake in found["files"][0]["mistakes"]}


def test_an_own_policys_words_do_not_act_on_the_terminal(tmp_path):
    (tmp_path / "rules.py").write_text(
        "from farrowtide.policies import Handling\n\n\nclass Mine(Handling):\n    name = 'mine'\n\n"
        "    def share_of_processing(self, view):\n        raise ValueError('\\udc80 \\x1b[31m')\n"
    )
    scenario = "title: t\nroom: {crates: 1}\nhandling: {kind: mine}\n"
    (tmp_path / "s.yaml").write_text(scenario)
    done = call("run", tmp_path / "s.yaml", "--policies", tmp_path / "rules.py")
    assert done.exit_code == 2, done.output
    assert "Mine.share_of_processing: ValueError: \\udc80 \\u001b[31m" in done.output


@pytest.mark.parametrize(
    "words",
    [["run"], ["compare", "-n", "2"], ["compare", "-n", "2", "--json"], ["describe"], ["check", "missing\udcff"]],
)
def test_a_terminal_without_unicode_gets_escapes(words, tmp_path):
    file = tmp_path / "s.yaml"
    file.write_text(
        'title: "Räume ± 日本"\nroom: {crates: 1}\nalternatives: {"ä": {}, "b": {handling.day: 3}}\n', encoding="utf-8"
    )
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "farrowtide",
            words[0],
            *([file] if len(words) < 2 or "-n" in words else []),
            *words[1:],
        ],
        env=os.environ | {"PYTHONIOENCODING": "ascii", "COLUMNS": "80"},
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert b"Traceback" not in done.stderr
    assert done.returncode == (2 if "check" in words else 0), done.stderr
    if "--json" in words:
        assert json.loads(done.stdout)["differences"][0]["alternative"] == "b"
    done.stdout.decode("ascii")


# --- Documents ---


def test_a_description_holds_no_markup_of_the_scenario(tmp_path):
    """Names that look like Markdown or HTML leave the structure of the document as it is."""
    parser = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    with_html = HOSTILE.replace("\r", "\n\n# Heading\n\n```\n")
    texts = []
    for text in ("plain", with_html, "=x\n\n[a]: http://x.example", "1. <b>", "# x", "]( x"):
        file = tmp_path / "s.json"
        file.write_text(json.dumps(hostile_scenario(text)))
        texts.append(kinds(parser.parse(farrowtide.describe(farrowtide.load(file)).text)))
    for text in texts[1:]:
        assert [kind for kind in text if kind != "softbreak"] == [kind for kind in texts[0] if kind != "softbreak"]


def test_a_command_cannot_leave_its_block_of_code(tmp_path):
    file = tmp_path / "s.yaml"
    file.write_text(json.dumps(hostile_scenario("x")))
    overridden = farrowtide.load(file).override({"title": "a\n```\n<script>"})
    assert "\n<script>" not in farrowtide.describe(overridden).text


def test_reports_and_pictures_hold_no_active_letters(hostile_file, tmp_path):
    compared = farrowtide.compare(farrowtide.load(hostile_file), replications=2)
    page = render(compared)
    assert not ACTIVE.search(page)
    assert "<script>" not in page
    embedded = re.search(r'<pre id="provenance" hidden>(.*?)</pre>', page, re.DOTALL)[1]
    assert "\\u202e" in embedded
    for name in ("differences", "intake", "farrowings", "work", "utilisation"):
        picture = getattr(compared, f"plot_{name}")()
        picture.save(tmp_path / "x.svg")
        text = (tmp_path / "x.svg").read_text(encoding="utf-8")
        assert not ACTIVE.search(text)
        assert not [
            e for e in ElementTree.fromstring(text).iter() if e.tag.endswith(("script", "image", "foreignObject"))
        ]
    compared.write_report(tmp_path / "out")
    assert farrowtide.__version__
    from farrowtide.results.reproduce import reproduce

    assert reproduce(tmp_path / "out").same


class Elements(HTMLParser):
    """Every element of a page with its attributes."""

    def __init__(self, page):
        super().__init__()
        self.found = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))


def test_a_parser_finds_nothing_that_acts_in_a_report(tmp_path):
    """Neither script, nor handlers of events, frames or addresses elsewhere, whatever the names hold."""
    attempts = (
        '"><img src=http://x.example/i.png onerror=alert(1)>', "' onmouseover='alert(1)", "</pre><script>alert(1)</script>",
        "</title><svg onload=alert(1)>", "javascript:alert(1)", "--><iframe src=//x.example>", "]]><script/>",
        "</style><style>@import url(http://x.example)</style>", "&quot; onclick=alert(1) x=&quot;", "</desc><a href=//x>",
    )  # fmt: skip
    pages = {}
    for name, text in {"plain": "", "hostile": " ".join(attempts)}.items():
        file = tmp_path / f"{name}.json"
        alternatives = {f"A {text}": {}, f"B {text}": {"feeding": {"kind": "full_access"}}}  # so that pictures differ
        scenario = hostile_scenario(text, question=f"Q {text}", alternatives=alternatives)
        file.write_text(json.dumps(scenario), encoding="utf-8")
        compared = farrowtide.compare(farrowtide.load(file), replications=2)
        pages[name] = Elements(render(compared)).found
        compared.plot_intake().save(tmp_path / f"{name}.svg")
    tags = {name: [tag for tag, _ in found] for name, found in pages.items()}
    assert tags["hostile"] == tags["plain"]
    pictures = [
        Elements(unquote(attributes["src"].partition(",")[2])).found
        for tag, attributes in pages["hostile"]
        if tag == "img"
    ]
    assert pictures
    pictures.append(Elements((tmp_path / "hostile.svg").read_text(encoding="utf-8")).found)
    for found in (pages["hostile"], *pictures):
        for tag, attributes in found:
            assert tag not in ("script", "iframe", "object", "embed", "base", "link", "form", "foreignobject", "image")
            assert not [name for name in attributes if name.startswith("on")], (tag, attributes)
            for name in attributes.keys() & {"src", "href", "xlink:href", "action", "srcset"}:
                assert attributes[name].startswith(("#", "data:image/svg+xml,", *OWN_TABLES)), (tag, attributes)
            if tag == "meta":
                assert attributes.get("http-equiv", "").lower() != "refresh"


def test_a_story_shows_names_as_letters(hostile_file, tmp_path):
    """On the terminal, as text and as a page, whose elements are those of a story with plain names."""
    plain_file = tmp_path / "plain.json"
    plain_file.write_text(json.dumps(hostile_scenario("x")), encoding="utf-8")
    pages = {}
    for name, file in {"plain": plain_file, "hostile": hostile_file}.items():
        scenario = farrowtide.load(file)
        own, other = scenario.alternatives
        told = farrowtide.story(scenario, 1, alternative=own, against=other, case=scenario.cases[0])
        assert not ACTIVE.search(told.text())
        assert not ACTIVE.search(told._repr_html_())
        assert "<script" not in told._repr_html_()
        pages[name] = told.write(tmp_path / f"{name}.html").read_text(encoding="utf-8")
        done = call("story", file, "--sow", 1, "--alternative", own, "--against", other, "--case", scenario.cases[0])
        assert done.exit_code == 0, done.output
        assert not ACTIVE.search(done.output)
    assert not ACTIVE.search(pages["hostile"])
    found = {name: Elements(page).found for name, page in pages.items()}
    assert [tag for tag, _ in found["hostile"]] == [tag for tag, _ in found["plain"]]
    assert not [attributes for _, attributes in found["hostile"] if any(name.startswith("on") for name in attributes)]


def test_names_that_look_like_formulas_are_text_in_tables(tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}})
    compared = farrowtide.compare(scenario, {"=cmd|' /C calc'!A0": {}, "@b": {"handling.day": 3}}, replications=2)
    compared.write_report(tmp_path)
    for name in ("differences", "outputs"):
        for row in csv.reader((tmp_path / f"{name}.csv").read_text(encoding="utf-8").splitlines()):
            assert not [cell for cell in row if cell.startswith(("=", "+", "@", "\t")) or re.match("-[^0-9.]", cell)]


def test_every_table_is_written_by_the_one_function():
    package = Path(farrowtide.__file__).parent
    writers = [
        str(file.relative_to(package))
        for file in package.rglob("*.py")
        if ".to_csv(" in file.read_text(encoding="utf-8")
    ]
    echoing = [
        file.name for file in (package / "commands").glob("*.py") if "click.echo(" in file.read_text(encoding="utf-8")
    ]
    assert (writers, echoing) == (["inert_text.py"], ["printing.py"])
