"""What every result is accompanied by: the caution, and the care that an alternative withholds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from farrowtide.errors import listed_names

# What every interval leaves out, in one sentence.
LEFT_OUT_OF_INTERVALS = "Intervals cover sampling variation only, not uncertainty in the model's parameters."

# Printed below results, in reports and descriptions, in JSON and provenance files, and in README.md: one text.
CAUTION = (
    "These are results of a model, not advice for a herd. Decide with the herd veterinarian, under local rules and "
    "licensed practice, on: internal examination and obstetrics; induction of farrowing, whose drugs are a hazard to "
    "those who handle them (women who are or may be pregnant, people with asthma); medicines, with their prescriptions, "
    "prudent use, records and withdrawal times; euthanasia; processing, moving and early weaning of piglets, with the age limits and "
    "pain relief of local law; making sows stand up, which is for people trained to handle sows, because piglets can be "
    "crushed when she lies down again; heat lamps (fire, burns) and drip cooling (wetting and chilling) near newborn "
    "piglets; heat, which sows die of; lowering the room temperature; changing the feed; and working alone, by day or by night. "
    + LEFT_OUT_OF_INTERVALS
)
# The same where some intervals hold more.
LEFT_OUT_WITH_DOUBT = (
    "Intervals cover sampling variation only, except those said to hold both doubts, which cover uncertainty in the model's "
    "parameters as well; none covers what the model leaves out."
)
LEFT_OUT_OF_CALIBRATION = (
    "Intervals are of the parameters that moved, as if everything else in the model and the scenario were right."
)
FOR_COMPARISON_ONLY = "for comparison only"

WithheldCare = Mapping[str, Sequence[str]]  # alternative -> phrases such as "sick sows are not treated"


def with_both_doubts(caution: str) -> str:
    """The caution of a result of which some intervals hold both doubts."""
    return caution.replace(LEFT_OUT_OF_INTERVALS, LEFT_OUT_WITH_DOUBT)


def of_calibration(caution: str) -> str:
    """The caution of a calibration, whose intervals are of parameters."""
    return caution.replace(LEFT_OUT_OF_INTERVALS, LEFT_OUT_OF_CALIBRATION)


def withheld_by(alternatives: Iterable[tuple[str, Sequence[str]]]) -> dict[str, list[str]]:
    """Alternative -> the care it withholds in any case, from (alternative, phrases) pairs; only those that withhold any."""
    withheld: dict[str, dict[str, None]] = {}
    for name, phrases in alternatives:
        withheld.setdefault(name, {}).update(dict.fromkeys(phrases))
    return {name: list(phrases) for name, phrases in withheld.items() if phrases}


def for_comparison_only(withheld_care: WithheldCare) -> list[str]:
    """A line for each kind of withheld care: "for comparison only: no rounds: births are not attended ..."."""
    names: dict[str, list[str]] = {}
    for name, phrases in withheld_care.items():
        names.setdefault("; ".join(phrases), []).append(name)
    return [f"{FOR_COMPARISON_ONLY}: {listed_names(some)}: {phrases}" for phrases, some in names.items()]


def marked(name: str, withheld_care: WithheldCare) -> str:
    """The name of an alternative in a table; one that withholds care has an asterisk, explained below the table."""
    return f"{name}*" if name in withheld_care else name


def qualified(name: str, withheld_care: WithheldCare) -> str:
    """The name of an alternative in a sentence."""
    return f"{name} ({FOR_COMPARISON_ONLY})" if name in withheld_care else name
