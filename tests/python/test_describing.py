"""The description of a study: every item of the two published checklists, and everything that the engine lists."""

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import _core
from farrowtide.cautions import CAUTION
from farrowtide.commands.main import main
from farrowtide.outputs.composition import computed_from
from farrowtide.report.description.lists import submodels
from farrowtide.report.wording.evidence import SUPPORT
from farrowtide.report.wording.study import policies_as_written, precision_reached
from farrowtide.scenarios.declarations import declaration
from farrowtide.scenarios.reference import NOT_INPUT

# Monks et al. 2019, J Simulation 13:55-67, the checklist for discrete-event simulation.
STRESS_DES = """1.1 Purpose of the model; 1.2 Model outputs; 1.3 Experimentation aims; 2.1 Base model overview diagram;
2.2 Base model logic; 2.3 Scenario logic; 2.4 Algorithms; 2.5 Components; 2.5.1 Entities; 2.5.2 Activities;
2.5.3 Resources; 2.5.4 Queues; 2.5.5 Entry/exit points; 3.1 Data sources; 3.2 Pre-processing; 3.3 Input parameters;
3.4 Assumptions; 4.1 Initialisation; 4.2 Run length; 4.3 Estimation approach; 5.1 Software or programming language;
5.2 Random sampling; 5.3 Model execution; 5.4 System specification; 6.1 Computer model sharing statement"""
# Grimm et al. 2020, JASSS 23(2) 7: seven elements, the fourth of eleven design concepts.
ODD = """1. Purpose and patterns; 2. Entities, state variables and scales; 3. Process overview and scheduling;
4.1 Basic principles; 4.2 Emergence; 4.3 Adaptation; 4.4 Objectives; 4.5 Learning; 4.6 Prediction; 4.7 Sensing;
4.8 Interaction; 4.9 Stochasticity; 4.10 Collectives; 4.11 Observation; 5. Initialisation; 6. Input data;
7. Submodels"""
ROOT = Path(__file__).parents[2]
FILES = ["feeding/meals_a_day.yaml", "farm/year_of_weekly_groups.yaml"]


def items(text, prefix=""):
    return [prefix + item for item in re.split(r";\s+", text)]


def rows(text):
    """First cell of each row of the tables."""
    return [line.split(" | ")[0].strip("| `") for line in text.splitlines() if line.startswith("| ")]


@pytest.fixture(scope="module", params=FILES)
def described(request):
    scenario = farrowtide.load(ROOT / "scenarios" / request.param)
    return scenario, farrowtide.describe(scenario)


@pytest.fixture(scope="module")
def meals(meals_file):
    return farrowtide.load(meals_file)


@pytest.fixture(scope="module")
def sections(meals):
    return farrowtide.describe(meals).sections


@pytest.mark.parametrize("item", items(STRESS_DES) + items(ODD, "ODD "))
def test_every_item_of_both_checklists_is_filled(described, item):
    _, description = described
    assert len(description.sections[item].split()) >= 10


def test_nothing_is_left_empty(described):
    scenario, description = described
    assert description.text.startswith(f"# {scenario.title}")
    assert scenario.question in description.sections["1.1 Purpose of the model"]
    assert CAUTION in description.text
    assert not re.search(r"\| *\||\bNone\b|\bnan\b|object at|\{\{|\{%", description.text)
    headings = re.findall(r"^#+ (.+)$", description.text, flags=re.MULTILINE)
    assert len(headings) == len(set(headings))


def test_every_table_of_the_page_has_cells_of_equal_number(described):
    blocks = re.findall(r"(?:^\|.*\n)+", described[1].text, flags=re.MULTILINE)
    assert len(blocks) > 20
    for block in blocks:
        counts = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
        assert len(counts) == 1, block


def test_every_kind_of_task_stands_there_with_the_times_of_its_coefficient(sections, meals):
    table = sections["Appendix B. Tasks"]
    kinds = next(info.labels for info in _core.tables()["tasks"] if info.name == "kind")
    assert rows(table)[1:] == kinds
    for line, task in zip(table.splitlines()[-len(kinds) :], _core.tasks(meals._core.coefficients), strict=True):
        found = meals._core.coefficients.find(task["time"])
        assert line.split(" | ")[1] == f"{', '.join(map(str, found.value))} min"
        assert task["cost_of_lateness"] == _core.costs_of_lateness()[task["name"]]
    assert [task["name"] for task in _core.tasks(meals._core.coefficients) if task["pre_empts"]] == ["exam and help"]


def test_ranks_of_tasks_are_those_of_the_coefficients(meals):
    order = meals._core.coefficients.find("staff.rank.order").value
    ranks = {task["name"]: task["rank"] for task in _core.tasks(meals._core.coefficients)}
    assert ranks["exam and help"] == order[0]
    assert ranks["wash"] == ranks["records"] == order[-1]
    assert set(ranks.values()) == set(order)


def test_every_output_table_column_and_coefficient_group_stands_there(sections, meals):
    assert rows(sections["Appendix A. Outputs"])[1:] == list(farrowtide.catalogue())
    for name, infos in _core.tables().items():
        assert rows(sections[f"Table {name}"])[1:] == [info.name for info in infos]
    coefficients = meals._core.coefficients
    counts = np.zeros(3, int)
    for line in sections["Appendix F. Sources of the numbers"].splitlines()[4:]:
        counts += [int(cell) for cell in line.split(" | ")[1:4]]
    grades = [coefficients.find(path).grade for path in coefficients.paths]
    assert counts.tolist() == [grades.count(grade) for grade in "ABC"]
    assert f"{len(coefficients)} coefficients" in sections["3.1 Data sources"]


def test_every_family_of_policies_is_told_in_its_own_words(sections, meals):
    reference = meals.case("January").alternative("2 hand feeds")
    assert set(reference.policies) == set(SUPPORT)
    told = policies_as_written(reference)
    assert told["temperature"].startswith("73 degF at farrowing, 67 degF by day")
    assert {family: words for family, words in told.items() if family != "temperature"} == {
        family: words for family, words in reference.policies.items() if family != "temperature"
    }
    for family, words in told.items():
        assert f"- {family}: {words}" in sections["ODD 3. Process overview and scheduling"]
    for name in meals.alternatives:
        told = meals.case("July").alternative(name).policies["feeding"]
        assert f"- {name}: {told}" in sections["2.3 Scenario logic"]
    assert SUPPORT["feeding"] in sections["3.4 Assumptions"]
    assert SUPPORT["fostering"] not in sections["3.4 Assumptions"]


def test_every_draw_of_the_header_is_listed_with_its_number(sections):
    header = (ROOT / "libsim/model/purpose.hpp").read_text(encoding="utf-8")
    declared = re.search(r"enum class Purpose.*?\{(.*?)\};", header, flags=re.DOTALL)[1]
    numbers = {name: int(number) for name, number in re.findall(r"^\s*(\w+) = (\d+),", declared, flags=re.MULTILINE)}
    assert _core.purposes() == numbers
    for name in numbers:
        assert name.replace("_", " ") in sections["Appendix G. Random draws"]


def test_every_equation_of_the_model_page_is_linked_with_its_source():
    page = (ROOT / ".site/generated/model.md").read_text(encoding="utf-8")
    found = [entry for entries in submodels().values() for entry in entries]
    assert [entry["name"] for entry in found] == re.findall(r"^### (.+)$", page, flags=re.MULTILINE)
    assert all(entry["is"] and entry["source"] for entry in found)
    assert {entry["anchor"] for entry in found} <= set(re.findall(r"\(#(\w+)\)", page))
    assert "Gourley et al. 2020" in next(entry["source"] for entry in found if entry["name"] == "SowEffectDraw")


def test_every_key_of_the_scenario_stands_with_its_value(sections, meals):
    keys = dict(line.split(" | ")[:2] for line in sections["Appendix C. Input of the scenario"].splitlines()[4:])
    keys = {key.strip("| `"): value for key, value in keys.items()}
    assert keys["room.crates"] == "24"
    assert keys["temperature.farrowing"] == "73 degF"
    assert keys["feeding.pre_farrow.allowance"] == "2.7 kg/d"  # a default, in its unit
    families = {key.partition(".")[0] for key in keys}
    assert set(meals.policies) <= families
    assert {key.name for key in declaration().keys} - families == set(NOT_INPUT)
    assert "full_access" not in keys


def test_farm_numbers_are_those_of_the_engine():
    farm = farrowtide.load(ROOT / "scenarios/farm/year_of_weekly_groups.yaml")
    sections = farrowtide.describe(farm).sections
    assert f"{farm.farm['lead_in_groups']} groups fill the rooms first" in sections["4.1 Initialisation"]
    first = farm.farm["lead_in_groups"] * farm.farm["group_every_days"]
    last = first + farm.farm["groups"] * farm.farm["group_every_days"] - 1
    assert f"Counted are days {first} to {last}." in sections["4.1 Initialisation"]
    for name, people in (("7 people", (7, 4)), ("6 people", (6, 3))):
        told = next(line for line in sections["2.5.3 Resources"].splitlines() if line.startswith(f"- {name}"))
        assert re.findall(r"(\d+) at work", told) == [str(count) for count in people]
        assert told.count("each missing on 4 % of days") == 2


def test_what_differs_in_people_and_days_is_told_by_alternative():
    nights = farrowtide.describe(farrowtide.load(ROOT / "scenarios/staffing/night_cover.yaml")).sections
    told = nights["2.5.3 Resources"].splitlines()
    at_night = [line for line in told if "every night between the shifts: 1 at work" in line]
    assert [line.split(":")[0] for line in at_night] == [
        "- one person at night; one person at night, rounds every 15 min"
    ]
    days = farrowtide.load(ROOT / "scenarios/loading/days_before_due.yaml")
    length = farrowtide.describe(days).sections["4.2 Run length"]
    for name in days.alternatives:
        simulated = _core.timetable(days.alternative(name)._core)["days_simulated"]
        assert re.search(rf"^- {name}: .*days simulated {simulated}\b", length, flags=re.MULTILINE)
    assert "crates" not in length


def test_days_simulated_are_those_of_a_run(three_sows):
    times = _core.timetable(three_sows._core)
    rooms = farrowtide.run(three_sows, record=["rooms"]).rooms
    assert times["days_simulated"] * 24 > rooms["hour"].max() > (times["days_simulated"] - 7) * 24
    assert f"{times['days_simulated']} days a replicate" in farrowtide.describe(three_sows).sections["4.2 Run length"]


def test_what_an_output_is_computed_from_is_found_by_measuring_it():
    made_of = {name: computed_from(output) for name, output in farrowtide.catalogue().items()}
    assert made_of["weight_loss_kg"] == "mean(sows.weight_loss_kg)"
    assert made_of["labour_min_per_litter"] == "sum(tasks.minutes), rows where(sows); by sows.total_born"
    assert made_of["sows_lost_percent"].endswith("by sows.left_as")
    columns = {f"{table}.{info.name}" for table, infos in _core.tables().items() for info in infos}
    for text in made_of.values():
        named = {name.replace("all_sows.", "sows.") for name in re.findall(r"\w+\.\w+", text)}
        assert named
        assert named <= columns


def test_numbers_of_a_run_are_those_of_the_comparison(small_room, comparison):
    sections = farrowtide.describe(small_room, comparison).sections
    estimation = sections["4.3 Estimation approach"]
    assert f"{comparison.replications} independent replications" in estimation
    assert f"seed {comparison.seed}." in estimation
    assert comparison.provenance["command"] in sections["5.3 Model execution"]
    first = next(iter(sections.values()))
    assert f"{comparison.provenance['conservation_checks_passed']:,} checks of conservation laws" in first
    rows_of = comparison.differences[comparison.differences["output"] == "feed_intake_kg_per_day"]
    half = ((rows_of["ci_high"] - rows_of["ci_low"]) / 2).max()
    assert f"| Feed intake per sow | kg/d | {half:.2g} |" in estimation


def test_alternatives_given_in_python_are_told(small_room):
    given = {"cool": {"temperature.farrowing": "70 degF"}, "warm": {"temperature.farrowing": "76 degF"}}
    found = farrowtide.compare(small_room, given, replications=2)
    logic = farrowtide.describe(small_room, found).sections["2.3 Scenario logic"]
    assert "| cool | `temperature.farrowing: 70 degF` |" in logic
    assert "1 hand feed" not in logic


def test_a_precision_that_was_asked_for_is_told(small_room):
    found = farrowtide.compare(small_room, precision={"feed_intake_kg_per_day": 5.0}, replications=100)
    estimation = farrowtide.describe(small_room, found).sections["4.3 Estimation approach"]
    assert f"{found.replications} independent replications" in estimation
    assert precision_reached(found.precision) in estimation


def test_an_overlay_and_a_scenario_without_alternatives_are_told(three_sows):
    alone = farrowtide.load({"title": "One room"}).with_coefficients({"sow.trough.capacity": 4.5})
    sections = farrowtide.describe(alone).sections
    assert "| `sow.trough.capacity` | 8 kg | 4.5 kg |" in sections["3.1 Data sources"]
    assert "nothing is compared" in sections["1.3 Experimentation aims"]
    assert "no alternatives and no cases" in sections["2.3 Scenario logic"]
    assert "All coefficients are the built-in ones" in farrowtide.describe(three_sows).sections["3.1 Data sources"]


def test_a_study_of_another_scenario_is_refused(meals, comparison):
    with pytest.raises(farrowtide.UserError, match="the study is of"):
        farrowtide.describe(meals, comparison)


def test_paths_that_the_page_names_are_there(sections):
    named = {
        path for body in sections.values() for path in re.findall(r"`((?:\.site|libsim|tests|bindings)/[\w/.]+)`", body)
    }
    assert len(named) > 15
    assert [path for path in sorted(named) if not (ROOT / path).exists()] == []


def test_the_command_writes_the_same_to_a_file_and_to_standard_output(meals_file, meals, tmp_path):
    out = tmp_path / "deep" / "meals.md"
    assert CliRunner().invoke(main, ["describe", str(meals_file), "--out", str(out)]).exit_code == 0
    printed = CliRunner().invoke(main, ["describe", str(meals_file)])
    assert printed.exit_code == 0
    assert out.read_text(encoding="utf-8") == printed.stdout == farrowtide.describe(meals).text
