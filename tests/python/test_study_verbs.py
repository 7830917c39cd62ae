"""Every verb that runs a study: the same bytes on any executor, and after any stop. `compare` is in test_studies."""

import json
import multiprocessing
import random
import time

import pandas as pd
import pytest
import study_victim
from click.testing import CliRunner

import farrowtide
from farrowtide.commands.main import main
from farrowtide.pairing import each_sow, pairing_table
from farrowtide.study import executors

pytestmark = pytest.mark.usefixtures("without_drawing")

VERBS = {
    "sweep": (study_victim.swept, ("means", "differences")),
    "parts": (study_victim.taken_apart, ("worth", "replicates")),
    "pick": (study_victim.picked, ("table",)),
    "pairing": (study_victim.paired, ("table",)),
    "each-sow": (study_victim.each_sow_compared, ("table",)),
}
every_verb = pytest.mark.parametrize("verb", VERBS)


@pytest.fixture(scope="module")
def straight(tmp_path_factory):
    """Verb -> what it finds in one go, and its folder."""
    folder = tmp_path_factory.mktemp("straight")
    return {verb: (study(folder / verb), folder / verb) for verb, (study, _) in VERBS.items()}


def assert_same(verb, found, expected):
    for name in VERBS[verb][1]:
        pd.testing.assert_frame_equal(getattr(found, name), getattr(expected, name), check_exact=True)
    assert getattr(found, "provenance", None) == getattr(expected, "provenance", None)
    assert found.replications == expected.replications


def files_of(folder):
    return {file.name: file.read_bytes() for file in sorted((folder / "blocks").glob("*.parquet"))}


@every_verb
@pytest.mark.parametrize("threads", [1, 4])
def test_threads_of_the_engine_give_the_same_bytes(verb, threads, straight):
    assert_same(verb, VERBS[verb][0](threads=threads), straight[verb][0])


def test_processes_give_the_same_bytes(straight, tmp_path):
    with executors.named("processes", workers=2) as pool:
        for verb, (study, _) in VERBS.items():
            assert_same(verb, study(tmp_path / verb, pool), straight[verb][0])
            assert files_of(tmp_path / verb) == files_of(straight[verb][1])


@every_verb
def test_a_study_resumed_after_ctrl_c_equals_one_in_one_go(verb, straight, tmp_path):
    study, _ = VERBS[verb]
    whole, folder = straight[verb]
    rooms = sum(pd.read_parquet(folder / "blocks", columns=["replicate"]).value_counts())

    def stop(done, total, status=""):
        if done > rooms / 2:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        study(tmp_path / "study", progress=stop)
    assert caught.value.finished.replications == 20
    assert caught.value.finished.interrupted
    assert caught.value.folder == tmp_path / "study"
    assert (
        str(caught.value)
        == f"interrupted; finished blocks are kept: resume the study in {tmp_path / 'study'} (--resume)"
    )
    assert 0 < len(files_of(tmp_path / "study")) < len(files_of(folder))
    assert_same(verb, study(tmp_path / "study"), whole)
    assert files_of(tmp_path / "study") == files_of(folder)
    assert (tmp_path / "study/manifest.json").read_bytes() == (folder / "manifest.json").read_bytes()


@every_verb
def test_what_ctrl_c_leaves_is_what_fewer_replications_give(verb, straight):
    def stop(done, total, status=""):
        if done > 0.6 * total:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        VERBS[verb][0](progress=stop)
    finished = caught.value.finished
    assert 0 < finished.replications < study_victim.REPLICATIONS
    if verb in ("pairing", "each-sow"):
        recipe = finished.provenance["recipe"]
        assert finished.provenance["replications"] == recipe["replications"] == finished.replications
    if verb == "each-sow":
        expected = straight[verb][0].table
        expected = expected[expected["replicate"] < finished.replications]
        pd.testing.assert_frame_equal(finished.table, expected, check_exact=True)


@every_verb
def test_ctrl_c_before_a_round_is_complete_leaves_nothing(verb):
    def stop(done, total, status=""):
        raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        VERBS[verb][0](progress=stop)
    assert caught.value.finished is None
    assert caught.value.folder is None


@every_verb
def test_killed_again_and_again_only_unfinished_blocks_are_lost(verb, straight, tmp_path):
    study, _ = VERBS[verb]
    whole, folder = straight[verb]
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["farrowtide.results.comparison", "study_victim"])
    chance = random.Random(11)
    kept = set()
    for _ in range(8):
        victim = context.Process(target=study, args=(tmp_path / "study",))
        victim.start()
        time.sleep(chance.uniform(0, 0.15))
        victim.kill()
        victim.join()
        finished = files_of(tmp_path / "study") if (tmp_path / "study").exists() else {}
        assert finished.items() <= files_of(folder).items()
        assert kept <= finished.keys(), "a finished block was lost"
        kept = set(finished)
    assert_same(verb, study(tmp_path / "study"), whole)
    assert files_of(tmp_path / "study") == files_of(folder)


@every_verb
def test_the_folder_of_another_verb_is_refused(verb, straight):
    for other, (_, folder) in straight.items():
        if other != verb:
            with pytest.raises(farrowtide.UserError, match=f"holds a study of `{other}`, not of `{verb}`"):
                VERBS[verb][0](folder)


def test_a_folder_of_the_first_format_can_be_resumed_by_what_it_may_be_of(straight, tmp_path):
    whole, folder = straight["sweep"]
    study_victim.swept(tmp_path)
    manifest = json.loads((tmp_path / "manifest.json").read_text())
    first_format = {name: value for name, value in manifest.items() if name not in ("verb", "tables", "sha256")} | {
        "format": 1
    }
    (tmp_path / "manifest.json").write_text(json.dumps(first_format))
    with pytest.raises(farrowtide.UserError, match="holds a study of `compare` or `sweep`, not of `pick`"):
        study_victim.picked(tmp_path)
    assert_same("sweep", study_victim.swept(tmp_path), whole)
    assert json.loads((tmp_path / "manifest.json").read_text()) == manifest
    assert files_of(tmp_path) == files_of(folder)


def test_more_replications_go_on_from_a_finished_study(tmp_path):
    def sows(replications, resume, folder=None):
        options = {"replications": replications, "seed": 5, "folder": folder, "resume": resume}
        return each_sow(study_victim.with_alternatives(), "6 kg", "8 kg", **options)

    sows(20, resume=False, folder=tmp_path)
    first = files_of(tmp_path)
    pd.testing.assert_frame_equal(
        sows(30, resume=True, folder=tmp_path).table, sows(30, resume=False).table, check_exact=True
    )
    assert first.items() <= files_of(tmp_path).items()


def test_the_ways_of_pairing_can_be_told_apart_in_the_folder(straight):
    whole, folder = straight["pairing"]
    rooms = pd.read_parquet(folder / "blocks")
    assert not rooms.duplicated(["case", "alternative", "seed", "one_stream", "replicate"]).any()
    assert len(rooms) == study_victim.REPLICATIONS * (3 * 3 - 1)
    name = whole.outputs[0].name
    by_way = rooms.set_index(["alternative", "seed", "one_stream", "replicate"]).sort_index()[name]
    keyed = by_way["8 kg", 5, False] - by_way["6 kg", 5, False]
    expected = whole.table.set_index(["alternative", "output"]).loc[("8 kg", name), "variance_keyed"]
    assert keyed.var() == pytest.approx(expected, rel=1e-12)


def test_a_sow_is_not_compared_with_herself_under_the_same_alternative():
    with pytest.raises(farrowtide.UserError, match="'6 kg' is the reference itself"):
        each_sow(study_victim.with_alternatives(), "6 kg", "6 kg", replications=2)
    with pytest.raises(farrowtide.UserError, match="at least 1"):
        pairing_table(study_victim.with_alternatives(), replications=0)


@pytest.mark.parametrize(
    "words",
    [
        ["pick", "--output", "intake", "--indifference", "0.1"],
        ["pairing", "--output", "weaned_per_litter"],
        ["each-sow", "--alternative", "full access"],
    ],
    ids=lambda words: words[0],
)
def test_commands_keep_a_study_and_resume_it_on_any_executor(words, meals_file, tmp_path):
    verb, *options = words
    command = [verb, str(meals_file), "--set", "room.crates=2", "-n", "20", "--json", "--quiet", *options]
    plain = CliRunner().invoke(main, command)
    kept = CliRunner().invoke(main, [*command, "--study", str(tmp_path / "study")])
    assert plain.exit_code == kept.exit_code == 0, kept.output
    assert kept.stdout == plain.stdout
    again = [*command, "--study", str(tmp_path / "study"), "--executor", "processes", "--workers", "1"]
    refused = CliRunner().invoke(main, again)
    assert refused.exit_code == 2
    assert "resume it (--resume)" in refused.stderr
    assert CliRunner().invoke(main, [*again, "--resume"]).stdout == plain.stdout
    assert "--resume needs the folder" in CliRunner().invoke(main, [*command, "--resume"]).stderr
