"""The protocol of a scenario as a document: Markdown, HTML and plain values."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup, escape

from farrowtide.cautions import CAUTION
from farrowtide.engine.provenance import engine
from farrowtide.inert_text import markdown, markdown_code, visible
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import AS_WRITTEN, count, warning_in
from farrowtide.report.protocol.lines import NOT_GRADED, Chapter, chapters
from farrowtide.report.protocol.phrases import BLANK, Language, Phrases, phrases_of
from farrowtide.report.protocol.plans import Table, tables
from farrowtide.report.protocol.values import Values, declared
from farrowtide.report.templating import template
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.whole_files import make_folder, write_text


@dataclass(frozen=True)
class Trace:
    """Where the value of a key comes from."""

    key: str
    value: str
    origin: str
    grade: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Heading:
    """What stands above a protocol or a set of sheets."""

    title: str
    question: str
    alternative: str
    case: str
    source: str
    date: str  # BLANK where it is not given
    version: str
    for_comparison_only: str


@dataclass(frozen=True)
class Protocol:
    """What is done in a room, by whom, when and up to which limit, with the key of the scenario behind each line."""

    heading: Heading
    chapters: tuple[Chapter, ...]
    tables: tuple[Table, ...]
    traces: tuple[Trace, ...]
    warnings: tuple[str, ...]
    phrases: Phrases

    def __repr__(self) -> str:
        steps = sum(len(chapter.steps) for chapter in self.chapters)
        return one_line("Protocol", self.heading.title, count(steps, "step"))

    @cached_property
    def markdown(self) -> str:
        """The protocol in Markdown."""
        return markdown_template("protocol.md.jinja").render(protocol=self, text=self.phrases, NOT_GRADED=NOT_GRADED)

    @cached_property
    def html(self) -> str:
        """The protocol as a page to print."""
        return html_template("protocol.html.jinja").render(protocol=self, text=self.phrases)

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it."""
        plain = {key: value for key, value in asdict(self).items() if key != "phrases"}
        return plain | {"caution": CAUTION}

    def write(self, folder: Path) -> list[Path]:
        """Writes protocol.html and protocol.md, creating the folder."""
        return write_both(folder, "protocol", self.html, self.markdown)


def write_both(folder: Path, name: str, page: str, text: str) -> list[Path]:
    """Writes a document as HTML and as Markdown."""
    make_folder(folder)
    files = [folder / f"{name}.html", folder / f"{name}.md"]
    for file, content in zip(files, (page, text), strict=True):
        write_text(file, content)
    return files


def protocol(
    scenario: GivenScenario,
    *,
    language: Language = None,
    units: str = "as_written",
    date: str = "",
    version: str = "",
) -> Protocol:
    """The protocol of a scenario, with one of its alternatives chosen where it has any. Nothing is simulated.

    `units`: "as_written", "si" or "us"; `language`: a file of phrases; `date` and `version` are printed as given, a blank
    where they are empty. Raises UserError.
    """
    scenario = as_scenario(scenario)
    values = Values(scenario, phrases_of(language), units)
    of_chapters, of_tables = chapters(values), tables(values)
    used: dict[str, list[str]] = {}
    for chapter in of_chapters:
        for step in chapter.steps:
            for key in step.keys:
                used.setdefault(key, []).append(step.number)
    for table in of_tables:
        for key in table.keys:
            used.setdefault(key, []).append(values.phrases(f"tables.{table.name}"))
    return Protocol(
        heading(values, date=date, version=version),
        tuple(of_chapters),
        tuple(of_tables),
        tuple(_trace(values, key, steps) for key, steps in used.items()),
        tuple(str(warning_in(values.units, warning)) for warning in of_scenario(scenario)),
        values.phrases,
    )


def heading(values: Values, *, date: str, version: str) -> Heading:
    """What stands above the document."""
    scenario, text = values.scenario, values.phrases
    source = text(
        "document.source_text",
        file=scenario.source_name,
        scenario=scenario.hash,
        coefficients=scenario.coefficient_hash,
        program=engine()["engine_version"],
    )
    withheld = "; ".join(scenario.withheld_care)
    return Heading(
        title=scenario.title,
        question=scenario.question,
        alternative=scenario.chosen_alternative or text("document.as_written"),
        case=scenario.chosen_case or "",
        source=source,
        date=date or BLANK,
        version=version or BLANK,
        for_comparison_only=text("document.for_comparison_only", what=withheld) if withheld else "",
    )


def _trace(values: Values, key: str, steps: list[str]) -> Trace:
    text, setting, found = values.phrases, values.settings.get(key), declared(values, key)
    if setting is None:
        origin, value = text("document.default"), NOT_GRADED
    else:
        value = setting.written if values.asked_units == AS_WRITTEN else setting.value
        in_file = setting.line and setting.file == values.scenario.source_name and setting.file != "mapping"
        given = text("document.line", line=setting.line) if in_file else text("document.given")
        origin = given if setting.given else text("document.default")
    grade = f"{found.grade}: {found.source}" if found and found.grade and found.source else NOT_GRADED
    if setting and setting.given and grade != NOT_GRADED:
        grade = text("document.of_default", grade=grade)
    return Trace(key, value, origin, grade, tuple(dict.fromkeys(steps)))


@cache
def markdown_template(name: str) -> jinja2.Template:
    """A template of Markdown; its filters make text from files harmless."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("farrowtide.report", "templates"),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"text": markdown, "code": markdown_code}
    return environment.get_template(name)


@cache
def html_template(name: str) -> jinja2.Template:
    """A template of a page with a filter that draws blanks as lines to write on."""
    return template(name, lines=_lines)


def _lines(text: str) -> Markup:
    """The text with each blank as a line to write on."""
    blank = Markup(f'<span class="blank">{BLANK}</span>')
    return blank.join(escape(visible(part)) for part in text.split(BLANK))
