"""A farm described from records: the truth is found again, `like` keeps everything else, and every file loads."""

import io
import json
import re
from pathlib import Path

import click.testing
import numpy as np
import pandas as pd
import pytest
from ruamel.yaml import YAML

import farrowtide
from farrowtide import records
from farrowtide._core import Coefficients
from farrowtide.commands.main import main
from farrowtide.records.estimating import estimates

ROOT = Path(__file__).parents[2]
Z = 4
TRUTH = {
    "parity_shares": [0.30, 0.25, 0.20, 0.15, 0.10],
    "total_born_mean": 16.2,
    "total_born_sd": 2.6,
    "weight_level": 1.08,
    "weight_cv": 0.07,
    "backfat_mean": 14.0,
    "backfat_sd": 2.2,
    "birth_weight_mean": 1.30,
}


def simulated(keys, *, replications, seed):
    scenario = farrowtide.load({"title": "Invented farm", **keys})
    made = farrowtide.run(scenario, replications=replications, seed=seed, record=["sows", "sow_days", "piglets"])
    return records.simulated(made, scenario)


@pytest.fixture(scope="module")
def known_farm():
    """50 rooms of 20 sows of an invented farm whose herd is known."""
    keys = {"herd": TRUTH, "room": {"crates": 20}, "group": {"lactation_days": 25}, "loading": {"days_before_due": 6}}
    return simulated({**keys, "start": "2025-07-07"}, replications=50, seed=11)


@pytest.fixture(scope="module")
def described(known_farm):
    return records.describe(known_farm)


def value(described, key):
    return described.said.set_index("key").loc[key, "value"]


@pytest.mark.parametrize("key", [key for key in TRUTH if key != "parity_shares"])
def test_the_herd_is_found_again_within_its_standard_error(described, key):
    """Simulated with known keys, 1,000 litters, fixed seed, z = 4; half a unit of the last digit for rounding."""
    found = described.said.set_index("key").loc[f"herd.{key}"]
    decimals = len(str(found["value"]).partition(".")[2])
    assert abs(found["value"] - TRUTH[key]) <= Z * found["standard_error"] + 0.5 * 10**-decimals
    assert 0 < found["standard_error"] < 0.05 * TRUTH[key]


def test_parity_shares_are_found_again(described, known_farm):
    shares = np.array(value(described, "herd.parity_shares"))
    truth = np.array(TRUTH["parity_shares"])
    error = np.sqrt(truth * (1 - truth) / len(known_farm.farrowings))
    assert len(shares) == len(truth)
    assert (np.abs(shares - truth) <= Z * error + 0.0005).all()


def test_rooms_and_days_are_found_again(described):
    assert value(described, "room.crates") == 20
    assert value(described, "group.lactation_days") == 25
    assert value(described, "loading.days_before_due") == 6
    assert str(value(described, "start")) == "2025-07-07"


def test_standard_errors_are_those_of_repeated_farms():
    """40 farms of 4 rooms: the spread of the estimates agrees with the error that each of them states, z = 4."""
    keys = {"room": {"crates": 12}, "herd": {"health": "off"}}
    everything = simulated(keys, replications=160, seed=5)
    room = everything.farrowings["room"].str.removeprefix("R").astype(int)
    found = []
    for farm in range(40):
        litters = everything.farrowings[(room - 1) // 4 == farm].reset_index(drop=True)
        of_farm = estimates(records.Records(litters, everything.days.iloc[:0]), Coefficients.built_in())
        found += [(each.key, each.value, each.standard_error) for each in of_farm if each.key.startswith("herd.")]
    table = pd.DataFrame(found, columns=["key", "value", "error"])
    for key, of_key in table[table["key"] != "herd.parity_shares"].groupby("key"):
        spread = of_key["value"].astype(float).std(ddof=1)
        stated = np.sqrt((of_key["error"] ** 2).mean())
        # The log of a standard deviation of 40 values has a standard error of about 1 / sqrt(2 * 39).
        assert abs(np.log(spread / stated)) <= Z / np.sqrt(2 * 39), key


def test_what_is_not_recorded_is_listed_and_stays_at_its_default(known_farm):
    few = known_farm.farrowings.assign(
        weight_at_loading_kg=pd.array([pd.NA] * len(known_farm.farrowings), dtype="Float64"),
        backfat_at_loading_mm=known_farm.farrowings["backfat_at_loading_mm"].where(
            known_farm.farrowings.index < 7, pd.NA
        ),
    )
    described = records.describe(records.Records(few, known_farm.days))
    reasons = described.unsaid.set_index("key")["reason"]
    assert reasons["herd.weight_level"] == "nothing is recorded of it"
    assert reasons["herd.backfat_mean"] == "7 records; at least 10 are needed"
    assert "\n  weight_level:" not in described.text
    assert "# - herd.weight_level: nothing is recorded of it" in described.text


def test_a_value_outside_the_range_of_its_key_is_not_used(known_farm):
    small = known_farm.farrowings.assign(born_alive=3, stillborn=0)
    described = records.describe(records.Records(small, known_farm.days))
    assert described.unsaid.set_index("key").loc["herd.total_born_mean", "reason"].endswith("6 to 22 piglets")


def test_the_start_is_in_the_season_with_most_farrowings(known_farm):
    litters = known_farm.farrowings.copy()
    winter = litters.index < 300
    litters.loc[winter, ["loaded_on", "farrowed_on", "weaned_on"]] -= pd.Timedelta(days=200)
    described = records.describe(records.Records(litters, known_farm.days))
    assert str(value(described, "start")) == "2025-07-07"
    litters.loc[litters.index < 700, ["loaded_on", "farrowed_on", "weaned_on"]] -= pd.Timedelta(days=1)
    litters.loc[~winter & (litters.index < 700), ["loaded_on", "farrowed_on", "weaned_on"]] -= pd.Timedelta(days=200)
    described = records.describe(records.Records(litters, known_farm.days))
    assert "when most sows farrowed" in described.text
    assert str(value(described, "start")).startswith("2024-12")


SCENARIOS = sorted(file for file in (ROOT / "scenarios").rglob("*.yaml") if "invalid" not in file.parts)


def comments(text):
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_everything_else_of_a_scenario_like_it_stays(known_farm, file):
    like = farrowtide.load(file)
    described = records.describe(known_farm, like=like, name="farm.yaml")
    text = file.read_text(encoding="utf-8")
    assert [line for line in comments(text) if line not in comments(described.text)] == []
    scenario = described.scenario
    assert (scenario.title, scenario.question) == (like.title, like.question)
    assert (scenario.alternatives, scenario.cases) == (like.alternatives, like.cases)
    assert scenario.policies.keys() == like.policies.keys()
    before, after = (YAML(typ="safe").load(io.StringIO(part)) for part in (text, described.text))
    replaced = set(described.said["key"])
    for section, keys in before.items():
        if not isinstance(keys, dict):
            assert section in replaced or after[section] == keys
            continue
        for key, given in keys.items():
            assert f"{section}.{key}" in replaced or after[section][key] == given, f"{section}.{key}"
    for name in ("cases", "alternatives", "study"):
        assert after.get(name) == before.get(name)


def test_describing_again_replaces_what_was_written(known_farm, described):
    again = records.describe(known_farm, like=described.scenario)
    assert again.text == described.text


def test_comments_after_a_replaced_value_stay(known_farm, tmp_path):
    file = tmp_path / "like.yaml"
    file.write_text(
        "title: Farm\n"
        "herd:\n"
        "  parity_shares:   # by parity\n"
        "    - 0.5\n"
        "    - 0.5   # old\n"
        "  # about litters\n"
        "  total_born_mean: 14   # old\n"
        "\n"
        "# The rooms.\n"
        "room: {crates: 12}   # old\n"
        "# The end.\n"
    )
    text = records.describe(known_farm, like=farrowtide.load(file)).text
    for kept in ("  # about litters\n", "\n# The rooms.\n", "\n# The end.\n"):
        assert kept in text
    assert "old" not in text


def test_cases_that_keep_their_own_value_are_told(known_farm, meals_file):
    notes = records.describe(known_farm, like=farrowtide.load(meals_file)).notes
    assert notes[0] == "the case 'January' keeps its own start"


def test_a_scenario_that_does_not_fit_is_told_as_its_mistakes(known_farm, tmp_path):
    sows = "".join("    - {parity: 2}\n" for _ in range(23))
    (tmp_path / "like.yaml").write_text(f"title: Farm\nherd:\n  sows:\n{sows}")
    with pytest.raises(farrowtide.ScenarioError, match="describes 23 sows for 20 crates"):
        records.describe(known_farm, like=farrowtide.load(tmp_path / "like.yaml"))


# --- The commands ---


def call(*arguments):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("farm")
    scenario = ROOT / "scenarios/feeding/meals_a_day.yaml"
    made = call("records", "simulate", scenario, "--litters", 100, "--set", "start=2025-01-06", "--out", folder)
    assert made.exit_code == 0, made.stderr
    assert "simulated records of" in made.stdout
    return folder


def test_simulated_records_say_so_in_their_first_line(folder):
    for name in ("farrowings.csv", "days.csv"):
        first = (folder / name).read_text().splitlines()[0]
        assert first.startswith("# Simulated from an invented farm, not real records: ")
    assert len((folder / "farrowings.csv").read_text().splitlines()) >= 100


def test_check_prints_what_was_found_and_writes_what_is_wrong(folder, tmp_path):
    file = tmp_path / "=farm.csv"
    lines = (folder / "farrowings.csv").read_text().splitlines()
    lines[3] = re.sub(r"^([^,]*),\d+,", r"\1,=1+1,", lines[3])
    file.write_text("\n".join(lines))
    result = call("records", "check", file, "--days", folder / "days.csv", "--out", tmp_path / "out")
    assert result.exit_code == 0, result.stderr
    assert "1 rejected" in result.stdout
    assert re.search(r"weaned\s+\d+\s+\d+\s", result.stdout)
    assert f"{file}:4: parity = =1+1: is not a number (a whole number, 1 to 15)" in " ".join(result.stdout.split())
    rejected = (tmp_path / "out/rejected.csv").read_text().splitlines()
    assert rejected[0] == "file,line,column,value,reason"
    assert rejected[1].split(",")[1:4] == ["4", "parity", "'=1+1"]
    used = records.read(tmp_path / "out/farrowings.csv", tmp_path / "out/days.csv")
    assert len(used.rejected) == 0


def test_check_in_json_has_the_shape_that_its_help_states(folder):
    said = json.loads(call("records", "check", folder / "farrowings.csv", "--json").stdout)
    assert list(said) == ["sources", "columns", "rejected", "doubtful"]
    assert {"table", "column", "heading", "unit", "values", "missing", "lowest", "mean", "highest"} == set(
        said["columns"][0]
    )
    assert said["sources"][0]["rows"] == said["sources"][0]["used"]


def test_describe_writes_a_scenario_that_can_be_checked(folder, tmp_path):
    out = tmp_path / "farm.yaml"
    result = call("records", "describe", folder / "farrowings.csv", "--out", out)
    assert result.exit_code == 0, result.stderr
    assert "herd.total_born_mean" in result.stdout
    assert call("check", out).exit_code == 0
    like = call("records", "describe", folder / "farrowings.csv", "--like", out, "--out", tmp_path / "2.yaml", "--json")
    said = json.loads(like.stdout)
    assert list(said) == ["sources", "said", "unsaid", "notes"]
    assert (tmp_path / "2.yaml").read_text() == out.read_text()


def test_nothing_is_written_where_no_farrowing_can_be_used(tmp_path):
    (tmp_path / "f.csv").write_text("sow,parity,farrowed_on,born_alive,stillborn\nA,x,2025-01-01,10,1\n")
    check = call("records", "check", tmp_path / "f.csv")
    assert check.exit_code == 2
    assert "no farrowing can be used" in check.stderr
    describe = call("records", "describe", tmp_path / "f.csv", "--out", tmp_path / "farm.yaml")
    assert describe.exit_code == 2
    assert "parity = x: is not a number" in describe.stderr
    assert not (tmp_path / "farm.yaml").exists()


def test_records_are_never_replaced(folder, tmp_path):
    own = tmp_path / "farrowings.csv"
    own.write_text("\n".join((folder / "farrowings.csv").read_text().splitlines()[1:]) + "\n")
    before = own.read_bytes()
    for arguments in (
        ["check", own, "--out", tmp_path],
        ["describe", own, "--out", own],
        ["simulate", ROOT / "scenarios/feeding/meals_a_day.yaml", "--out", tmp_path],
    ):
        result = call("records", *arguments)
        assert result.exit_code == 2, arguments
        assert "will not be replaced" in result.stderr
    assert own.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["farrowings.csv"]


def test_mistakes_of_a_mapping_are_shown_with_their_line(folder, tmp_path):
    (tmp_path / "map.yaml").write_text("mapping: 1\nfarowings: {}\n")
    result = call("records", "check", folder / "farrowings.csv", "--mapping", tmp_path / "map.yaml", "--json")
    assert result.exit_code == 2
    assert "  2 | farowings: {}\n    | ^" in result.stderr
    (error,) = json.loads(result.stdout)["errors"]
    assert (error["line"], error["column"], error["suggestion"]) == (2, 1, "farrowings")
