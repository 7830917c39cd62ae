"""Parses texts such as "intake=0.05" into outputs and numbers, with errors that say what to type."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from farrowtide.errors import UserError, did_you_mean
from farrowtide.outputs.output import Output, in_sentence
from farrowtide.outputs.units import unit_in

_IN_MONEY = ("margin", "income", "cost")  # of the names of outputs that a scenario has only with prices
_LIMIT = re.compile(r"(?P<word>[^<>=]+)(?P<sense><=|>=)(?P<value>[^<>=]+)")


def output_named(word: str, outputs: Iterable[Output]) -> Output:
    """The output with this name; otherwise the only headline, the only one of all sows, or the only output whose name
    contains the word.

    Case does not matter, and spaces and hyphens stand for "_". Raises UserError with the candidates or a suggestion.
    """
    known = {output.name: output for output in outputs}
    wanted = re.sub(r"[\s-]+", "_", word.strip().lower())
    if wanted in known:
        return known[wanted]
    holding = [output for output in known.values() if wanted and wanted in output.name]
    headlines = [output for output in holding if output.group == "headline"]
    of_all_sows = [output for output in holding if output.group == "further"]
    candidates = headlines or (of_all_sows if len(of_all_sows) == 1 else holding)
    if len(candidates) == 1:
        return candidates[0]
    if candidates:
        names = ", ".join(output.name for output in candidates)
        raise UserError(f"'{word.strip()}' can mean several outputs: {names}")
    if any(part in wanted for part in _IN_MONEY):
        raise UserError(
            f"'{word.strip()}' has no price: outputs in money need the section `prices:` in the scenario, with a price "
            "for each thing that is to count (`farrowtide explain prices`)"
        )
    suggestion = did_you_mean(wanted, known) or did_you_mean(
        wanted, {part for name in known for part in name.split("_")}
    )
    raise UserError(f"no output is called '{word.strip()}' (see `farrowtide outputs`).{suggestion}")


def above_zero(text: str, *, whole_text: str, what: str) -> float:
    """A finite number above 0. Errors (UserError) quote `whole_text` and call the number `what`."""
    value = number(text, whole_text=whole_text, what=what)
    if value <= 0:
        raise UserError(f"'{whole_text}': {what} must be above 0")
    return value


def number(text: str, *, whole_text: str, what: str) -> float:
    """A finite number; `whole_text` and `what` as in above_zero. Raises UserError."""
    try:
        value = float(text)
    except ValueError:
        raise UserError(f"'{whole_text}': {what} must be a number, not '{text.strip()}'") from None
    if not math.isfinite(value):
        raise UserError(f"'{whole_text}': {what} must be finite")
    return value


def amounts(texts: Sequence[str], outputs: Iterable[Output], *, what: str, example: str) -> dict[str, float]:
    """Parses texts such as "intake=0.05" into {output name: number above 0}, in their order.

    Errors (UserError) call the number `what` and give the `example`.
    """
    outputs = list(outputs)
    amount_by_output: dict[str, float] = {}
    for text in texts:
        word, equals, value = text.partition("=")
        if not equals:
            raise UserError(f"'{text}': write an output and {what}, for example {example}")
        output = output_named(word, outputs)
        if output.name in amount_by_output:
            raise UserError(f"'{text}': {output.name} is given twice")
        amount_by_output[output.name] = above_zero(value, whole_text=text, what=f"{what} [{output.unit}]")
    return amount_by_output


def half_widths(texts: Sequence[str], outputs: Iterable[Output]) -> dict[str, float]:
    """Parses precision targets such as "intake=0.05" into {output name: half-width of the 95 % interval, in its unit}.

    A word may stand for an output as in output_named. Raises UserError.
    """
    return amounts(texts, outputs, what="the half-width", example="intake=0.05")


@dataclass(frozen=True)
class Limit:
    """A limit on the mean of an output, in the output's unit."""

    output: Output
    sense: Literal["<=", ">="]
    value: float

    def __str__(self) -> str:
        return f"{self.output.name} {self.sense} {self.value:g}"

    def shown(self, units: str) -> str:
        """As it was written, or with the value in US units: "sow weight loss <= 44.1 lb"."""
        if unit_in(units, self.output.unit) == self.output.unit:
            return str(self)
        value = f"{self.output.value_in(units, self.value):.3g} {self.output.shown_unit(units)}"
        return f"{in_sentence(self.output.label)} {self.sense} {value}"


def limit(text: str, outputs: Iterable[Output]) -> Limit:
    """Parses a limit such as "labour_min_per_litter <= 110". Raises UserError."""
    parts = _LIMIT.fullmatch(
        text.replace("\N{LESS-THAN OR EQUAL TO}", "<=").replace("\N{GREATER-THAN OR EQUAL TO}", ">=")
    )
    if parts is None:
        raise UserError(f"'{text}': write an output, <= or >=, and a number, for example labour_min_per_litter <= 110")
    output = output_named(parts["word"], outputs)
    sense: Literal["<=", ">="] = "<=" if parts["sense"] == "<=" else ">="
    return Limit(output, sense, number(parts["value"], whole_text=text, what=f"the limit [{output.unit}]"))
