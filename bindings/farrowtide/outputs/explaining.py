"""What a name means in words: of an output, of a key of scenarios or of a coefficient."""

from __future__ import annotations

from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output
from farrowtide.scenarios import reference


def explain(key: str) -> str:
    """Meaning, unit, default, range, source and grade of a scenario's key ("feeding.times"), of a coefficient's path
    ("sow.herd.lactation_length") or of an output ("weaned_per_litter"). Raises UserError with a suggestion.
    """
    outputs = catalogue()
    return _output(outputs[key]) if key in outputs else reference.explain(key)


def _output(output: Output) -> str:
    good = f"{output.good} is better" if output.good else "no direction is better in itself"
    note = f"\n  rests on  {output.note}" if output.note else ""
    return f"{output.name} [{output.unit}]: output: {output.label} ({output.group})\n  good      {good}\n  matters   from {output.negligible:g} {output.unit} (our own choice){note}"
