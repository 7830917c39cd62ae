"""Blocks of a study by hand: what is kept of rooms, which values a block may have, and what a study folder does with its files."""

import hashlib
import json
import re
import shutil

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import farrowtide
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.study import blocks, folder, manifest
from farrowtide.study.block_values import require_possible
from farrowtide.study.blocks import Arm, Block, Kept
from farrowtide.study.folder import StudyFolder, rooms_in
from farrowtide.study.plan import plan
from farrowtide.study.points import at_points

NOTHING_MORE = Kept()
MADE = b"conservation_checks_passed"


@pytest.fixture(scope="module")
def room():
    return farrowtide.load({"title": "t", "room": {"crates": 1}})


@pytest.fixture(scope="module")
def study(room):
    return plan(room, {"a": {}, "b": {"handling.day": 5}}, replications=100, seed=5, tables=())


@pytest.fixture(scope="module")
def made(study):
    """Block -> its table, of replicates 0 to 2 and 20 to 21 of the first arm and 0 to 2 of the second."""
    a, b = study.arms
    wanted = [Block(a, 0, 3, NOTHING_MORE), Block(a, 20, 2, NOTHING_MORE), Block(b, 0, 3, NOTHING_MORE)]
    return {block: blocks.simulate(block) for block in wanted}


def test_words_are_kept_as_such_and_not_as_places_in_a_list(study):
    table = blocks.simulate(Block(study.arms[0], 0, 1, Kept(tables=("sows", "task_counts"))))
    for name, field in (("sows", "left_as"), ("task_counts", "task")):
        rows = table[name].combine_chunks().flatten()
        assert rows.type.field(field).type == pa.large_string()


# --- Values ---


def block_with(**columns):
    """Replicates 4 and 5 of a block with these columns."""
    return pa.table({"replicate": [4, 5]} | columns)


def fault_of(table, tmp_path):
    """What is wrong with the values, after the name of the file; None where they are possible."""
    try:
        require_possible(table, tmp_path)
    except farrowtide.UserError as error:
        return str(error).removeprefix(f"{tmp_path}: column ").partition("; the block was changed by hand")[0]
    return None


@pytest.mark.parametrize(
    ("name", "value", "what"),
    [
        ("feed_intake_kg_per_day", 1e15, None),
        ("feed_intake_kg_per_day", -1e15, None),
        ("feed_intake_kg_per_day", float("nan"), None),
        ("feed_intake_kg_per_day", 1.0001e15, "is no number of a room"),
        ("feed_intake_kg_per_day", float("-inf"), "is no number of a room"),
        ("feed_intake_kg_per_day", 130.0, None),
        ("stillborn_percent", 0.0, None),
        ("stillborn_percent", 100.0, None),
        ("stillborn_percent", float("nan"), None),
        ("stillborn_percent", -0.001, "is no share of a whole, 0 to 100 %"),
        ("stillborn_percent", 100.001, "is no share of a whole, 0 to 100 %"),
    ],
)
def test_an_output_is_a_number_of_a_room_and_a_share_at_most_the_whole(name, value, what, tmp_path):
    told = f"{name}, replicate 5: {value!r} {what}"
    assert fault_of(block_with(**{name: [1.0, value]}), tmp_path) == (what and told)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [("hour", 0, 23), ("day", 0, 1000), ("group_day", -1000, 1000), ("asked", -(10**15), 10**15)],
)
def test_a_whole_number_is_within_its_limits(name, least, most, tmp_path):
    for value, possible in ((least, True), (most, True), (least - 1, False), (most + 1, False)):
        fault = fault_of(block_with(**{name: [5, value]}), tmp_path)
        told = f"{name}, replicate 5: {value} is not between {least:g} and {most:g}"
        assert fault == (None if possible else told)
    assert fault_of(block_with(**{name: pa.array([None, 5], pa.int64())}), tmp_path) == (
        f"{name}, replicate 4: None is not given"
    )


def test_a_word_is_one_of_those_that_are_known_where_there_is_a_list(tmp_path):
    assert fault_of(block_with(parity_class=["P1", "P3+"]), tmp_path) is None
    assert fault_of(block_with(parity_class=["P1", "P4"]), tmp_path) == "parity_class, replicate 5: 'P4' is not known"
    assert fault_of(block_with(task=["feed by hand", "dance"]), tmp_path) == "task, replicate 5: 'dance' is not known"
    assert fault_of(block_with(left_as=["weaned", "P4"]), tmp_path) == "left_as, replicate 5: 'P4' is not known"
    assert fault_of(block_with(anything=["P4", None]), tmp_path) == "anything, replicate 5: None is not given"


def test_the_first_fault_of_a_column_is_shown_and_labels_are_not_looked_at(tmp_path):
    assert fault_of(block_with(hour=[24, 25]), tmp_path) == "hour, replicate 4: 24 is not between 0 and 23"
    assert fault_of(block_with(case=pa.array([None, None], pa.string()), seed=[0, 2**63 - 1]), tmp_path) is None


def nested(name, *rows_of_replicates):
    return block_with(**{name: pa.array([list(rows) for rows in rows_of_replicates])})


def test_the_fault_of_a_row_is_shown_with_the_replicate_that_it_is_of(tmp_path):
    rows = [{"hour": 7, "worked_min": 3.0}, {"hour": 8, "worked_min": 4.0}]
    assert fault_of(nested("staff_hours", rows, rows), tmp_path) is None
    wrong = [{"hour": 7, "worked_min": float("inf")}]
    assert fault_of(nested("staff_hours", rows, wrong), tmp_path) == (
        "staff_hours.worked_min, replicate 5: inf is no number of a room"
    )
    wrong = [{"hour": 24, "worked_min": 1.0}]
    assert fault_of(nested("staff_hours", rows, wrong), tmp_path) == (
        "staff_hours.hour, replicate 5: 24 is not between 0 and 23"
    )


def test_a_replicate_has_one_row_of_what_tells_rows_apart(tmp_path):
    day = {"parity_class": "P1", "day": 3}
    others = [{"parity_class": "P2", "day": 3}, {"parity_class": "P1", "day": 4}]
    assert fault_of(nested("intake_days", [day, *others], [day]), tmp_path) is None
    assert fault_of(nested("intake_days", others, [day, *others, day]), tmp_path) == (
        "intake_days: has several rows of replicate 5, parity_class P1, day 3"
    )
    assert fault_of(nested("sows", [{"sow": 1}], [{"sow": 2}, {"sow": 2}]), tmp_path) == (
        "sows: has several rows of replicate 5, sow 2"
    )


def test_a_list_without_values_is_no_list_of_rows(tmp_path):
    missing = block_with(sows=pa.array([[{"sow": 1}], None]))
    holed = block_with(sows=pa.array([[{"sow": 1}], [None]]))
    for table in (missing, holed):
        assert fault_of(table, tmp_path) == "sows: has rows without values"
    assert fault_of(block_with(sows=pa.array([[{"sow": 1}], []])), tmp_path) is None


# --- What is kept of rooms ---


def test_a_block_has_a_row_for_each_replicate_with_every_output_as_a_run_has_it(room, made):
    block, table = list(made.items())[1]
    run = farrowtide.run(room, replications=2, first_replicate=20, seed=5)
    assert table["replicate"].to_pylist() == [20, 21]
    assert table["case"].to_pylist() == ["as written"] * 2
    assert table["alternative"].to_pylist() == ["a"] * 2
    frame = blocks.outputs_of([table]).set_index("replicate")
    pd.testing.assert_frame_equal(frame[list(run.outputs)], run.outputs, check_exact=True)
    assert (frame["case"].dtype, frame["alternative"].dtype) == (object, object)
    assert sum(column.null_count for column in table.columns) == run.outputs.isna().sum().sum() > 0
    assert blocks.checks(table) == run.checks
    assert blocks.observed(table).sows == len(run.sows)
    assert blocks.is_of(table, block)


def test_the_tables_of_rooms_are_kept_as_lists_and_come_back_as_rows():
    three = farrowtide.load({"title": "t", "room": {"crates": 3}})
    kept = Kept(tables=("sows", "farrowings", "room_days"))
    some, more = (blocks.simulate(Block(Arm("c", "a", three, 5), first, 2, kept)) for first in (4, 6))
    run = farrowtide.run(three, replications=4, first_replicate=4, seed=5)
    rows = blocks.rows_of([some, more], "sows")
    farrowed = run.sows[(run.sows["total_born"] > 0) & ~run.sows["nurse"]]
    assert list(rows["replicate"]) == list(farrowed["replicate"])
    assert list(rows["sow"]) == list(farrowed["sow"])
    assert set(rows["alternative"]) == {"a"}
    assert rows.index.tolist() == list(range(len(rows)))
    first, second = some["farrowings"].to_pylist()
    assert [len(first), len(second)] == [sum(farrowed["replicate"] == number) for number in (4, 5)]
    assert len(blocks.rows_of([some], "room_days")) > 0
    flat = blocks.without_lists(some)
    assert flat.column_names == [name for name in some.column_names if name not in kept.tables]


def test_a_room_whose_climate_is_imposed_has_no_days_of_it():
    kept = Kept(tables=("room_days",))
    imposed = farrowtide.load({"title": "t", "room": {"crates": 1}, "climate": {"kind": "imposed", "temperature": 20}})
    table = blocks.simulate(Block(Arm("c", "a", imposed, 5), 0, 2, kept))
    assert table["room_days"].to_pylist() == [[], []]


def test_draws_from_one_stream_give_other_rooms_and_label_them(room):
    kept = Kept(labels=("case", "alternative", "seed", "one_stream"))
    by_address, stream, again = (
        blocks.simulate(Block(Arm("c", "a", room, 5, one_stream), 0, 2, kept)) for one_stream in (False, True, True)
    )
    assert stream.equals(again)
    assert stream["one_stream"].to_pylist() == [True, True]
    assert stream["seed"].to_pylist() == [5, 5]
    assert by_address["feed_intake_kg_per_day"] != stream["feed_intake_kg_per_day"]


def test_a_table_that_begins_a_block_is_of_it_and_no_other(study, made):
    (block, table), (_, later), (other, _) = made.items()
    a = study.arms[0]
    assert blocks.is_of(table, block)
    assert blocks.is_of(table.slice(0, 2), block), "the first of its replicates"
    assert not blocks.is_of(table.slice(1, 2), block), "not those after the first"
    assert not blocks.is_of(table.take([1, 0, 2]), block)
    assert not blocks.is_of(later, block)
    assert not blocks.is_of(table, other)
    assert not blocks.is_of(table, Block(Arm("other", "a", a.scenario, a.seed), 0, 3, NOTHING_MORE))
    assert not blocks.is_of(table, Block(a, 0, 3, Kept(tables=("farrowings",))))
    assert not blocks.is_of(table, Block(a, 0, 3, Kept(labels=("case",))))
    assert not blocks.is_of(table.drop_columns(["weaned_per_litter"]), block)


@pytest.mark.parametrize(
    ("text", "good"), [("0", True), ("9" * 18, True), ("9" * 19, False), ("", False), ("-1", False), ("many", False)]
)
def test_the_number_of_checks_of_a_block_has_up_to_18_digits(text, good, made):
    block, table = next(iter(made.items()))
    assert blocks.is_of(table.replace_schema_metadata(table.schema.metadata | {MADE: text}), block) == good
    assert not blocks.is_of(table.replace_schema_metadata(None), block)


@pytest.mark.parametrize(
    ("set_aside", "good"),
    [([], True), ([[0, "x"], [2, "y"]], True), ([[3, "x"]], False), ([[1, "x"], [1, "y"]], False)],
)
def test_rooms_that_a_block_has_set_aside_are_its_own_and_there_once(set_aside, good, made):
    block, table = next(iter(made.items()))
    seen = json.loads(table.schema.metadata[b"observed"]) | {"set_aside": set_aside}
    changed = table.replace_schema_metadata(table.schema.metadata | {b"observed": json.dumps(seen)})
    assert blocks.is_of(changed, block) == good


def test_what_the_rooms_of_a_block_showed_is_in_the_form_in_which_it_is_written(made):
    block, table = next(iter(made.items()))
    changed = table.replace_schema_metadata(table.schema.metadata | {b"observed": b"[]"})
    assert not blocks.is_of(changed, block)


def test_a_block_of_rooms_with_prices_has_what_is_counted_in_money():
    priced = farrowtide.load({"title": "t", "room": {"crates": 1}, "prices": {"currency": "EUR", "feed_per_kg": 0.3}})
    block = Block(Arm("c", "a", priced, 5), 0, 1, NOTHING_MORE)
    table = blocks.simulate(block)
    assert blocks.is_of(table, block)
    plain = farrowtide.load({"title": "t", "room": {"crates": 1}})
    assert not blocks.is_of(table, Block(Arm("c", "a", plain, 5), 0, 1, NOTHING_MORE))


def test_a_block_is_marked_with_its_study_and_an_unmarked_one_is_of_any(made):
    table = next(iter(made.values()))
    assert not blocks.is_marked_otherwise(table.schema, "s")
    assert not blocks.is_marked_otherwise(pa.schema([]), "s")
    marked = blocks.marked(table, "s")
    assert not blocks.is_marked_otherwise(marked.schema, "s")
    assert blocks.is_marked_otherwise(marked.schema, "t")
    foreign = marked.replace_schema_metadata(marked.schema.metadata | {b"pandas": b"{}"})
    assert blocks.without_foreign_metadata(foreign).schema.metadata == marked.schema.metadata
    assert not blocks.without_foreign_metadata(table.replace_schema_metadata(None)).schema.metadata
    earlier = table.replace_schema_metadata({MADE: "7"})
    assert (blocks.checks(earlier), blocks.observed(earlier)) == (7, Observed())


# --- The folder ---


def files_in(place):
    return sorted(file.name for file in (place / "blocks").iterdir())


def test_a_block_is_read_as_it_was_written_from_a_file_named_by_its_checksum(study, made, tmp_path):
    block, table = list(made.items())[2]
    kept = StudyFolder(tmp_path, study)
    with kept.open():
        assert kept.read(block) is None
        kept.write(block, table)
        read = kept.read(block)
        assert read.equals(table)
        assert read.schema.metadata == table.schema.metadata | {b"study": kept.study.encode()}
        assert kept.read(Block(block.arm, 0, 2, NOTHING_MORE)) is None, "it has more rooms"
    (name,) = files_in(tmp_path)
    checksum = hashlib.sha256((tmp_path / "blocks" / name).read_bytes()).hexdigest()[:32]
    assert name == f"0001-00000000-{checksum}.parquet"
    again = StudyFolder(tmp_path, study, resume=True)
    with again.open():
        assert again.read(block).equals(table)


def test_a_longer_block_takes_the_place_of_a_shorter_one_and_a_shorter_one_of_none(study, made, tmp_path):
    block, table = next(iter(made.items()))
    short = Block(block.arm, 0, 2, NOTHING_MORE)
    kept = StudyFolder(tmp_path, study)
    with kept.open():
        kept.write(short, table.slice(0, 2))
        assert kept.read(short).num_rows == 2
        kept.write(block, table)
        whole = files_in(tmp_path)
        assert len(whole) == 1
        kept.write(short, table.slice(0, 2))
        assert files_in(tmp_path) == whole
        kept.write(block, table)
        assert files_in(tmp_path) == whole
        other = table.replace_schema_metadata(table.schema.metadata | {MADE: "7"})
        kept.write(block, other)
        assert blocks.checks(kept.read(block)) == 7, "one of as many rooms is replaced"
        assert len(files_in(tmp_path)) == 1


def test_only_what_was_written_now_of_later_replicates_is_removed(study, made, tmp_path):
    first, later, other = made
    kept = StudyFolder(tmp_path, study)
    with kept.open():
        kept.write(later, made[later])
    with (kept := StudyFolder(tmp_path, study, resume=True)).open():
        kept.write(first, made[first])
        kept.write(other, made[other])
        kept.remove_from(20)
        assert len(files_in(tmp_path)) == 3
        kept.remove_from(0)
    assert [name[:13] for name in files_in(tmp_path)] == ["0000-00000020"]
    with (kept := StudyFolder(tmp_path, study, resume=True)).open():
        kept.write(Block(later.arm, 40, 2, NOTHING_MORE), made[later])
        kept.remove_from(41)
        assert len(files_in(tmp_path)) == 2
        kept.remove_from(40)
    assert [name[:13] for name in files_in(tmp_path)] == ["0000-00000020"]


def test_a_study_goes_where_nothing_is_or_where_it_was_stopped_at_its_first_step(study, tmp_path):
    (tmp_path / ".lock").touch()
    (tmp_path / "blocks").mkdir()
    StudyFolder(tmp_path, study)
    StudyFolder(tmp_path / "not there yet", study)
    (tmp_path / "blocks/a.parquet").touch()
    with pytest.raises(farrowtide.UserError, match="has other files in it"):
        StudyFolder(tmp_path, study)
    shutil.rmtree(tmp_path / "blocks")
    (tmp_path / "blocks").touch()
    with pytest.raises(farrowtide.UserError, match="has other files in it"):
        StudyFolder(tmp_path, study)
    (tmp_path / "blocks").unlink()
    (tmp_path / "more").mkdir()
    with pytest.raises(farrowtide.UserError, match="has other files in it"):
        StudyFolder(tmp_path, study)


def test_an_opened_folder_holds_the_manifest_and_the_question_and_nothing_unfinished(study, tmp_path):
    with StudyFolder(tmp_path, study, asked="how few?").open():
        pass
    for unfinished in (tmp_path / ".unfinished-1", tmp_path / "blocks/.unfinished-2"):
        unfinished.touch()
    with StudyFolder(tmp_path, study, asked="how many?", resume=True).open():
        held = sorted(str(file.relative_to(tmp_path)) for file in tmp_path.rglob("*"))
    assert held == [".lock", "asked.json", "blocks", "manifest.json"]
    assert (tmp_path / "asked.json").read_text() == "how many?"
    with StudyFolder(tmp_path, study, resume=True).open():
        assert (tmp_path / "asked.json").read_text() == "how many?"
    held = json.loads((tmp_path / "manifest.json").read_text())
    assert [arm["alternative"] for arm in held["rooms"]] == ["a", "b"]


def test_a_study_is_told_from_another_by_everything_that_differs(study, room, tmp_path):
    with StudyFolder(tmp_path, study).open():
        pass
    with pytest.raises(farrowtide.UserError, match=r"holds a study; resume it \(--resume\)"):
        StudyFolder(tmp_path, study)
    StudyFolder(
        tmp_path, plan(room, {"a": {}, "b": {"handling.day": 5}}, replications=3, seed=5, tables=()), resume=True
    )
    other = plan(room, {"a": {}, "c": {"handling.day": 5}}, seed=6, tables=())
    with pytest.raises(farrowtide.UserError, match=r"differs in: rooms, seed \(see manifest\.json\)"):
        StudyFolder(tmp_path, other, resume=True)


def test_a_study_at_points_is_another_than_one_that_does_not_say_at_which(study, tmp_path):
    at = at_points(study, [{}], [0], 4)
    without = {key: value for key, value in at.identity().items() if key != "points"}
    (tmp_path / "manifest.json").write_text(manifest.text_of(manifest.manifest_of(without)))
    with pytest.raises(farrowtide.UserError, match=r"differs in: points \(see"):
        StudyFolder(tmp_path, at, resume=True)


def test_a_folder_that_is_open_is_locked_until_it_is_closed(study, tmp_path):
    def opened():
        with StudyFolder(tmp_path, study, resume=True).open():
            return True

    with (
        StudyFolder(tmp_path, study).open(),
        pytest.raises(farrowtide.UserError, match="is locked by another process"),
    ):
        opened()
    assert opened()


def test_the_folder_of_a_study_may_be_a_link(study, tmp_path):
    (tmp_path / "disk").mkdir()
    (tmp_path / "study").symlink_to(tmp_path / "disk")
    with StudyFolder(tmp_path / "study", study).open():
        assert (tmp_path / "disk/manifest.json").exists()


@pytest.mark.parametrize("own", [".lock", "manifest.json", "asked.json", "blocks"])
def test_no_file_of_a_study_is_a_link(own, study, tmp_path):
    with StudyFolder(tmp_path / "study", study, asked="how many?").open():
        pass
    (tmp_path / "study" / own).rename(tmp_path / "elsewhere")
    (tmp_path / "study" / own).symlink_to(tmp_path / "elsewhere")
    kept = StudyFolder(tmp_path / "study", study, resume=True)
    with pytest.raises(farrowtide.UserError, match=f"{re.escape(own)}: is a symbolic link"), kept.open():
        pass


@pytest.mark.parametrize(
    ("damaged", "said"),
    [(1, "1 block (0)"), (2, "2 blocks (0, 1)"), (3, "3 blocks (0, 1, 2)"), (4, "4 blocks (0, 1, 2, ...)")],
)
def test_damaged_blocks_are_counted_and_the_first_three_named(damaged, said, study, tmp_path):
    every = [Block(study.arms[0], first, 3, NOTHING_MORE) for first in (0, 20, 40, 60)]
    with StudyFolder(tmp_path, study).open():
        names = [f"0000-{block.first:08}-{'0' * 32}.parquet" for block in every]
        for name in names[:damaged]:
            (tmp_path / "blocks" / name).touch()
    kept = StudyFolder(tmp_path, study, resume=True)
    with pytest.warns(UserWarning, match="simulated again") as told, kept.open():
        assert [kept.read(block) for block in every] == [None] * 4
    shown = str(told[0].message).partition("because damaged or replaced: ")[2]
    for number, name in enumerate(names):
        shown = shown.replace(name, str(number))
    assert shown == said


def test_of_two_files_of_a_block_the_one_with_more_rooms_that_can_be_read_stays(study, made, tmp_path):
    block, table = next(iter(made.items()))
    files = {}
    for rooms in (1, 3):
        with (kept := StudyFolder(tmp_path / str(rooms), study)).open():
            kept.write(Block(block.arm, 0, rooms, NOTHING_MORE), table.slice(0, rooms))
        (files[rooms],) = (tmp_path / str(rooms) / "blocks").iterdir()
    damaged = [f"0000-00000000-{digit * 32}.parquet" for digit in "0f"]
    for others, left in (((1, 3), 3), ((1,), 1)):
        place = shutil.copytree(tmp_path / "1", tmp_path / f"of {len(others)}")
        for rooms in others:
            shutil.copy(files[rooms], place / "blocks")
        for file in (*damaged, "notes.parquet"):
            (place / "blocks" / file).touch()
        with StudyFolder(place, study, resume=True).open():
            assert files_in(place) == sorted([files[left].name, "notes.parquet"])
    place = tmp_path / "3"
    (place / "blocks" / damaged[0]).mkdir()
    with (
        pytest.raises(farrowtide.UserError, match=f"{damaged[0]}: is a folder in place of a block; remove it"),
        StudyFolder(place, study, resume=True).open(),
    ):
        pass


@pytest.mark.parametrize("format_of_manifest", [2, 3])
def test_a_block_without_a_checksum_is_of_an_earlier_version_or_damaged(format_of_manifest, study, made, tmp_path):
    first, second, _ = made
    with (kept := StudyFolder(tmp_path, study)).open():
        kept.write(first, made[first])
        kept.write(second, made[second])
        names = files_in(tmp_path)
    for name in names:
        (tmp_path / "blocks" / name).rename(tmp_path / "blocks" / f"{name[:13]}.parquet")
    if format_of_manifest == 2:
        held = json.loads((tmp_path / "manifest.json").read_text()) | {"format": 2}
        del held["sha256"]
        (tmp_path / "manifest.json").write_text(json.dumps(held))
        said, expected = "2 blocks were written by an earlier version without checksums", names
    else:
        said, expected = "because damaged or replaced: 1 block", ["0000-00000000.parquet", "0000-00000020.parquet"]
    with pytest.warns(UserWarning, match=said), (kept := StudyFolder(tmp_path, study, resume=True)).open():
        assert (kept.read(first) is None) == (format_of_manifest == 3)
    assert files_in(tmp_path) == expected


def test_the_rooms_of_a_finished_study_are_read_by_column(study, made, tmp_path):
    kept = StudyFolder(tmp_path, study)
    with kept.open():
        for block, table in made.items():
            kept.write(block, table)
    columns = ["alternative", "replicate", "weaned_per_litter"]
    rooms = rooms_in(tmp_path, kept.study, columns)
    assert rooms.column_names == columns
    assert rooms["alternative"].to_pylist() == ["a"] * 5 + ["b"] * 3
    assert rooms["replicate"].to_pylist() == [0, 1, 2, 20, 21, 0, 1, 2]
    for hash_of, wanted in (("another", columns), (kept.study, [*columns, "no_such_column"])):
        with pytest.raises(farrowtide.UserError, match="was damaged or replaced after the study had finished"):
            rooms_in(tmp_path, hash_of, wanted)


def written(table, place):
    """A file of a block with this table, whatever is in it."""
    (place / "blocks").mkdir(parents=True)
    pq.write_table(table, place / "plain")
    content = (place / "plain").read_bytes()
    checksum = hashlib.sha256(content).hexdigest()[:32]
    (place / f"blocks/0000-00000000-{checksum}.parquet").write_bytes(content)
    return place


def is_read(place, columns):
    try:
        return rooms_in(place, "", columns).num_rows > 0
    except farrowtide.UserError:
        return False


def test_a_block_is_read_up_to_the_largest_size_in_memory(tmp_path, monkeypatch):
    """A number takes 8 bytes in each row, a text as many as the longest of all; both files are much smaller."""
    rows = 20_000
    zeros, words = np.zeros(rows), ["x" * 50, "y" * 40] * (rows // 2)
    numbers = pa.table({"replicate": zeros.astype(int), "weaned_per_litter": zeros})
    texts = pa.table({"replicate": zeros.astype(int), "case": words})
    lists = pa.table({"replicate": [0, 1], "task_counts": [[{"task": word} for word in words[: rows // 2]]] * 2})
    for name, table, size in (
        ("numbers", numbers, 2 * 8 * rows),
        ("texts", texts, 50 * rows),
        ("lists", lists, 50 * rows),
    ):
        place = written(table, tmp_path / name)
        for most, read in ((size, True), (size - 1, False)):
            monkeypatch.setattr(folder, "LARGEST_BLOCK_BYTES", most)
            assert is_read(place, ["replicate"]) == read, name


def test_values_of_a_finished_study_are_possible_ones(tmp_path):
    place = written(pa.table({"replicate": [0, 1], "stillborn_percent": [7.0, 107.0]}), tmp_path)
    with pytest.raises(farrowtide.UserError, match=r"stillborn_percent, replicate 1: 107\.0 is no share of a whole"):
        rooms_in(place, "", ["replicate", "stillborn_percent"])


def test_a_block_with_numbers_that_no_block_has_is_not_read(tmp_path):
    """Decimal numbers are bytes to Parquet, as texts are, of which it tells no length."""
    table = pa.table({"replicate": [0, 1], "case": pa.array([1, 2], pa.decimal128(5))})
    assert not is_read(written(table, tmp_path / "decimals"), ["replicate"])
    assert is_read(written(table.select(["replicate"]), tmp_path / "numbers"), ["replicate"])
