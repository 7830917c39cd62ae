"""Explains a name: an output, a key of scenarios or a coefficient."""

from __future__ import annotations

from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue, money
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import output_named
from farrowtide.scenarios import reference


def explain(key: str) -> str:
    """Explains a key of scenarios ("feeding.times"), a coefficient ("sow.herd.lactation_length") or an output
    ("weaned_per_litter", or a word of its name such as "weaned") in a few lines: meaning, unit, default, range, source
    and grade, as far as it has them.

    Raises UserError with a suggestion if there is no such name.
    """
    outputs = {output.name: output for output in money.declared()} | catalogue()
    if key in outputs:
        return _output(outputs[key])
    try:
        return reference.explain(key)
    except UserError as no_key:
        if "." in key:  # no output's name holds one
            raise
        try:
            return _output(output_named(key, outputs.values()))
        except UserError as no_output:
            raise UserError(f"{no_key} Among the outputs, {no_output}") from None


def _output(output: Output) -> str:
    lines = [
        f"{output.name} [{output.unit}]: output: {output.label} ({output.group})",
        f"  direction {output.good or 'neither'} is better",
        f"  matters   differences of {_matters(output)}",
    ]
    return "\n".join([*lines, f"  evidence  {output.note}"] if output.note else lines)


def _matters(output: Output) -> str:
    if output.unit == money.CURRENCY:
        return "prices.matters_per_litter or more (`farrowtide explain prices.matters_per_litter`)"
    return f"{output.negligible:g} {output.unit} or more (a choice of this project)"
