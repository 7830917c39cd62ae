"""What an output says of how it was made: where it stands in the output, and the schema by which it is read."""

from __future__ import annotations

import html
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from farrowtide.engine.result import ALL_TABLES
from farrowtide.errors import UserError
from farrowtide.limits import LEAST_DRAWS, MOST_DRAWS
from farrowtide.outputs.units import UNITS_PATTERN
from farrowtide.own_files import Count, Record, Seed, checked, json_in, read_text
from farrowtide.scenarios.recipe import ScenarioRecipe

BESIDE = "provenance.json"
_EMBEDDED = {  # between which texts, by the suffix of the file
    ".html": ('<pre id="provenance" hidden>', "</pre>"),
    ".svg": ("<dc:description>", "</dc:description>"),
}

Replications = Annotated[int, Field(ge=1, lt=2**31)]
Amount = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class _Recipe(Record):
    """What every recipe holds."""

    replications: Replications
    seed: Seed
    scenario: ScenarioRecipe


class _StudyRecipe(_Recipe):
    reference: str
    outputs: list[str] | None
    precision: dict[str, Amount]

    @property
    def of_both(self) -> dict[str, Any]:
        """The arguments that `compare` and `sweep` have in common."""
        return self.model_dump(include={"replications", "seed", *_StudyRecipe.__annotations__})


class CompareRecipe(_StudyRecipe):
    """The arguments of `compare`."""

    verb: Literal["compare"]
    alternatives: dict[str, dict[str, Any]] | None
    doubt_draws: Annotated[int, Field(ge=LEAST_DRAWS, le=MOST_DRAWS)] | None = None  # with doubt


class SweepRecipe(_StudyRecipe):
    """The arguments of `sweep`."""

    verb: Literal["sweep"]
    vary: dict[str, list[Any]]


class PartsRecipe(_Recipe):
    """The arguments of `parts`."""

    verb: Literal["parts"]
    outputs: list[str] | None


class RunRecipe(_Recipe):
    """The arguments of `run`, of which the labour report is made, too."""

    verb: Literal["run", "labour"]
    first_replicate: Count
    tables: list[Literal[ALL_TABLES]]  # type: ignore[valid-type]


class PairingRecipe(_Recipe):
    """The arguments of `pairing_table`."""

    verb: Literal["pairing"]
    reference: str
    outputs: list[str] | None
    cases: list[str] | None


class EachSowRecipe(_Recipe):
    """The arguments of `each_sow`."""

    verb: Literal["each-sow"]
    reference: str
    alternative: str
    case: str | None
    measures: Annotated[list[str], Field(min_length=1)] | None


class StoryRecipe(_Recipe):
    """The arguments of `story`."""

    verb: Literal["story"]
    sow: Annotated[int, Field(ge=1, lt=2**31)]
    replicate: Count
    alternative: str | None
    against: str | None
    case: str | None


class ReplayRecipe(_Recipe):
    """The arguments of `replay`."""

    verb: Literal["replay"]
    alternative: str | None
    against: str | None
    case: str | None
    replicate: Count
    group: Count | None


Recipe = Annotated[
    CompareRecipe | SweepRecipe | PartsRecipe | RunRecipe | PairingRecipe | EachSowRecipe | StoryRecipe | ReplayRecipe,
    Field(discriminator="verb"),
]


class Recorded(Record):
    """The provenance in an output. `recipe` alone decides what is run; the rest is compared."""

    model_config = ConfigDict(extra="ignore", strict=True, frozen=True)

    engine_version: str
    results_version: int
    commit: str
    coefficient_hash: str
    scenario: str
    scenario_hash: str
    overlaid_coefficients: list[str]
    own_policies: list[dict[str, str]] = Field(default_factory=list)
    seed: Seed
    replications: Count
    conservation_checks_passed: int
    command: str
    caution: str = ""
    withheld_care: dict[str, list[str]] = Field(default_factory=dict)
    calibration: dict[str, str | int] | None = None  # the file that the farm was calibrated with, and its records
    recipe: Recipe
    wanted_replications: Count | None = None  # where Ctrl-C stopped it before
    units: str = Field("si", pattern=UNITS_PATTERN)  # of what people read
    picture: (
        Literal["intake", "temperature", "farrowings", "work", "utilisation", "ranking", "trade_off", "by_key"] | None
    ) = None
    case: str | None = None  # of a picture of a sweep
    drawn: list[str] = Field(default_factory=list)  # outputs in it
    drawn_with: str = ""

    @property
    def stopped_early(self) -> bool:
        """Whether it says that Ctrl-C stopped it, which no recipe can tell."""
        return self.wanted_replications is not None and self.wanted_replications > self.recipe.replications


def recorded_in(path: Path) -> tuple[Recorded, dict[str, Any]]:
    """The provenance that an output carries in itself or beside it, checked, and as it is written there.

    Raises UserError where there is none, where it is damaged, and where it is of nothing that can be reproduced.
    """
    for source in (path, path / BESIDE, path / "report.html", path.parent / BESIDE):
        text = _text_in(source) if source.is_file() else None
        if text is None:
            continue
        written = json_in(text, source)
        if not isinstance(written, dict) or "recipe" not in written:
            raise UserError(f"{source}: has no recipe from which to reproduce it")
        return checked(Recorded, written, source), written
    raise UserError(f"{path}: has no provenance, and there is no {BESIDE} beside it")


def _text_in(file: Path) -> str | None:
    """The provenance as JSON; None for a file that carries none."""
    if file.name == BESIDE:
        return read_text(file)
    if file.suffix not in _EMBEDDED:
        return None
    before, after = _EMBEDDED[file.suffix]
    _, _, rest = read_text(file).partition(before)
    embedded, ended, _ = rest.partition(after)
    return html.unescape(embedded) if ended else None
