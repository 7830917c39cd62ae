"""`farrowtide lessons` gives a student a copy of lessons, homework and scenarios, and never writes over a file."""

import builtins
import re
from pathlib import Path

import click.testing
import jupytext
import pytest

import farrowtide
from farrowtide.commands.main import main
from farrowtide.teaching import lessons as teaching

ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "mine"


def call(folder):
    return click.testing.CliRunner().invoke(main, ["lessons", "--out", str(folder)])


def contents(folder):
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def test_lessons_homework_and_the_scenarios_they_use_are_copied(folder):
    assert call(folder).exit_code == 0
    copied = contents(folder)
    for file in [*ROOT.glob("notebooks/*.py"), *ROOT.glob("notebooks/homework/*.py")]:
        assert copied[file.relative_to(ROOT / "notebooks").as_posix()] == file.read_bytes()
    scenario = "scenarios/teaching/three_sows.yaml"
    assert copied[scenario] == (ROOT / scenario).read_bytes()
    assert farrowtide.load(folder / scenario).title


def test_every_scenario_that_a_lesson_names_is_copied(folder):
    call(folder)
    texts = [file.read_text(encoding="utf-8") for file in folder.rglob("*.py")]
    named = {name for text in texts for name in re.findall(r"[\w/]+/\w+\.yaml", text)}
    assert "fostering/in_a_herd_with_scours.yaml" in named  # in the text only
    assert [name for name in named if not (folder / "scenarios" / name).is_file()] == []


def test_relative_links_of_a_copy_stay_in_it_and_lead_somewhere(folder):
    call(folder)
    prose = [(file, file.read_text(encoding="utf-8")) for file in folder.rglob("*.md")]
    for file in folder.rglob("*.ipynb"):
        prose += [(file, cell.source) for cell in jupytext.read(file).cells if cell.cell_type == "markdown"]
    links = [(file, link) for file, text in prose for link in re.findall(r"\]\(([^)#\s]+)", text)]
    relative = [(file.parent / link).resolve() for file, link in links if not re.match(r"\w+:", link)]
    assert len(relative) > len(list(folder.glob("*.py")))  # the index alone has one for each lesson
    assert [place for place in relative if not (place.is_relative_to(folder.resolve()) and place.exists())] == []


def test_a_notebook_stands_beside_each_lesson_with_the_same_cells(folder):
    call(folder)
    for file in folder.rglob("*.py"):
        pair = file.with_suffix(".ipynb")
        cells = [[(cell.cell_type, cell.source) for cell in jupytext.read(path).cells] for path in (file, pair)]
        assert cells[0] == cells[1]
        assert pair.stat().st_mtime_ns == file.stat().st_mtime_ns  # of a newer one jupytext says that it may be lost


def test_what_a_student_changed_is_kept_and_named(folder):
    call(folder)
    for name in ("first_room.py", "first_room.ipynb"):
        (folder / name).write_text("mine", encoding="utf-8")
    (folder / "homework/first_room_by_hand.py").unlink()
    before = contents(folder)
    again = call(folder)
    after = contents(folder)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"homework/first_room_by_hand.py"}
    assert "first_room.py (it differs" in again.stderr
    assert "(1 file written)" in again.stderr


def test_a_second_copy_has_the_same_bytes(folder, tmp_path):
    call(folder)
    call(tmp_path / "other")
    assert contents(folder) == contents(tmp_path / "other")


def test_without_jupytext_percent_files_are_copied_and_a_hint_is_given(folder, monkeypatch):
    imported = builtins.__import__

    def refuse(name, *arguments, **options):
        if name == "jupytext":
            raise ImportError(name)
        return imported(name, *arguments, **options)

    monkeypatch.setattr(builtins, "__import__", refuse)
    monkeypatch.setattr(teaching, "find_spec", lambda name: None)
    done = call(folder)
    assert done.exit_code == 0
    assert not list(folder.rglob("*.ipynb"))
    assert (folder / "first_room.py").is_file()
    assert "farrowtide[notebooks]" in done.stderr


def test_a_file_in_place_of_the_folder_is_an_error_of_the_user(tmp_path):
    (tmp_path / "mine").write_text("x", encoding="utf-8")
    done = call(tmp_path / "mine")
    assert done.exit_code == 2
    assert "mine" in done.stderr


def test_a_link_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "mine").symlink_to(tmp_path / "elsewhere")
    assert call(tmp_path / "mine").exit_code == 2
    assert not list((tmp_path / "elsewhere").iterdir())
