"""Nothing in a file runs, and what was damaged is found: recipes, study folders, blocks, scenarios, overlays.

Every attempt to run code would leave a canary: a file that must not come into being.
"""

import base64
import copy
import html
import json
import os
import pickle
import random
import re
import shutil
import subprocess
import sys
import time
import typing
import warnings
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import study_victim
from click.testing import CliRunner

import farrowtide
from farrowtide import whole_files
from farrowtide.commands.main import main
from farrowtide.results import recorded, reproduce
from farrowtide.study import blocks, executors, folder, manifest

ROOT = Path(__file__).parents[2]
# A study that is resumed tells of such blocks; test_a_flipped_bit_is_found_wherever_it_is expects that.
TELLS_OF_DAMAGE = pytest.mark.filterwarnings("ignore:.*damaged or replaced:UserWarning")
THREE_SOWS = ROOT / "scenarios/teaching/three_sows.yaml"


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def canary(tmp_path):
    """The path of a file that must not exist after the test."""
    file = tmp_path / "canary"
    yield file
    assert not file.exists(), "code from a file was run"


def payloads(canary):
    """Python that makes the canary, as an expression and as a program."""
    expression = f"__import__('pathlib').Path({str(canary)!r}).touch()"
    return [expression, f"import pathlib\npathlib.Path({str(canary)!r}).touch()\n"]


class Touch:
    """Makes the canary when it is unpickled."""

    def __init__(self, file):
        self.file = file

    def __reduce__(self):
        return os.mknod, (str(self.file),)


# --- Recipes ---


@pytest.fixture(scope="module")
def outputs(tmp_path_factory):
    """A folder with an output of every verb, each in a folder of its name, and two pictures."""
    made = tmp_path_factory.mktemp("outputs")
    scenario = farrowtide.load(THREE_SOWS)
    compared = farrowtide.compare(scenario, replications=2)
    compared.write_report(made / "compare")
    compared.plot_intake().save(made / "intake.svg")
    for verb in ("run", "labour", "pairing", "each-sow", "sweep"):
        more = {
            "each-sow": ["--alternative", "full access"],
            "sweep": ["--vary", "handling.day=5", "--pareto", "intake,labour"],
        }
        done = call(verb, THREE_SOWS, *more.get(verb, []), "-n", 2, "--out", made / verb, "--quiet")
        assert done.exit_code == 0, done.output
    return made


def provenance_of(outputs, verb):
    return json.loads((outputs / verb / "provenance.json").read_text(encoding="utf-8"))


def carrying(outputs, into, carrier, provenance):
    """A copy of an output, with another provenance in it."""
    text = json.dumps(provenance)
    if carrier == "report.html":
        page = (outputs / "compare/report.html").read_text(encoding="utf-8")
        text = re.sub(
            r'(<pre id="provenance" hidden>).*?(</pre>)',
            lambda m: m[1] + html.escape(text) + m[2],
            page,
            flags=re.DOTALL,
        )
    elif carrier.endswith(".svg"):
        drawing = (outputs / carrier).read_text(encoding="utf-8")
        text = re.sub(
            r"(<dc:description>).*?(</dc:description>)",
            lambda m: m[1] + html.escape(text) + m[2],
            drawing,
            flags=re.DOTALL,
        )
    file = into / Path(carrier).name
    file.write_text(text, encoding="utf-8")
    return file


def reproduced(file):
    """What `reproduce` says. Anything but a user error is an error of the test."""
    try:
        return reproduce.reproduce(file, threads=1)
    except farrowtide.UserError as error:
        return error


METHODS = (
    "__init__", "__reduce__", "__class__", "eval", "exec", "parse", "_core.Scenario.parse", "with_overlay", "run",
    "builtins.eval", "os.system", "hash", "withheld_care", "policies",
)  # fmt: skip


@pytest.mark.parametrize("carrier", ["provenance.json", "report.html", "intake.svg"])
def test_no_step_of_a_recipe_runs_code(carrier, outputs, tmp_path, canary):
    original = provenance_of(outputs, "compare") | ({"picture": "intake"} if carrier == "intake.svg" else {})
    for payload in payloads(canary):
        attempts = [[method, given] for method in METHODS for given in (payload, [payload], None)]
        attempts += [
            ["override", [["title", payload]]],  # not JSON
            ["override", payload],
            ["override", [["title", '"x"']], payload],  # a step has two parts
            ["alternative", [payload]],
            ["with_coefficients", [payload, payload]],
            ["with_coefficients", payload],
            ["without_alternatives", payload],
            {"method": "eval", "arguments": payload},
            payload,
        ]
        for step in attempts:
            tampered = copy.deepcopy(original)
            tampered["recipe"]["scenario"]["steps"] = [step]
            found = reproduced(carrying(outputs, tmp_path, carrier, tampered))
            assert isinstance(found, farrowtide.UserError), step
            assert "<" not in str(found), f"{step}: names a function of ours"


def test_every_text_of_a_recipe_is_only_text(outputs, tmp_path, canary):
    """Wherever a recipe holds text, code in its place is not run."""
    for verb in ("compare", "sweep", "run", "labour", "pairing", "each-sow"):
        original = provenance_of(outputs, verb)
        expression, program = payloads(canary)
        for path in paths_of(original["recipe"]):
            if isinstance(value_at(original["recipe"], path), str):
                tampered = original | {"recipe": replaced(original["recipe"], path, expression)}
                reproduced(carrying(outputs, tmp_path, "provenance.json", tampered))
        beside = {name: program for name, value in original.items() if isinstance(value, str)}
        reproduced(carrying(outputs, tmp_path, "provenance.json", original | beside))


def test_only_pictures_that_are_drawn_can_be_named(outputs, tmp_path, canary):
    original = json.loads(
        html.unescape(re.search("<dc:description>(.*?)</dc:description>", picture_of(outputs), re.DOTALL)[1])
    )
    sweeping = original | {"recipe": provenance_of(outputs, "sweep")["recipe"]}
    for provenance in (original, sweeping):
        for name in ("panels", "look_of", "Any", "replace", "save", "differences", "../../x", *payloads(canary)):
            tampered = provenance | {"picture": name, "case": payloads(canary)[0], "drawn": []}
            found = reproduced(carrying(outputs, tmp_path, "intake.svg", tampered))
            assert isinstance(found, farrowtide.UserError), name
            assert "picture: Input should be 'intake'" in str(found)
        swapped = provenance | {"picture": "ranking" if provenance is original else "work"}
        assert "is none of a" in str(reproduced(carrying(outputs, tmp_path, "intake.svg", swapped)))
    known = set(typing.get_args(typing.get_args(recorded.Recorded.model_fields["picture"].annotation)[0]))
    assert known == reproduce._COMPARISON_PICTURES.keys() | reproduce._SWEEP_PICTURES.keys()


def picture_of(outputs):
    return (outputs / "intake.svg").read_text(encoding="utf-8")


def test_policies_in_a_recipe_run_only_if_the_user_says_so(outputs, tmp_path, canary):
    program = payloads(canary)[1]
    held = {"path": "rules.py", "text": program}
    named = {"family": "water", "name": "mine", "class": "Mine", "file": "rules.py", "hash": "0" * 16}
    for policies in (
        [held],
        [named | held],
        [named, held],
        [held | {"text": [program]}],
        [{**held, "path": str(tmp_path / "rules.py")}],
        [[held]],
        held,
        [str(tmp_path / "rules.py")],
        [named | {"file": str(tmp_path / "rules.py"), "class": program}],
        [{"path": "rules.py"}],
        [None],
    ):
        (tmp_path / "rules.py").write_text(program)
        for carrier in ("provenance.json", "report.html", "intake.svg"):
            for verb in ("compare", "run", "each-sow"):
                tampered = provenance_of(outputs, verb)
                tampered["recipe"]["scenario"]["policies"] = policies
                found = reproduced(carrying(outputs, tmp_path, carrier, tampered))
                assert isinstance(found, farrowtide.UserError), policies


def test_policies_run_with_the_option(outputs, tmp_path):
    """The test above would pass, too, if they never ran."""
    file = tmp_path / "ran"
    tampered = provenance_of(outputs, "run")
    tampered["recipe"]["scenario"]["policies"] = [{"path": "rules.py", "text": payloads(file)[1]}]
    carried = carrying(outputs, tmp_path, "provenance.json", tampered)
    with pytest.raises(farrowtide.UserError, match="defines no policy"):
        reproduce.reproduce(carried, run_policies=True)
    assert file.exists()


def test_the_command_that_is_shown_is_the_one_that_is_run(outputs, tmp_path):
    shutil.copytree(outputs / "run", tmp_path / "run")
    honest = provenance_of(outputs, "run")
    file = tmp_path / "run/provenance.json"
    file.write_text(json.dumps(honest | {"command": "farrowtide check harmless.yaml"}))
    done = call("reproduce", tmp_path / "run", "--quiet")
    assert f"made by: {honest['command']}" in done.output
    assert "changed: the file says that it was made by: farrowtide check harmless.yaml" in done.output
    steps = honest["recipe"]["scenario"] | {"steps": [["override", [["title", '"x"']]]]}
    scenario = farrowtide.load(THREE_SOWS).override({"title": "x"})
    told = honest | {"recipe": honest["recipe"] | {"scenario": steps | {"hash": scenario.hash}}}
    file.write_text(json.dumps(told))
    assert "made by: farrowtide.run(" in (done := call("reproduce", tmp_path / "run", "--quiet")).output
    assert ".override({'title': 'x'})" in done.output


def test_what_no_recipe_makes_is_untrue(outputs, tmp_path):
    shutil.copytree(outputs / "run", tmp_path / "run")
    file = tmp_path / "run/provenance.json"
    file.write_text(json.dumps(provenance_of(outputs, "run") | {"approved_by": "the herd veterinarian"}))
    found = reproduce.reproduce(tmp_path / "run", threads=1)
    assert not found.same
    assert found.untrue == ['the file says that `approved_by` is "the herd veterinarian"; the recipe in it makes null']


def test_the_command_of_every_honest_output_is_shown_as_it_was(outputs, tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 2}}).override(
        {"herd.teats": [14, 1]} if False else {"room.crates": 3}
    )
    overlay = tmp_path / "overlay.yaml"
    overlay.write_text("staff: {roster: {busy_warning: 0.75}}\n")
    changed = scenario.with_coefficients({"staff.roster.busy_warning": 0.7}).with_coefficients(overlay)
    farrowtide.compare(changed, {"a": {}, "b": {"handling.day": 3}}, replications=2).write_report(tmp_path / "changed")
    for made in (
        *(outputs / verb for verb in ("compare", "run", "labour", "pairing", "each-sow", "sweep")),
        tmp_path / "changed",
    ):
        again = reproduce.reproduce(made, threads=1)
        assert again.same
        assert (again.changed, again.untrue, again.unchecked) == ([], [], []), made
        assert again.command == json.loads((made / "provenance.json").read_text(encoding="utf-8"))["command"]


FORGED = {
    "seed": 99,
    "replications": 5000,
    "scenario": "other.yaml",
    "scenario_hash": "1" * 16,
    "coefficient_hash": "2" * 16,
    "overlaid_coefficients": ["litter.birth_weight.mean"],
    "caution": "Certified for every herd.",
    "withheld_care": {"full access": ["water"]},
    "own_policies": [{"family": "water", "name": "mine"}],
    "wanted_replications": 1,
}


@pytest.mark.parametrize("verb", ["compare", "sweep", "run", "labour", "pairing", "each-sow"])
def test_every_untrue_statement_is_told(verb, outputs, tmp_path):
    shutil.copytree(outputs / verb, tmp_path / verb)
    file = tmp_path / verb / "provenance.json"
    forged = FORGED | {"case": "July", "picture": "intake", "drawn": ["July"]}  # of a picture, which this is none of
    file.write_text(json.dumps(provenance_of(outputs, verb) | forged))
    again = reproduce.reproduce(tmp_path / verb, threads=1)
    assert again.files
    assert all(again.files.values())
    assert not again.same
    told = "\n".join(again.untrue)
    assert all(f"the file says that `{name}` is" in told for name in forged), told
    assert len(again.untrue) == len(forged)


@pytest.mark.parametrize("name", FORGED)
@pytest.mark.parametrize("carrier", ["report.html", "intake.svg"])
def test_a_page_or_picture_that_says_what_is_untrue_differs(carrier, name, outputs, tmp_path):
    """Wherever the page says it, too: as a reader sees it and in the provenance that it carries."""
    folder = outputs / "compare" if carrier == "report.html" else outputs
    page = (folder / carrier).read_text(encoding="utf-8")
    held = re.search('(?:<pre id="provenance" hidden>|<dc:description>)([^<]*)', page)[1]
    honest = json.loads(html.unescape(held))
    forged = json.dumps(honest | {name: FORGED[name]}, ensure_ascii=False)
    page = page.replace(held, "\0")
    if isinstance(honest.get(name), str):
        page = page.replace(html.escape(honest[name]), FORGED[name])
    (tmp_path / carrier).write_text(page.replace("\0", html.escape(forged)), encoding="utf-8")
    done = call("reproduce", tmp_path / carrier, "--quiet")
    assert done.exit_code == 3, done.output
    assert f"{carrier}: DIFFERS" in done.output
    assert f"DIFFERS: the file says that `{name}` is {json.dumps(FORGED[name])}; the recipe in it makes" in done.output


# --- Damage in provenance ---


def paths_of(value, path=()):
    """The place of every value in JSON."""
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in items:
        yield from paths_of(part, (*path, key))


def value_at(value, path):
    for key in path:
        value = value[key]
    return value


def replaced(value, path, by):
    if not path:
        return by
    changed = copy.deepcopy(value)
    value_at(changed, path[:-1])[path[-1]] = by
    return changed


WRONG = (None, True, -1, 1.5, 10**30, "", "\ud800", "no", [], [None], {}, {"a": 1}, [[]])


@pytest.mark.parametrize("verb", ["compare", "sweep", "run", "labour", "pairing", "each-sow"])
def test_a_damaged_provenance_is_a_located_user_error(verb, outputs, tmp_path, monkeypatch):
    """Every value replaced by values of every type, and every key left out: an error says where, or it is harmless."""
    original = provenance_of(outputs, verb)
    original["recipe"]["scenario"]["text"] = "title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {}}\n"  # quick
    located = 0
    monkeypatch.setattr(reproduce, "_made_again", lambda again: "")  # what passes the schema is of the right types
    for path in paths_of(original):
        for wrong in WRONG:
            file = tmp_path / "provenance.json"
            file.write_text(json.dumps(replaced(original, path, wrong)))
            try:
                reproduce.reproduce(tmp_path)
            except farrowtide.UserError as error:
                located += str(file) in str(error)
        if path and isinstance(path[-1], str):
            left_out = copy.deepcopy(original)
            del value_at(left_out, path[:-1])[path[-1]]
            (tmp_path / "provenance.json").write_text(json.dumps(left_out))
            reproduced(tmp_path)
    assert located > 300


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'"',
        b"\xff\xfe{}",
        b"\x00",
        b"[" * 100_000,
        b'{"recipe": 1' + b"0" * 5000 + b"}",
        b'{"recipe": []}',
    ],
)
@pytest.mark.parametrize("name", ["provenance.json", "report.html", "picture.svg"])
def test_a_file_that_is_no_provenance_at_all_is_a_user_error(text, name, tmp_path):
    frames = {
        "report.html": (b'<pre id="provenance" hidden>', b"</pre>"),
        "picture.svg": (b"<dc:description>", b"</dc:description>"),
    }
    before, after = frames.get(name, (b"", b""))
    (tmp_path / name).write_bytes(before + text + after)
    done = call("reproduce", tmp_path / name)
    assert done.exit_code == 2, done.output
    assert "error: " in done.output
    assert name in done.output


# --- The study folder ---


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """A study of two arms and two blocks each, with what was found."""
    place = tmp_path_factory.mktemp("study") / "study"
    return small_study(place), place


def small_study(place, *, crates=1, **options):
    scenario = farrowtide.load({"title": "t", "room": {"crates": crates}})
    given = {"replications": 22, "seed": 5, "threads": 1, "folder": place} | options
    return farrowtide.compare(scenario, {"a": {}, "b": {"handling.day": 3}}, **given)


def assert_same(found, expected):
    for name in ("replicates", "differences", *blocks.REPORT_TABLES):
        assert getattr(found, name).equals(getattr(expected, name)), name


def test_a_flipped_bit_is_found_wherever_it_is(study, tmp_path):
    whole, place = study
    chance = random.Random(7)
    files = sorted(file for file in place.rglob("*") if file.is_file() and file.stat().st_size)
    files = [file for file in files if file.name != folder.ASKED]  # written anew each time
    assert len(files) == 1 + 4
    again = refused = 0
    for flip in range(30):
        shutil.copytree(place, tmp_path / "study")
        file = tmp_path / "study" / files[flip % len(files)].relative_to(place)
        content = bytearray(file.read_bytes())
        bit = chance.randrange(8 * len(content))
        content[bit // 8] ^= 1 << bit % 8
        file.write_bytes(content)
        try:
            with warnings.catch_warnings(record=True) as told:
                warnings.simplefilter("always", UserWarning)
                found = small_study(tmp_path / "study", resume=True)
        except farrowtide.UserError:
            assert file.name == "manifest.json"
            refused += 1
        else:
            assert_same(found, whole)
            assert file.read_bytes() == (place / file.relative_to(tmp_path / "study")).read_bytes(), "it was run again"
            (damage,) = [str(warning.message) for warning in told if "damaged" in str(warning.message)]
            assert damage.endswith(f"simulated again, because damaged or replaced: 1 block ({file.name})")
            again += 1
        shutil.rmtree(tmp_path / "study")
    assert (again, refused) == (24, 6)


@pytest.mark.parametrize(
    "text",
    [
        b"[]",
        b"",
        b"null",
        b"{}",
        b"3",
        b'{"format": 3}',
        b'{"format": 99}',
        b"\xff\xfe",
        b"{" * 9999,
        b'{"format": "3"}',
    ],
)
def test_a_manifest_that_is_none_is_a_user_error(text, study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")
    (tmp_path / "study/manifest.json").write_bytes(text)
    with pytest.raises(farrowtide.UserError, match=r"manifest\.json"):
        small_study(tmp_path / "study", resume=True)


def test_every_damaged_value_of_a_manifest_is_a_user_error(study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")
    file = tmp_path / "study/manifest.json"
    original = json.loads(file.read_text(encoding="utf-8"))
    for path in paths_of(original):
        for wrong in WRONG:
            changed = replaced(original, path, wrong)
            if changed == original:
                continue
            file.write_text(json.dumps(changed))
            with pytest.raises(farrowtide.UserError, match=r"manifest\.json"):
                manifest.read_manifest(file, "compare")


def forged(place, change):
    """Replaces the first block by another table under its own valid checksum."""
    file = min((place / "blocks").iterdir())
    table = change(pq.read_table(file, partitioning=None))
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink)
    content = sink.getvalue().to_pybytes()
    file.unlink()
    named = file.with_name(f"{file.name[:14]}{folder._checksum(content)}.parquet")
    named.write_bytes(content)
    return named


@pytest.mark.parametrize(
    "change",
    [
        lambda table: table.drop_columns(["alternative"]),
        lambda table: table.drop_columns(["weaned_per_litter"]),
        lambda table: table.drop_columns(["farrowings"]),
        lambda table: table.append_column("more", pa.array([1] * table.num_rows)),
        lambda table: table.replace_schema_metadata({}),
        lambda table: table.replace_schema_metadata({"conservation_checks_passed": "many"}),
        lambda table: table.set_column(0, "case", pa.array(["other"] * table.num_rows)),
        lambda table: table.set_column(2, "replicate", pa.array(np.arange(table.num_rows) + 1)),
        lambda table: table.rename_columns([f"{name}_" for name in table.column_names]),
        lambda table: table.set_column(3, table.column_names[3], pa.array(["text"] * table.num_rows)),
        lambda table: pa.table({"a": [1] * table.num_rows}),
        lambda table: table.slice(0, 0),
        lambda table: table.set_column(0, "case", pa.array([b"\xff"] * table.num_rows).cast(pa.string(), safe=False)),
    ],
)
@TELLS_OF_DAMAGE
def test_a_block_of_another_form_is_run_again(change, study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")
    forged(tmp_path / "study", change)
    assert_same(small_study(tmp_path / "study", resume=True), study[0])
    assert sorted(file.name for file in (tmp_path / "study/blocks").iterdir()) == sorted(
        file.name for file in (study[1] / "blocks").iterdir()
    )


@pytest.mark.parametrize("bytes_of_name", [b"alternativ\xff", b"alternativx"])
@TELLS_OF_DAMAGE
def test_a_block_whose_columns_are_not_those_of_its_schema_is_run_again(bytes_of_name, study, tmp_path):
    """Arrow cannot show such names, or does not find them."""
    shutil.copytree(study[1], tmp_path / "study")
    file = min((tmp_path / "study/blocks").iterdir())
    before, after = file.read_bytes().rsplit(b"ARROW:schema", 1)
    place = before.rindex(b"\x0balternative")
    content = before[: place + 1] + bytes_of_name + before[place + 12 :] + b"ARROW:schema" + after
    file.unlink()
    file.with_name(f"{file.name[:14]}{folder._checksum(content)}.parquet").write_bytes(content)
    assert_same(small_study(tmp_path / "study", resume=True), study[0])


def nested(table, name, field, change):
    """The table with the values of one field of the table `name` in it replaced by `change(values)`."""
    lists = table[name].combine_chunks()
    rows = lists.flatten()
    fields = [change(rows.field(at)) if part.name == field else rows.field(at) for at, part in enumerate(rows.type)]
    structs = pa.StructArray.from_arrays(fields, [part.name for part in rows.type])
    return table.set_column(
        table.column_names.index(name), name, pa.ListArray.from_arrays(lists.offsets, structs)
    ).replace_schema_metadata(table.schema.metadata)


def outputs_with(table, value, name="feed_intake_kg_per_day"):
    """The table with another value of an output in the second replicate."""
    at = table.column_names.index(name)
    values = table.column(at).to_pylist()
    return table.set_column(at, table.column_names[at], pa.array([values[0], value, *values[2:]], pa.float64()))


def first_replaced(value):
    return lambda values: pa.array([value, *values.to_pylist()[1:]], values.type)


IMPOSSIBLE = {
    "an infinite output": (lambda table: outputs_with(table, float("inf")), "feed_intake_kg_per_day, replicate 1: inf"),
    "more than all": (
        lambda table: outputs_with(table, 101.0, "preweaning_mortality_percent"),
        "preweaning_mortality_percent, replicate 1: 101.0 is no share of a whole, 0 to 100 %",
    ),
    "a huge output": (lambda table: outputs_with(table, -1e300), "feed_intake_kg_per_day, replicate 1: -1e+300"),
    "an hour after the last": (
        lambda table: nested(table, "staff_hours", "hour", first_replaced(24)),
        "staff_hours.hour, replicate 0: 24 is not between 0 and 23",
    ),
    "a day of the next millennium": (
        lambda table: nested(table, "intake_days", "day", first_replaced(2**31 - 1)),
        "intake_days.day, replicate 0",
    ),
    "an unknown parity class": (
        lambda table: nested(table, "intake_days", "parity_class", first_replaced("P9")),
        "intake_days.parity_class, replicate 0: 'P9' is not known",
    ),
    "an unknown task": (
        lambda table: nested(table, "task_counts", "task", first_replaced("dance")),
        "task_counts.task, replicate 0: 'dance' is not known",
    ),
    "no number of tasks": (
        lambda table: nested(table, "task_counts", "asked", first_replaced(None)),
        "task_counts.asked, replicate 0: None is not given",
    ),
    "infinitely much work": (
        lambda table: nested(table, "staff_hours", "worked_min", first_replaced(float("-inf"))),
        "staff_hours.worked_min, replicate 0: -inf",
    ),
    "two rows of an hour": (
        lambda table: nested(table, "staff_hours", "hour", lambda values: pa.array([7] * len(values), values.type)),
        "column staff_hours: has several rows of replicate",
    ),
    "two rows of a task": (
        lambda table: nested(
            table, "task_counts", "task", lambda values: pa.array([values[0].as_py()] * len(values), values.type)
        ),
        "column task_counts: has several rows of replicate",
    ),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_impossible_values_in_a_block_are_a_located_user_error(name, study, tmp_path):
    change, message = IMPOSSIBLE[name]
    shutil.copytree(study[1], tmp_path / "study")
    file = forged(tmp_path / "study", change)
    with pytest.raises(farrowtide.UserError) as error:
        small_study(tmp_path / "study", resume=True)
    assert f"{file}: column {message.removeprefix('column ')}" in str(error.value)


@pytest.mark.parametrize(
    "change",
    [
        lambda seen: seen | {"counts": {"no such range": {"outside": 1, "of": 1}}},
        lambda seen: seen | {"worked_min": [0.0]},
        lambda seen: seen | {"on_duty_min": [float("inf")] * 24},
        lambda seen: seen | {"reached": []},
        lambda seen: seen | {"tasks": {kind: [1, 2] for kind in seen["tasks"]}},
        lambda seen: seen | {"tasks": {"dance": [1, 0, 0]}},
        lambda seen: seen | {"sows": -1},
        lambda seen: seen | {"sows": 10**40},
        lambda seen: seen | {"set_aside": [[10**9, "no"]]},
        lambda seen: seen | {"set_aside": [[0, "a"], [0, "b"]]},
    ],
)
@TELLS_OF_DAMAGE
def test_impossible_observations_in_a_block_are_none(change, study, tmp_path):
    def observed(table):
        seen = json.loads(table.schema.metadata[b"observed"])
        return table.replace_schema_metadata(table.schema.metadata | {b"observed": json.dumps(change(seen)).encode()})

    shutil.copytree(study[1], tmp_path / "study")
    forged(tmp_path / "study", observed)
    again = small_study(tmp_path / "study", resume=True)
    assert_same(again, study[0])
    assert again.warnings == study[0].warnings


@pytest.mark.parametrize("value", [1.0, "x" * 100_000], ids=["numbers", "texts"])
def test_a_small_block_does_not_become_a_huge_table(value, study, tmp_path):
    """A few kB that would be gigabytes in memory are not unpacked."""
    count = 130_000_000 if value == 1.0 else 2_000_000
    place = tmp_path / "study"
    shutil.copytree(study[1], place)

    def bomb(table):
        dictionary = pa.DictionaryArray.from_arrays(pa.array(np.zeros(count, np.int8)), pa.array([value]))
        inner = pa.StructArray.from_arrays([dictionary], ["day" if value == 1.0 else "task"])
        lists = pa.ListArray.from_arrays(pa.array([0, *[count] * table.num_rows], pa.int32()), inner)
        at = table.column_names.index("task_counts")
        return table.set_column(at, "task_counts", lists).replace_schema_metadata(table.schema.metadata)

    file = forged(place, bomb)
    assert file.stat().st_size < 4 << 20
    program = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30)); "
        "from pathlib import Path; from farrowtide.study import folder; "
        "table = folder._read(Path(sys.argv[1]), ''); "
        "print(table is None, Path('/proc/self/status').read_text().split('VmHWM:')[1].split()[0])"
    )
    done = subprocess.run([sys.executable, "-c", program, file], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    refused, most_kb = done.stdout.split()
    assert refused == "True"
    assert int(most_kb) < 1_000_000


@TELLS_OF_DAMAGE
def test_pickles_in_the_metadata_of_a_block_stay_closed(study, tmp_path, canary):
    shutil.copytree(study[1], tmp_path / "study")
    pickled = pickle.dumps(Touch(canary))

    def with_pickles(table):
        extension = {b"ARROW:extension:name": b"arrow.py_extension_type", b"ARROW:extension:metadata": pickled}
        fields = [field.with_metadata(extension) for field in table.schema]
        about_pandas = {"index_columns": [], "columns": [{"metadata": base64.b64encode(pickled).decode()}]}
        metadata = {**table.schema.metadata, b"pandas": json.dumps(about_pandas).encode(), b"pickle": pickled}
        return pa.table(table.columns, pa.schema(fields, metadata))

    forged(tmp_path / "study", with_pickles)
    small_study(tmp_path / "study", resume=True)
    npy = tmp_path / "array.npy"
    np.save(npy, np.array([Touch(canary)], dtype=object), allow_pickle=True)
    next((tmp_path / "study/blocks").iterdir()).write_bytes(npy.read_bytes())
    assert_same(small_study(tmp_path / "study", resume=True), study[0])


def test_a_folder_without_checksums_is_used_with_a_note(study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")
    for file in (tmp_path / "study/blocks").iterdir():
        file.rename(file.with_name(f"{file.name[:13]}.parquet"))
    file = tmp_path / "study/manifest.json"
    held = json.loads(file.read_text(encoding="utf-8"))
    del held["sha256"]
    file.write_text(json.dumps(held | {"format": 2}))
    with pytest.warns(UserWarning, match="4 blocks were written by an earlier version without checksums"):
        found = small_study(tmp_path / "study", resume=True)
    assert_same(found, study[0])
    assert {file.name: file.read_bytes() for file in (tmp_path / "study/blocks").iterdir()} == {
        file.name: file.read_bytes() for file in (study[1] / "blocks").iterdir()
    }
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
        small_study(tmp_path / "study", resume=True)


def test_a_block_stripped_of_its_checksum_is_run_again(study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")
    original = max((tmp_path / "study/blocks").iterdir())
    content = bytearray(original.read_bytes())
    content[len(content) // 2] ^= 1
    stripped = original.with_name(f"{original.name[:13]}.parquet")
    for beside in (True, False):
        stripped.write_bytes(content)
        if not beside:
            original.unlink()
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
            warnings.filterwarnings("ignore", ".*damaged or replaced")
            found = small_study(tmp_path / "study", resume=True)
        assert_same(found, study[0])
        assert original.exists()
        assert not stripped.exists()


def test_a_block_damaged_after_a_sweep_is_not_read(tmp_path):
    found = study_victim.swept(tmp_path)
    file = max((tmp_path / "blocks").iterdir())
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)
    with pytest.raises(farrowtide.UserError, match="was damaged or replaced after the study had finished"):
        found.replicates(["weaned_per_litter"])


@pytest.mark.parametrize("other", [{"seed": 6}, {"crates": 2}])
@TELLS_OF_DAMAGE
def test_a_block_of_another_study_with_the_same_arms_is_run_again(other, study, tmp_path):
    """Its checksum is right, and so are its columns, labels and replicates."""
    shutil.copytree(study[1], tmp_path / "study")
    small_study(tmp_path / "other", replications=2, **other)
    foreign = max((tmp_path / "other/blocks").iterdir())
    place = foreign.name[:14]
    (own,) = (tmp_path / "study/blocks").glob(f"{place}*")
    for before in (own.unlink, lambda: None):  # in its place, and beside it
        before()
        shutil.copy(foreign, own.parent)
        assert_same(small_study(tmp_path / "study", resume=True), study[0])
        assert [file.name for file in own.parent.glob(f"{place}*")] == [own.name]


def test_a_block_of_another_study_is_not_read_after_a_sweep(tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}})
    found, _ = (
        farrowtide.sweep(scenario, {"handling.day": [4]}, replications=2, seed=seed, threads=1, folder=tmp_path / name)
        for seed, name in ((5, "study"), (6, "other"))
    )
    own, foreign = (max((tmp_path / name / "blocks").iterdir()) for name in ("study", "other"))
    own.unlink()
    shutil.copy(foreign, own.parent)
    with pytest.raises(farrowtide.UserError, match="was damaged or replaced after the study had finished"):
        found.replicates(["weaned_per_litter"])


def test_a_block_of_an_earlier_version_does_not_say_of_which_study_it_is(study, tmp_path):
    shutil.copytree(study[1], tmp_path / "study")

    def unmarked(table):
        return table.replace_schema_metadata(
            {key: table.schema.metadata[key] for key in (b"conservation_checks_passed", b"observed")}
        )

    file = forged(tmp_path / "study", unmarked)
    assert_same(small_study(tmp_path / "study", resume=True), study[0])
    assert file.exists(), "it was not run again"


def test_a_block_that_is_not_of_the_sweep_is_not_read(tmp_path):
    found = study_victim.swept(tmp_path)
    file = max((tmp_path / "blocks").iterdir())
    shutil.copy(file, file.with_name(f"0801{file.name[4:]}"))
    with pytest.raises(farrowtide.UserError, match="files that are not this study's"):
        found.replicates(["weaned_per_litter"])


def test_the_code_in_a_manifest_is_only_compared(study, tmp_path, canary):
    shutil.copytree(study[1], tmp_path / "study")
    file = tmp_path / "study/manifest.json"
    original = {
        key: value
        for key, value in json.loads(file.read_text(encoding="utf-8")).items()
        if key not in ("sha256", "format")
    }
    for payload in payloads(canary):
        for path in paths_of(original):
            if path and isinstance(value_at(original, path), (str, list)):
                by = payload if isinstance(value_at(original, path), str) else [payload]
                file.write_text(manifest.text_of(manifest.manifest_of(replaced(original, path, by))))
                if path[0] == "about":
                    small_study(tmp_path / "study", resume=True)
                    continue
                with pytest.raises(farrowtide.UserError):
                    small_study(tmp_path / "study", resume=True)


# --- Scenarios and overlays ---


def test_no_tag_of_a_scenario_or_an_overlay_runs_code(tmp_path, canary):
    expression, program = payloads(canary)
    (tmp_path / "evil.py").write_text(program)
    for tagged in (
        f"!!python/object/apply:os.mknod ['{canary}']",
        f"!!python/object/new:os.mknod ['{canary}']",
        f"!!python/name:os.mknod '{canary}'",
        f"!!python/module:evil {tmp_path}",
        f'!<tag:yaml.org,2002:python/object/apply:eval> ["{expression}"]',
        "{{ cycler.__init__.__globals__.os.mknod('" + str(canary) + "') }}",
    ):
        quoted = f"'{tagged}'".replace("''", "") if tagged.startswith("{{") else tagged
        for text in (
            f"title: {quoted}\n",
            f"title: t\nroom: {quoted}\n",
            f"title: t\nalternatives: {{a: {quoted}, b: {{}}}}\n",
        ):
            (tmp_path / "s.yaml").write_text(text)
            assert call("check", tmp_path / "s.yaml").exit_code in (0, 2)
            call("describe", tmp_path / "s.yaml")
        (tmp_path / "overlay.yaml").write_text(f"staff: {{roster: {{busy_warning: {tagged}}}}}\n")
        assert call("run", THREE_SOWS, "--coefficients", tmp_path / "overlay.yaml").exit_code == 2
    for key in ("policies", "policies_path", "executor"):
        (tmp_path / "s.yaml").write_text(f"title: t\n{key}: [{tmp_path / 'evil.py'}]\nroom: {{crates: 1}}\n")
        assert call("check", tmp_path / "s.yaml").exit_code == 2
        (tmp_path / "s.yaml").write_text(f"title: t\nroom: {{crates: 1}}\nwater: {{kind: '{tmp_path / 'evil.py'}'}}\n")
        assert call("check", tmp_path / "s.yaml").exit_code == 2


def test_no_tag_of_a_mapping_a_calibration_or_phrases_runs_code(tmp_path, canary):
    (tmp_path / "farrowings.csv").write_text("sow,farrowed\n1,2026-01-01\n")
    (tmp_path / "evil.py").write_text(payloads(canary)[1])
    for tagged in (
        f"!!python/object/apply:os.mknod ['{canary}']",
        f"!!python/object/new:os.mknod ['{canary}']",
        f"!!python/module:evil {tmp_path}",
        "{{ cycler.__init__.__globals__.os.mknod('" + str(canary) + "') }}",
    ):
        for text in (tagged, f"farrowings: {tagged}", f"format: {tagged}\nlevels: {tagged}", f"language: {tagged}"):
            (tmp_path / "evil.yaml").write_text(text + "\n")
            for words in (
                ["records", "check", tmp_path / "farrowings.csv", "--mapping", tmp_path / "evil.yaml"],
                ["run", THREE_SOWS, "--calibration", tmp_path / "evil.yaml"],
                ["protocol", THREE_SOWS, "--language", tmp_path / "evil.yaml"],
            ):
                assert call(*words).exit_code == 2, (words, text)


# --- Links, names and depths that an attack used ---


@pytest.mark.parametrize("own", [".lock", "manifest.json", "blocks"])
def test_a_link_in_a_study_folder_is_not_followed(study, tmp_path, own):
    shutil.copytree(study[1], tmp_path / "study")
    aside, outside = tmp_path / "aside", tmp_path / "outside"
    if own == ".lock":
        (tmp_path / "study" / own).unlink(missing_ok=True)
    else:
        (tmp_path / "study" / own).rename(aside)
    (tmp_path / "study" / own).symlink_to(aside if aside.exists() else outside)
    with pytest.raises(farrowtide.UserError, match="symbolic link"):
        small_study(tmp_path / "study", resume=True)
    assert not outside.exists()


def test_an_unfinished_file_is_never_written_through_a_link(tmp_path):
    victim = tmp_path / "victim"
    victim.write_text("mine")
    (tmp_path / ".unfinished-manifest.json").symlink_to(victim)
    whole_files.write_bytes(tmp_path / "manifest.json", b"{}")
    assert victim.read_text() == "mine"
    assert (tmp_path / "manifest.json").read_bytes() == b"{}"


def test_a_report_whose_recipe_makes_other_files_is_not_called_the_same(outputs, tmp_path):
    shutil.copytree(outputs / "run", tmp_path / "made")
    for file in (tmp_path / "made").iterdir():
        if file.name != "provenance.json":
            file.unlink()
    shutil.copy(outputs / "compare/report.html", tmp_path / "made")
    assert "not what its provenance.json reproduces" in str(reproduced(tmp_path / "made"))


def test_deep_texts_and_strange_names_are_no_internal_errors(outputs, tmp_path):
    held = provenance_of(outputs, "compare")
    held["recipe"]["scenario"] |= {"source": "mapping", "text": "[" * 100_000}
    assert isinstance(reproduced(carrying(outputs, tmp_path, "provenance.json", held)), farrowtide.UserError)
    empty = provenance_of(outputs, "each-sow")
    empty["recipe"]["measures"] = []
    assert isinstance(reproduced(carrying(outputs, tmp_path, "provenance.json", empty)), farrowtide.UserError)
    with pytest.raises(farrowtide.UserError):
        farrowtide.sweep(farrowtide.load(THREE_SOWS), {"feeding": [1, 2], "a.feeding": [2]}, replications=2)


def test_a_dollar_in_a_name_is_no_formula(tmp_path):
    names = {r"$\frac$": {}, **{f"b{day}": {"handling.day": day} for day in (4, 5, 6)}}
    compared = farrowtide.compare(farrowtide.load(THREE_SOWS), names, replications=2)
    assert compared.write_report(tmp_path).is_file()


def test_a_forged_block_of_another_form_is_no_block(three_sows):
    block = blocks.Block(blocks.Arm("case", "name", three_sows, 1), 0, 1, blocks.Kept())
    table = blocks.simulate(block)
    assert blocks.is_of(table, block)
    assert not blocks.is_of(table.append_column("numbers", pa.array([[1, 2]])), block)
    endless = table.schema.metadata | {b"conservation_checks_passed": b"9" * 5000}
    assert not blocks.is_of(table.replace_schema_metadata(endless), block)


@pytest.mark.parametrize(
    ("name", "before"), [("x.svg", "<dc:description>"), ("x.html", '<pre id="provenance" hidden>')]
)
def test_a_page_of_beginnings_without_an_end_is_searched_once(name, before, tmp_path):
    (tmp_path / name).write_text(before * ((8 << 20) // len(before)))
    began = time.process_time()
    assert "has no provenance" in str(reproduced(tmp_path / name))
    assert time.process_time() - began < 5


# --- The working directory ---


def test_no_module_of_the_working_directory_is_run_by_workers(tmp_path, canary):
    """What is started with -c looks for every module in the working directory first."""
    (tmp_path / "s.yaml").write_text("title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 3}}\n")
    for module in ("multiprocessing", "signal", "pickle", "numpy", "sitecustomize"):
        (tmp_path / f"{module}.py").write_text(payloads(canary)[1])
    program = Path(sys.executable).with_name("farrowtide")
    words = ["compare", "s.yaml", "-n", "2", "--executor", "processes", "--workers", "1", "--quiet"]
    done = subprocess.run([program, *words], cwd=tmp_path, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr


def test_no_settings_of_the_working_directory_change_a_picture(tmp_path):
    (tmp_path / "matplotlibrc").write_text("text.usetex: True\nfigure.facecolor: red\nsvg.fonttype: none\n")
    program = (
        "import farrowtide; s = farrowtide.load({'title': 't', 'room': {'crates': 1}}); "
        "print(farrowtide.compare(s, {'a': {}, 'b': {'handling.day': 3}}, replications=2, threads=1).plot_intake().svg())"
    )
    (tmp_path / "plain").mkdir()
    drawn = [
        subprocess.run(
            [sys.executable, "-W", "ignore", "-c", program], cwd=folder, capture_output=True, text=True, check=True
        ).stdout
        for folder in (tmp_path, tmp_path / "plain")
    ]
    assert drawn[0] == drawn[1]
    assert drawn[0].endswith("</svg>\n\n")


@pytest.mark.parametrize(
    ("variable", "value", "backend"),
    [
        ("MPLBACKEND", "nonsense", "None"),
        ("MPLBACKEND", "svg", "svg"),
        ("MATPLOTLIBRC", "/dev/zero", "None"),
    ],
)
def test_no_settings_of_the_environment_stop_a_picture(variable, value, backend, tmp_path):
    program = (
        "import farrowtide.report.pictures, matplotlib, os; "
        f"print(os.environ[{variable!r}], matplotlib.get_backend(auto_select=False))"
    )
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("MPL", "MATPLOTLIB"))}
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=environment | {variable: value},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stderr, done.stdout) == (0, "", f"{value} {backend}\n")


@pytest.mark.parametrize("text", ["abc", "1e400", "-1", "1" + "0" * 5000, ""])
def test_a_time_in_the_environment_that_is_none_is_a_user_error(text, tmp_path):
    """A library reads it when it is loaded, which would be when everything has been simulated."""
    words = ["compare", str(THREE_SOWS), "-n", "2", "--quiet", "--out", str(tmp_path / "out")]
    done = CliRunner().invoke(main, words, env={"SOURCE_DATE_EPOCH": text})
    assert done.exit_code == 2
    assert "error: the environment variable SOURCE_DATE_EPOCH is" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_recipe_of_endless_changes_is_refused(outputs, tmp_path):
    held = provenance_of(outputs, "run")
    held["recipe"]["scenario"]["steps"] = [["override", [["title", '"x"']]]] * 20_000
    assert "steps: List should have at most 1000 items" in str(
        reproduced(carrying(outputs, tmp_path, "provenance.json", held))
    )


def test_no_settings_of_the_working_directory_are_read(tmp_path):
    """A pipe would keep Matplotlib waiting."""
    os.mkfifo(tmp_path / "matplotlibrc")
    program = "import farrowtide.report.pictures, os; print(os.getcwd())"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False
    )
    assert (done.returncode, done.stderr, done.stdout) == (0, "", f"{tmp_path}\n")


@pytest.mark.parametrize("value", ["1" + "0" * 5000, "[" * 60_000, "[1" + "0" * 5000 + "]"])
def test_no_value_on_the_command_line_is_an_internal_error(value, tmp_path):
    for words in (["run", THREE_SOWS, "--set"], ["sweep", THREE_SOWS, "--out", tmp_path, "--vary"]):
        done = call(*words, f"handling.day={value}")
        assert done.exit_code == 2, done.output[-300:]
        assert "handling.day" in done.output


@pytest.mark.parametrize("address", ["tls://localhost:1", "inproc://x", "x"])
def test_an_address_of_no_cluster_is_a_user_error(address):
    pytest.importorskip("distributed")
    with pytest.raises(farrowtide.UserError, match="no Dask cluster at"), executors.named("dask", scheduler=address):
        pass


def test_more_rooms_than_the_memory_holds_are_a_user_error(tmp_path):
    (tmp_path / "s.yaml").write_text("title: t\nroom: {crates: 1}\n")
    program = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30)); "
        "from farrowtide.commands.main import main; main(sys.argv[1:])"
    )
    words = ["run", tmp_path / "s.yaml", "-n", "2147483647", "--threads", "1", "--quiet"]
    done = subprocess.run(
        [sys.executable, "-c", program, *words], capture_output=True, text=True, timeout=120, check=False
    )
    assert (done.returncode, done.stderr) == (
        2,
        "error: there is not enough memory for this; ask for fewer replications\n",
    )


def test_a_key_that_is_there_twice_is_no_provenance(tmp_path):
    assert call("labour", THREE_SOWS, "-n", 2, "--out", tmp_path).exit_code == 0
    provenance = tmp_path / "provenance.json"
    provenance.write_text(provenance.read_text(encoding="utf-8").replace("{", '{"seed": 99,', 1), encoding="utf-8")
    said = call("reproduce", tmp_path)
    assert said.exit_code != 0
    assert "the key 'seed' is there twice" in said.stderr
