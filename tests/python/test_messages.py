"""What the commands say of mistakes: ranges, suggestions, lists of names, errors as JSON, and explanations of names."""

import json
import re
from pathlib import Path

import click.testing
import pytest

import farrowtide
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main
from farrowtide.engine.result import Interrupted
from farrowtide.errors import PlausibilityWarning, listed_names
from farrowtide.outputs.parsing import output_named


def call(*arguments, **options):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments], **options)


@pytest.fixture
def check(tmp_path):
    """What `check` says of a scenario with these lines."""

    def said_of(*lines):
        file = tmp_path / "scenario.yaml"
        file.write_text("\n".join(["title: x", *lines]), encoding="utf-8")
        return call("check", file).stderr

    return said_of


def test_a_range_is_also_told_in_the_unit_that_was_written(check):
    assert "(10 to 32 degC, which is 50 to 89.6 degF)" in check("temperature: {farrowing: 175 degF}")
    assert "(10 to 32 degC)" in check("temperature: {farrowing: 175 degC}")


@pytest.mark.parametrize("written", ["75 F", "75 f", "75 deg F"])
def test_a_degree_without_its_name_is_suggested(check, written):
    assert "Did you mean degF?" in check(f"temperature: {{farrowing: {written}}}")


def test_a_unit_of_another_kind_is_not_suggested(check):
    assert "Did you mean" not in check("room: {trough_capacity: 4 F}")


def test_a_list_of_choices_has_an_example(check):
    said = check('staff: {shifts: [{days: weekend, from: "07:00", until: "16:00", people: 1}]}')
    assert "is a single value (a list, as in [sat, sun])" in said


def test_unknown_names_are_answered_by_all_there_are_in_quotation_marks(meals_file, tmp_path):
    said = call("run", meals_file, "--case", "Juli").stderr
    assert "(cases: 'January', 'July', 'small trough'); did you mean 'July'?" in said
    assert "alternatives: '2 hand feeds', " in call("run", meals_file, "--alternative", "nothing").stderr
    assert (
        "alternatives: '2 hand feeds', " in call("compare", meals_file, "--reference", "no", "--out", tmp_path).stderr
    )
    assert (
        "(cases: 'January', 'July', 'small trough')"
        in call("pick", meals_file, "--output", "weaned", "--indifference", 0.1, "--case", "Juli").stderr
    )


def test_an_indifference_that_no_number_of_rooms_would_reach_is_refused(meals_file):
    done = call("pick", meals_file, "--output", "intake", "--indifference", 1e-200)
    assert done.exit_code != 0
    assert "indifference = 1e-200: must be at least 5e-08 kg/d" in " ".join(done.stderr.split())


def test_a_scenario_without_cases_says_so(three_sows):
    with pytest.raises(farrowtide.UserError, match="the scenario has no cases"):
        three_sows.case("July")


@pytest.mark.parametrize("below", ["", "/deeper"])
def test_a_folder_that_cannot_be_is_an_error_in_words(meals_file, tmp_path, below):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    found = call("run", meals_file, "--set", "room.crates=1", "--out", f"{tmp_path}/file/results{below}")
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert "Errno" not in found.output
    assert str(tmp_path / "file") in found.stderr


def test_an_unknown_rule_is_answered_by_how_to_give_ones_own(check, tmp_path):
    assert "--policies FILE" in check("feeding: {kind: by_the_moon}")
    assert "--policies" not in check("feeding: {kind: full_acess}")  # a slip of the pen
    assert "--policies" not in check("room: {crates: 0}")


@pytest.mark.parametrize("command", ["run", "compare", "labour", "pairing"])
def test_mistakes_in_a_file_are_json_where_json_is_asked_for(tmp_path, command):
    file = tmp_path / "wrong.yaml"
    file.write_text("title: x\nroom:\n  crats: 4\n", encoding="utf-8")
    found = call(command, file, "--json")
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    (error,) = json.loads(found.stdout)["errors"]
    assert error["key"] == "room.crats"
    assert error["line"] == 3
    assert error["suggestion"] == "crates"
    assert "crats" in found.stderr


@pytest.mark.parametrize("command", ["check", "run", "compare", "describe", "sweep"])
@pytest.mark.parametrize(
    ("content", "place"),
    [(b"t\0\xe9\n", "1:3"), (b"title: t\nroom:\x01\n\xe9: 3\n", "3:1"), (b"title: \xe9\0\n", "1:8")],
)
def test_a_scenario_that_is_not_utf_8_is_a_located_error(command, content, place, tmp_path):
    file = tmp_path / "s.yaml"
    file.write_bytes(content)
    more = ["--vary", "handling.day=3", "--out", str(tmp_path / "out")] if command == "sweep" else []
    done = call(command, file, *more)
    assert done.exit_code == 2, done.output
    assert f"{file}:{place}: this is not UTF-8 text (save it as UTF-8)." in done.stderr


def test_other_errors_of_the_user_are_json_as_well(meals_file):
    for arguments in (("--case", "Juli"), ("--threads", "-1")):
        found = call("run", meals_file, "--json", *arguments)
        assert found.exit_code == exit_codes.EXIT_MISTAKE
        (error,) = json.loads(found.stdout)["errors"]
        assert error["problem"]
        assert error["line"] is None


@pytest.mark.parametrize(
    ("word", "name"),
    [("weaned", "weaned_per_litter"), ("intake", "feed_intake_kg_per_day"), ("Stillborn", "stillborn_percent")],
)
def test_explain_knows_words_for_outputs(word, name):
    assert call("explain", word).stdout.startswith(f"{name} [")


def test_explain_suggests_keys_and_outputs():
    assert "Did you mean fostering.window?" in call("explain", "fostering.windw").stderr
    assert "Did you mean 'weaned'?" in call("explain", "weened").stderr


def test_explain_says_once_what_is_the_same_for_several_choices():
    said = call("explain", "fostering.window.until").stdout
    assert said.count("Maximum age") == 1
    assert "Only with: fostering.kind fill_teats, fill_and_equalise, by_size\n" in said


def test_a_misspelt_output_is_answered_by_a_suggestion(meals_file, tmp_path):
    said = call("compare", meals_file, "--output", "weened", "--out", tmp_path).stderr
    assert "Did you mean 'weaned'?" in said
    assert output_named("weaned", farrowtide.catalogue().values()).name == "weaned_per_litter"


def test_the_mistake_in_an_only_alternative_is_told(three_sows):
    with pytest.raises(farrowtide.ScenarioError, match="Did you mean full_access"):
        farrowtide.compare(three_sows, {"a": {"feeding.kind": "full_acess"}})
    with pytest.raises(farrowtide.UserError, match="nothing to compare"):
        farrowtide.compare(three_sows, {"a": {"feeding.kind": "full_access"}})


def test_an_alternative_is_not_compared_with_itself(meals_file):
    found = call("each-sow", meals_file, "--alternative", "2 hand feeds")
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert "'2 hand feeds' is the reference itself" in found.stderr


@pytest.mark.parametrize("name", ["labour", "pairing", "policies", "selecting"])
def test_public_modules_are_attributes_of_the_package(name):
    assert getattr(farrowtide, name).__name__ == f"farrowtide.{name}"


@pytest.mark.parametrize(
    "asked",
    [
        ("run", "--replicate", 2**31),
        ("run", "-n", 2**31 + 1),
        ("run", "--threads", 2**32),
        ("compare", "-n", 2, "--executor", "processes", "--workers", 10**12),
    ],
)
def test_more_than_can_be_is_a_user_error(meals_file, asked):
    verb, *options = asked
    said = call(verb, meals_file, *options)
    assert said.exit_code == exit_codes.EXIT_MISTAKE
    assert "is not in the range" in said.stderr


def test_replicates_keep_numbers_that_can_be_written(meals_file):
    with pytest.raises(farrowtide.UserError, match="must be below 2,147,483,648"):
        farrowtide.run(farrowtide.load(meals_file), replications=3, first_replicate=2**31 - 1)


def test_too_many_combinations_are_refused_before_they_are_built():
    with pytest.raises(farrowtide.UserError, match="100,000,000 combinations; at most 2,000"):
        farrowtide.grid({f"handling.{name}": list(range(100)) for name in ("a", "b", "c", "d")})


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (["run", "FILE", "--alternative", "2 hand feed"], "2 hand feeds"),
        (["compare", "FILE", "--reference", "2 hand feed"], "2 hand feeds"),
        (["each-sow", "FILE", "--alternative", "full acess"], "full access"),
        (["each-sow", "FILE", "--alternative", "full access", "--measure", "weened"], "weaned"),
        (["labour", "FILE", "--case", "Jully"], "July"),
        (["pick", "FILE", "--case", "Jully", "--output", "weaned", "--indifference", "1"], "July"),
        (["pick", "FILE", "--output", "weened", "--indifference", "1"], "weaned"),
        (["run", "FILE", "--units", "uss"], "us"),
        (["new", "feedin"], "feeding"),
        (["explain", "sow.herd.lactation_lenght"], "sow.herd.lactation_length"),
        (["explain", "feedin.times"], "feeding.times"),
        (["explain", "fostering.win"], "fostering.window"),
        (["explain", "crates"], "room.crates"),
    ],
)
def test_what_is_misspelt_is_answered_by_what_may_be_meant(meals_file, arguments, meant):
    found = call(*(meals_file if word == "FILE" else word for word in arguments))
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert re.search(rf"did you mean [^?]*\b{re.escape(meant)}\b", found.stderr, re.IGNORECASE)


def test_a_misspelt_file_is_answered_by_the_one_beside_it(tmp_path):
    (tmp_path / "farm.yaml").write_text("title: x\n", encoding="utf-8")
    found = call("check", tmp_path / "frm.yaml", "--json")
    assert f"Did you mean '{tmp_path / 'farm.yaml'}'?" in found.stderr
    assert f"Did you mean '{tmp_path / 'farm.yaml'}'?" in json.loads(found.stdout)["errors"][0]["problem"]
    assert "Did you mean" not in call("check", tmp_path / "none" / "frm.yaml").stderr


def test_what_is_missing_is_told_on_one_line():
    assert "Choose from: feeding, fostering, heat" in call("new").stderr


def test_explain_takes_the_unit_at_the_end_of_a_key():
    told = call("explain", "fostering.window_h").stdout
    for text in (
        "fostering.window\n",
        "fostering.window.until\n",
        "Default: 24\n",
        "Allowed: 0 to 672 h\n",
        "Source: ",
    ):
        assert text in told
    assert call("explain", "temperature.farrowing_deg_c").stdout == call("explain", "temperature.farrowing").stdout
    assert call("explain", "fostering.windw_h").exit_code == exit_codes.EXIT_MISTAKE


def test_names_that_hold_commas_are_told_apart():
    assert listed_names(["2 feeds", "3 feeds"]) == "2 feeds, 3 feeds"
    assert listed_names(["drinkers checked, 2 L/min", "rounds"]) == "'drinkers checked, 2 L/min', 'rounds'"
    warning = PlausibilityWarning("kind", "place", "problem", "advice", ("a, b", "c"))
    assert "['a, b', 'c']" in str(warning)


def test_what_ctrl_c_leaves_is_told_with_how_to_go_on():
    assert "--study FOLDER they are kept and --resume goes on" in str(Interrupted(finished=object()))
    assert "resume the study in f (--resume)" in str(Interrupted(finished=object(), folder=Path("f")))
    assert "--study FOLDER keeps finished rooms" in str(Interrupted(finished=None))


def test_waits_are_told_in_hours_and_minutes(meals_file):
    told = call("labour", meals_file, "--case", "January", "-n", "1").stdout
    assert re.search(r"\d+ min / \d+ h \d+ min", told)
    assert "Wait, min" not in told


def test_a_study_folder_that_cannot_be_made_is_an_error_in_words(meals_file, tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    found = call("compare", meals_file, "-n", "1", "--study", tmp_path / "file" / "study", "--out", tmp_path / "out")
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert "study: cannot be made (Not a directory); name another folder" in found.stderr


def test_a_file_is_not_similar_to_all_others_in_its_folder(tmp_path):
    """Neither a long folder nor the same ending makes two names alike; a forgotten ending is answered."""
    folder = tmp_path / "records_of_a_farm_with_a_long_name"
    folder.mkdir()
    (folder / "hdr.csv").write_text("sow\n", encoding="utf-8")
    (folder / "farm.yaml").write_text("title: x\n", encoding="utf-8")
    assert "Did you mean" not in call("check", folder / "nowhere.csv").stderr
    for misspelt in ("frm.yml", "farm", "farn.yaml"):
        assert f"Did you mean '{folder / 'farm.yaml'}'?" in call("check", folder / misspelt).stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["compare", "FILE", "-n", "1,000"], "'1,000' is not a whole number"),
        (["compare", "FILE", "--seed", "one"], "'one' is not a whole number"),
        (["watch", "FILE", "--days", "FILE", "--false-alarms", "1,5"], "'1,5' is not a number, with a decimal point"),
        (["watch", "FILE", "--days", "FILE", "--morning", "30.01.2026"], "'30.01.2026' is not a day (year-month-day"),
    ],
)
def test_a_number_or_day_that_cannot_be_read_is_answered_by_what_is_needed(meals_file, arguments, words):
    found = call(*(meals_file if word == "FILE" else word for word in arguments))
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert words in found.stderr
    assert "%" not in found.stderr
