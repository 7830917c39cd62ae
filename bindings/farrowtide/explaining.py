"""What a key of scenarios, a coefficient or an output means, in words."""

from __future__ import annotations

from farrowtide import _core
from farrowtide.outputs import Output, catalogue

_GRADES = {"A": "published", "B": "derived or fitted to published values", "C": "trade practice or assumption"}


def explain(key: str) -> str:
    """Meaning, unit, default, range, source and grade of a scenario's key ("feeding.times"), of a coefficient's path
    ("sow.herd.lactation_length") or of an output ("weaned_per_litter"). Raises UserError with a suggestion.
    """
    coefficients = _core.Coefficients.built_in()
    if coefficients.has(key):
        return _coefficient(coefficients.find(key))
    if key in (outputs := catalogue()):
        return _output(outputs[key])
    return _core.explain(key)


def _coefficient(found: _core.Coefficient) -> str:
    lines = [
        f"{found.path} [{found.unit}]: coefficient of the model",
        f"  value    {_listed(found.value)}",
        f"  range    {_listed(found.low)} to {_listed(found.high)}",
        f"  grade    {found.grade}: {_GRADES.get(found.grade, 'unknown')}",
        f"  source   {found.source}",
    ]
    return "\n".join([*lines, f"  note     {found.note}"] if found.note else lines)


def _listed(numbers: list[float]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)


def _output(output: Output) -> str:
    good = f"{output.good} is better" if output.good else "no direction is better in itself"
    note = f"\n  rests on  {output.note}" if output.note else ""
    return f"{output.name} [{output.unit}]: output: {output.label} ({output.group})\n  good      {good}\n  matters   from {output.negligible:g} {output.unit} (our own choice){note}"
