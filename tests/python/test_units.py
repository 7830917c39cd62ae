"""Every command in US units, and in those of its file: nothing that people read is in another; what programs read is SI."""

import html
import json
import re
from urllib.parse import unquote

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import _core
from farrowtide.analysis.each_sow import chosen_measures
from farrowtide.commands.main import main
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.outputs.units import (
    US_UNITS,
    as_written,
    clock,
    count,
    duration,
    recorded,
    rounded_up,
    sentence_in,
    settings_in,
    unit_in,
    units_of,
    us_dimensions,
    value_in,
    warning_in,
)
from farrowtide.report.wording.study import policies_as_written, precision_reached
from farrowtide.results import reproduce
from farrowtide.scenarios.plausibility.facts import Facts
from farrowtide.study.stopping import Reached

METRIC = re.compile(r"(?<!\w)(kg|g|degC|°C|litres?|L|mm|cm|K)(?!\w)(?!/kg)")
SCENARIO = """
title: A warm room
question: What does a warmer room cost?
study: {replications: 4, seed: 1, outputs: [intake, weight_loss_kg, water, backfat, litter_weight_at_weaning_kg]}
room: {crates: 6, trough_capacity: 2 kg}
temperature: {farrowing: 75 degF, later: 24}
feeding: {allowance: {start: 6 lb/d, step: 1 lb/d, max: 7 kg/d}}
alternatives:
  as it is: {}
  warm:
    temperature: {kind: constant, set_point: 78 degF}
    feeding: {allowance: {rule: flat, amount: 4}}
  by trough:
    temperature: {kind: weather_led, farrowing: 75 degF, later: 20}
    feeding: {allowance: {rule: by_trough}, night_top_up: "22:00"}
    water: {action_limit: 1 L/min}
"""
STUDY = ["--precision", "intake=0.01", "--no-worse", "weight_loss_kg=1"]
SWEEP = ["--vary", "temperature.farrowing=68 degF,76 degF", "--best", "weight_loss_kg", "--limit", "weight_loss_kg<=1",
         "--limit", "intake>=5", "--pareto", "intake,weight_loss_kg"]  # fmt: skip
COMMANDS = {
    "check": [],
    "run": ["-n", "3"],
    "run --trace": [],
    "compare": ["-n", "4", *STUDY],
    "sweep": ["-n", "4", *SWEEP],
    "pick": ["--output", "intake", "--indifference", "0.1", "-n", "25"],
    "labour": ["-n", "3"],
    "each-sow": ["--alternative", "warm", "-n", "4"],
    "pairing": ["-n", "4"],
}
WITH_FILES = ("compare", "sweep", "labour", "each-sow")


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("scenario") / "warm.yaml"
    path.write_text(SCENARIO, encoding="utf-8")
    return path


def said(command, file, *further):
    arguments = [*command.split(), str(file), *COMMANDS[command], *further]
    done = CliRunner().invoke(main, arguments, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done


def metric_in(text):
    return [match.group(0) for match in re.finditer(rf".{{0,40}}{METRIC.pattern}.{{0,20}}", text)]


def drawn(svg):
    """The texts of a picture, which are drawn as paths under a comment."""
    return "\n".join(html.unescape(text) for text in re.findall(r"<!-- (.*?) -->", svg, re.DOTALL))


def texts(value):
    """The sentences in JSON, without the provenance and without tables, whose texts are names and units."""
    if isinstance(value, dict):
        return [text for part in value.values() for text in texts(part)]
    if isinstance(value, list):
        return [text for part in value for text in texts(part)]
    return [value] if isinstance(value, str) and " " in value else []


@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_that_is_read_has_a_metric_unit_left(command, file, tmp_path):
    out = ["--out", str(tmp_path / "out")] if command in WITH_FILES else []
    text = said(command, file, "--units", "us", *out).output
    assert metric_in(text) == []
    if command != "pairing" and command != "labour":
        assert re.search(r"\d (lb|degF|gal|inch)|\[(lb|gal|inch)", text)  # there was something to convert
    pictures = [picture.read_text(encoding="utf-8") for picture in tmp_path.glob("out/*.svg")]
    for page in (page.read_text(encoding="utf-8") for page in tmp_path.glob("out/*.html")):
        pictures += [unquote(html.unescape(data)) for data in re.findall(r"svg\+xml,([^\"]+)", page)]
        shown = re.sub(
            r'<pre id="provenance".*?</pre>|<style>.*?</style>|(?:base64|utf-8|svg\+xml),[^"]+',
            "",
            page,
            flags=re.DOTALL,
        )
        assert metric_in(html.unescape(re.sub(r"<(?!img)[^>]*>", " ", shown))) == []
        assert "lb/d" in shown
    assert bool(pictures) == bool(out)
    assert [metric_in(drawn(picture)) for picture in pictures] == [[]] * len(pictures)
    if command in ("compare", "sweep", "each-sow"):
        assert "lb" in " ".join(map(drawn, pictures))


@pytest.mark.parametrize("command", COMMANDS)
def test_json_has_us_units_in_sentences_and_metric_ones_in_tables(command, file, tmp_path):
    out = ["--out", str(tmp_path)] if command == "compare" else []
    us, si = (json.loads(said(command, file, "--json", "--units", units, *out).stdout) for units in ("us", "si"))
    for given in (us, si):
        given.pop("provenance", None)
    assert [text for text in texts(us) if METRIC.search(text)] == []

    def numbers(value):
        if isinstance(value, dict | list):
            parts = value.values() if isinstance(value, dict) else value
            return [number for part in parts for number in numbers(part)]
        return [value] if isinstance(value, int | float) else []

    assert numbers(us) == numbers(si)


SIZES = ["difference", "ci_low", "ci_high", "p10", "median", "p90"]


def test_tables_in_files_name_the_units_they_are_in(file, tmp_path):
    for command in WITH_FILES:
        for units in ("us", "si"):
            said(command, file, "--units", units, "--out", tmp_path / units / command)
        names = [path.relative_to(tmp_path / "us") for path in (tmp_path / "us" / command).rglob("*.csv")]
        assert names
        for name in names:
            us, si = (pd.read_csv(tmp_path / units / name) for units in ("us", "si"))
            if "unit" in us and "of" not in us:
                assert "lb" in set(us["unit"]), name
                assert not set(us["unit"]) & set(US_UNITS), name
                in_kg = si["unit"] == "kg"
                assert in_kg.any(), name
                sizes = [column for column in SIZES if column in us]
                lb = us.loc[in_kg, sizes].to_numpy(dtype=float)
                assert np.allclose(lb * 0.45359237, si.loc[in_kg, sizes], equal_nan=True), name
                others = si["unit"] == "min"
                assert np.array_equal(us.loc[others, sizes], si.loc[others, sizes], equal_nan=True), name
            else:
                pd.testing.assert_frame_equal(us, si)
        for name in ("means.csv", "differences.csv", "gains.csv"):
            if (path := tmp_path / "us" / command / name).exists():
                assert reproduce.reproduce(path).same, name
        for name in ("report.html", "each_sow.svg", "ranking.svg", "trade_off.svg"):
            if (path := tmp_path / "us" / command / name).exists():
                assert path.read_bytes() != (tmp_path / "si" / command / name).read_bytes()
                assert reproduce.reproduce(path).same, name


def test_pictures_of_a_comparison_are_reproduced_in_their_units(three_sows, tmp_path):
    compared = farrowtide.compare(three_sows, replications=3)
    compared.plot_intake(units="us").save(tmp_path / "us.svg")
    compared.plot_intake().save(tmp_path / "si.svg")
    assert "lb/d" in drawn((tmp_path / "us.svg").read_text(encoding="utf-8"))
    assert "kg/d" in drawn((tmp_path / "si.svg").read_text(encoding="utf-8"))
    assert reproduce.reproduce(tmp_path / "us.svg").same
    assert reproduce.reproduce(tmp_path / "si.svg").same


def test_values_are_shown_as_they_were_written(file, tmp_path):
    scenario = farrowtide.load(file)
    assert policies_as_written(scenario)["temperature"].startswith("75 degF at farrowing, 24 degC by day")
    assert "6 lb/d on day 1, 1 lb/d more each day up to 7 kg/d" in policies_as_written(scenario)["feeding"]
    compared = farrowtide.compare(scenario, replications=2)
    for units, said_in, others in (
        ("as_written", "78 degF throughout", "degC"),
        ("si", "25.6 degC throughout", "degF"),
    ):
        page = compared.write_report(tmp_path, units=units).read_text(encoding="utf-8")
        shown = re.sub(r'<pre id="provenance".*?</pre>|base64,[^"]+', "", page, flags=re.DOTALL)
        assert said_in in shown
        assert others not in shown
        assert "25.56" not in shown
    assert "6 lb/d on day 1" in farrowtide.describe(scenario).text
    places = {path: setting.place for path, setting in Facts(scenario).settings.items()}
    assert places["temperature.farrowing"].endswith("temperature.farrowing = 75 degF")
    assert places["room.drinker_flow"] == "room.drinker_flow = 2.4 L/min (default)"


def test_check_quotes_what_stands_in_the_file(file, tmp_path):
    imposed = tmp_path / "imposed.yaml"
    imposed.write_text(
        "title: chamber\nclimate: {kind: imposed}\ntemperature: {kind: constant, set_point: 75 degF}\n",
        encoding="utf-8",
    )
    told = CliRunner().invoke(main, ["check", str(imposed)]).output
    assert "temperature.set_point = 75 degF: has no effect" in re.sub(r"\s+", " ", told)
    assert "23.88" not in told


def test_quantities_in_sentences():
    assert as_written("23.89 degC at farrowing", [("23.88888888888889 degC", "75 degF")]) == "75 degF at farrowing"
    assert as_written("23.5 degC at farrowing", [("23.88888888888889 degC", "75 degF")]) == "23.5 degC at farrowing"
    assert sentence_in("us", "under 15 or over 30 degC") == "under 59 or over 86 degF"
    assert sentence_in("us", "2 to 9 kg/d, 4 K less, 0.7 L/min") == "4.41 to 19.8 lb/d, 7.2 degF less, 0.185 gal/min"
    assert sentence_in("us", "is 22.8 degC, weighs 185.0 kg") == "is 73 degF, weighs 408 lb"
    assert settings_in("si", "75 degF, was 23.8889 degC, 6 lb/d") == "23.9 degC, was 23.9 degC, 2.72 kg/d"
    assert settings_in("us:temperature", "75 degF, 6 lb/d, 20 degC") == "75 degF, 2.72 kg/d, 68 degF"
    assert sentence_in("si", "replicate 2, 73 degF throughout, setback = 4 degF") == (
        "replicate 2, 73 degF throughout, setback = 4 degF"  # a name and a quotation
    )
    assert sentence_in("us:temperature", "2 kg at 22.8 degC, 4 K less") == "2 kg at 73 degF, 7.2 degF less"
    assert sentence_in("us", "3300 kcal/kg, replicate 3, kg-free") == "3300 kcal/kg, replicate 3, kg-free"


def test_differences_of_temperatures_have_no_offset():
    (measure,) = chosen_measures(["rectal_temperature_deg_c"])
    assert measure.shown(40.0, units="us") == "104.0"
    assert measure.shown(1.0, units="us", signed=True) == "+1.80"
    assert measure.shown_range(0.0, 1.0, units="us", signed=True) == "0.00 to +1.80"
    assert np.allclose(value_in("us", np.array([0.0, 100.0]), "degC"), [32, 212])


def test_every_metric_unit_of_outputs_has_a_us_unit():
    outputs = {output.unit for output in farrowtide.catalogue().values()}
    columns = {info.unit for table in _core.tables().values() for info in table}
    assert {unit for unit in outputs | columns if METRIC.search(unit)} <= set(US_UNITS)


def test_us_units_have_the_sizes_by_which_they_are_defined():
    """NIST Handbook 44, appendix C: an ounce is a sixteenth of a pound of 453.59237 g, a gallon 231 cubic inches."""
    sizes = {"lb": ("kg", 0.45359237), "oz": ("g", 28.349523125), "gal": ("L", 231 * 0.254**3), "inch": ("mm", 25.4)}
    for name, (unit, size) in sizes.items():
        assert US_UNITS[unit].name == name
        assert value_in("us", np.array([size, 10 * size]), unit) == pytest.approx([1, 10], rel=1e-14)


def test_the_precision_that_was_reached_has_us_units():
    reached = Reached(50, {"weight_loss_kg": 0.5}, True, 50, 50, 50, True)
    assert "within \N{PLUS-MINUS SIGN}1.1 lb" in precision_reached(reached, "us")
    assert "within \N{PLUS-MINUS SIGN}0.5 kg" in precision_reached(reached)


def test_tables_name_their_units(file):
    ranking = json.loads(said("sweep", file, "--json").stdout)["ranking"]
    assert {row["unit"] for row in ranking} == {"kg"}
    assert json.loads(said("pick", file, "--json").stdout)["unit"] == "kg/d"
    assert pd.DataFrame(ranking)["output"].str.endswith("_kg").all()


def scenario_of(**temperature_and_more):
    return farrowtide.load({"title": "t", "room": {"crates": 6}, **temperature_and_more})


@pytest.mark.parametrize(
    ("written", "units"),
    [
        ({}, "si"),
        ({"temperature": {"farrowing": "75 degF", "later": 20}}, "us:temperature"),
        ({"temperature": {"farrowing": "23 degC", "later": "20 degC"}}, "si"),
        ({"temperature": {"farrowing": "75 degF", "later": "20 degC"}}, "si"),  # as often in one as in the other
        ({"alternatives": {"a": {"temperature.farrowing": "75 degF"}}}, "us:temperature"),
        ({"temperature": {"farrowing": "75degF"}, "cases": {"a": {"room.drinker_flow": "1 gal/min"}}},
         "us:temperature+volume"),
        ({"feeding": {"allowance": {"start": "6 lb/d"}}, "room": {"crates": 6, "trough_capacity": "18 lbs"}}, "us:weight"),
    ],
)  # fmt: skip
def test_each_dimension_is_shown_in_the_system_in_which_the_file_writes_it(written, units):
    assert units_of("as_written", scenario_of(**written)) == units
    assert units_of("us", scenario_of(**written)) == "us"


def test_unknown_units_are_refused():
    for units in ("metric", "us:", "us:mass", "us:weight+"):
        with pytest.raises(UserError, match="'si', 'us' or 'as_written'"):
            units_of(units, scenario_of())


def test_a_file_in_degrees_fahrenheit_and_kilograms_is_answered_in_them(tmp_path):
    file = tmp_path / "mixed.yaml"
    file.write_text(
        "title: m\nroom: {crates: 6, trough_capacity: 6 kg}\ntemperature: {farrowing: 75 degF}\n", encoding="utf-8"
    )
    traced = CliRunner().invoke(main, ["run", str(file), "--trace"]).output
    assert re.search(r"eats [\d.]+ kg", traced)
    assert " lb" not in traced
    told = CliRunner().invoke(main, ["check", str(file)]).output
    assert "75 degF on day" in told
    assert "degC" not in told
    changed = CliRunner().invoke(main, ["run", str(file), "--trace", "--set", "room.trough_capacity=14 lb"]).output
    assert re.search(r"eats [\d.]+ lb", changed)


def test_durations_are_told_in_hours_and_minutes():
    assert [duration(minutes) for minutes in (0, 45.2, 60, 1517, -61, 6000)] == [
        "0 min", "45 min", "1 h", "25 h 17 min", "\N{MINUS SIGN}1 h 1 min", "100 h"
    ]  # fmt: skip
    labour = farrowtide.catalogue()["labour_min_per_litter"]
    assert "2 h 31 min" in labour.phrase(-151.2)


# --- Numbers, quantities and warnings, one at a time ---


def test_things_are_counted_in_the_singular_and_the_plural():
    assert [count(number, "room") for number in (0, 1, 2, 1234)] == ["0 rooms", "1 room", "2 rooms", "1,234 rooms"]


def test_clock_times_have_two_digits():
    assert [clock(hours) for hours in (0, 7.5, 9 + 5 / 60, 15.999, 23.25)] == [
        "00:00",
        "07:30",
        "09:05",
        "16:00",
        "23:15",
    ]


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (0.4, "0 min"),
        (-0.4, "0 min"),
        (1, "1 min"),
        (59.6, "1 h"),
        (61, "1 h 1 min"),
        (-1, "\N{MINUS SIGN}1 min"),
        (60000, "1,000 h"),
    ],
)
def test_durations_are_rounded_to_whole_minutes(minutes, told):
    assert duration(minutes) == told


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (0.021, "0.03"),
        (0.02, "0.02"),
        (0.3, "0.3"),
        (0.00201, "0.003"),
        (0.00003, "0.0001"),
        (0.00012, "0.0002"),
        (1.2, "2"),
        (9.0, "9"),
    ],
)
def test_a_bound_is_rounded_up_to_one_digit_of_at_most_four_decimals(value, told):
    assert rounded_up(value) == told


def test_units_are_si_or_us_or_us_for_some_dimensions():
    assert (unit_in("si", "mm"), value_in("si", 1.0, "mm")) == ("mm", 1.0)
    assert us_dimensions("us") == {"temperature", "weight", "volume", "length"}
    assert us_dimensions("us:length+volume") == {"length", "volume"}
    assert (unit_in("us:length", "mm"), unit_in("us:length", "kg"), unit_in("us", "min")) == ("inch", "kg", "min")
    assert value_in("us:length", 1.0, "kg") == 1.0
    assert recorded("si") == {}
    assert recorded("us:weight") == {"units": "us:weight"}
    with pytest.raises(UserError, match="units = 'metric'"):
        recorded("metric")


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("-5 degC outside", "23 degF outside"),
        ("1,000 kg of feed", "2205 lb of feed"),
        ("453.5 kg of feed", "1000 lb of feed"),  # 999.8
        ("453.1 kg of feed", "999 lb of feed"),
        ("0.5 mm, 100 g, 10 L, 4 L/d", "0.0197 inch, 3.53 oz, 2.64 gal, 1.06 gal/d"),
        ("20.55 degC", "69 degF"),
        ("20.56 degC and 20.6 degC", "69 degF and 69.1 degF"),
        ("sow-2 kg, 3.2 kg/dl, x5 kg", "sow-2 kg, 3.2 kg/dl, x5 kg"),
        ("68 degF", "68 degF"),
    ],
)  # fmt: skip
def test_quantities_are_converted_with_three_digits_and_temperatures_with_one_decimal(sentence, told):
    assert sentence_in("us", sentence) == told
    assert sentence_in("si", sentence) == sentence


def test_settings_are_converted_both_ways():
    assert settings_in("si", "68 or over 86 degF, 10 lb, 8 oz, 2 inch, 1 gal/min") == (
        "20 or over 30 degC, 4.54 kg, 227 g, 50.8 mm, 3.79 L/min"
    )
    assert settings_in("si", "4.123456 kg, 20.123 degC, 4 K") == "4.123456 kg, 20.1 degC, 4 K"
    assert settings_in("us", "4.123456 kg, 20 degC, 68.12 degF") == "9.09 lb, 68 degF, 68.12 degF"
    assert settings_in("us:weight", "10 lb, 4 kg, 68 degF, 20.55 degC") == "10 lb, 8.82 lb, 20 degC, 20.6 degC"


def test_quantities_of_a_file_are_told_as_written_where_they_are_the_same():
    values = [
        ("23.888888888888889 degC", "75 degF"),
        ("2.7215542 kg/d", "6 lb/d"),
        ("1.1111 K", "2 degF"),
        ("fast", "quick"),
    ]
    for sentence, told in (
        ("23.885 degC", "75 degF"),
        ("23.88 degC", "23.88 degC"),
        ("-23.89 degC", "-23.89 degC"),
        ("2.72155 kg/d at first", "6 lb/d at first"),
        ("2.7215 kg/d at first", "2.7215 kg/d at first"),
        ("2.72155 kg more", "6 lb/d more"),
        ("2.72155 L more", "2.72155 L more"),
        ("1.1111 K less", "1.1111 K less"),
        ("20 to 23.89 degC", "20 to 23.89 degC"),
        ("1,250 kg", "1,250 kg"),
    ):
        assert as_written(sentence, values) == told
    assert as_written("1,250 kg", [("1250 kg", "1.25 t")]) == "1.25 t"
    assert as_written("2 kg, 3 kg", [("2 kg then 3 kg", "a list")]) == "a list, 3 kg"
    assert as_written("0.0001 kg", [("1e-4 kg", "0.1 g")]) == "0.1 g"


def test_a_warning_is_told_in_us_units_but_for_names_and_where_it_was_seen():
    at = PlausibilityWarning(
        "cold", "under 10 degC", "5 degC in 3 rooms (replicate 4, 2 kg a day): 1 kg lost", "Set 20 degC.", ("2 kg",)
    )
    at.add_note("another: 30 degC")
    told = warning_in("us", at)
    assert told.place == "under 50 degF"
    assert told.problem == "41 degF in 3 rooms (replicate 4, 2 kg a day): 2.2 lb lost"
    assert told.advice == "Set 68 degF."
    assert (told.kind, told.where, told.__notes__) == ("cold", ("2 kg",), ["another: 86 degF"])
    same = PlausibilityWarning("identical alternatives", "2 kg = 3 kg", "identical", "Change 2 kg.")
    assert warning_in("us", same) == PlausibilityWarning(
        "identical alternatives", "2 kg = 3 kg", "identical", "Change 4.41 lb."
    )
