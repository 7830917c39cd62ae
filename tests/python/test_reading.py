"""Odd files, letters and numbers are read, or refused with a message that helps."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide.commands.main import main

pytestmark = pytest.mark.usefixtures("without_drawing")


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.mark.parametrize("words", [["check"], ["run"], ["run", "--coefficients"], ["run", "--policies"], ["reproduce"]])
def test_a_device_without_an_end_is_a_user_error(words, meals_file):
    """In another process with little memory, so that reading on would fail there."""
    file = [str(meals_file)] if len(words) > 1 else []
    program = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30)); "
        "from farrowtide.commands.main import main; main(sys.argv[1:])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, words[0], *file, *words[1:], "/dev/zero"],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    assert "/dev/zero" in done.stderr


def test_a_policy_file_is_not_cut_off(tmp_path):
    (tmp_path / "rules.py").write_text("# x\n" * (2 << 20))
    (tmp_path / "s.yaml").write_text("title: t\n")
    done = call("check", tmp_path / "s.yaml", "--policies", tmp_path / "rules.py")
    assert "rules.py: the file is too large" in done.output
    (tmp_path / "s.yaml").write_text("# x\n" * (2 << 20))
    assert "the file is too large" in call("check", tmp_path / "s.yaml").output


def test_json_escapes_of_letters_beyond_the_basic_plane_are_read(tmp_path):
    title = "pig \U0001f437 and \\ud83d literally"
    file = tmp_path / "s.json"
    file.write_text(json.dumps({"title": title, "room": {"crates": 1}}))
    assert "\\ud83d\\udc37" in file.read_text()
    assert farrowtide.load(file).title == title
    for broken in ('"\\ud83d"', '"\\ud83d\\u0041"', '"\\udc37"', '"\\udc37\\ud83d"'):
        file.write_text('{"title": ' + broken + ', "room": {"crates": 1}}')
        done = call("check", file)
        assert done.exit_code == 2
        assert "s.json:1:" in done.output


def test_mistakes_behind_such_escapes_are_found_in_their_place(tmp_path):
    file = tmp_path / "s.json"
    long_key = "x" * 1025
    text = (
        '{"title": "\\ud83d\\udc37\\ud83d\\udc37", "alternatives": {"'
        + long_key
        + '": {}, "b": {}}, "romo": 1,\n"roam": 2}'
    )
    file.write_text(text)
    with pytest.raises(farrowtide.ScenarioError) as caught:
        farrowtide.load(file)
    places = {mistake.key: (mistake.line, mistake.column) for mistake in caught.value.mistakes}
    assert places == {"romo": (1, text.index('"romo"') + 1), "roam": (2, 1)}


def test_names_of_any_length_are_read(tmp_path):
    name = "x" * 1025
    file = tmp_path / "s.json"
    file.write_text(json.dumps({"title": "t", "room": {"crates": 1}, "alternatives": {name: {}, "b": {}}}))
    assert farrowtide.load(file).alternatives == [name, "b"]


@pytest.mark.parametrize("seed", [0, 2**31 - 1, 2**31, 2**53 + 1, 2**64 - 1])
def test_every_seed_of_the_command_line_may_stand_in_a_file(seed, tmp_path):
    file = tmp_path / "s.yaml"
    file.write_text(f"title: t\nroom: {{crates: 1}}\nstudy: {{seed: {seed}}}\n")
    assert farrowtide.load(file).study.seed == seed
    (tmp_path / "other.yaml").write_text("title: t\nroom: {crates: 1}\n")
    in_file = json.loads(call("run", file, "--json").stdout)
    on_line = json.loads(call("run", tmp_path / "other.yaml", "--seed", seed, "--json").stdout)
    assert in_file["provenance"]["seed"] == seed
    assert in_file["outputs"] == on_line["outputs"]


@pytest.mark.parametrize("seed", [-1, 2**64, "1e30", "0x10", "1.5", "many"])
def test_no_other_seed_may(seed, tmp_path):
    file = tmp_path / "s.yaml"
    file.write_text(f"title: t\nroom: {{crates: 1}}\nstudy: {{seed: {seed}}}\n")
    done = call("check", file)
    assert done.exit_code == 2
    assert "study.seed" in done.output
    (tmp_path / "other.yaml").write_text("title: t\nroom: {crates: 1}\n")
    assert call("run", tmp_path / "other.yaml", f"--seed={seed}").exit_code == 2


@pytest.mark.parametrize("half_width", ["1e-300", "1e-160", "5e-324", "1e-12"])
def test_a_precision_that_no_study_reaches_is_not_an_internal_error(half_width, tmp_path):
    (tmp_path / "s.yaml").write_text(
        "title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {feeding.times: ['07:00']}}\n"
    )
    done = call(
        "compare", tmp_path / "s.yaml", "--precision", f"intake={half_width}", "-n", 60, "--out", tmp_path / "out"
    )
    assert done.exit_code == 0, done.output
    assert "was NOT reached after 60 replications" in done.output


def test_half_of_a_surrogate_pair_is_a_user_error(tmp_path):
    for make in (
        lambda: farrowtide.load({"title": "\ud800"}),
        lambda: farrowtide.load(tmp_path / "\udcff.yaml"),
        lambda: farrowtide.load({"title": "t"}).override({"title": "\ud800"}),
    ):
        with pytest.raises(farrowtide.UserError):
            make()
    done = call("run", tmp_path / "\udcff.yaml")
    assert done.exit_code == 2
