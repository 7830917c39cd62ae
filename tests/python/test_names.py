"""A category has the same names in scenarios, in tables, in views of policies and in what describes the engine."""

import pytest

import farrowtide
from farrowtide import _core
from farrowtide.scenarios.key_page import key_page

SIGNS = ("temperature", "nursing", "not_eaten", "udder", "legs")


def labels(table, column):
    return next(info.labels for info in _core.tables()[table] if info.name == column)


def test_a_sign_has_one_name():
    assert _core.CareView(seen=SIGNS).seen == frozenset(SIGNS)
    assert f"a list of {', '.join(SIGNS)}" in key_page()


def test_the_name_a_sign_had_is_still_read():
    assert _core.CareView(seen={"not_eaten_or_drunk"}).seen == {"not_eaten"}
    assert _core.CareView(just_found="not_eaten_or_drunk").just_found == "not_eaten"
    with pytest.raises(farrowtide.UserError, match="no sign is called 'eaten'"):
        _core.CareView(seen={"eaten"})


def test_tables_and_descriptions_name_tasks_alike():
    tasks = [task["name"] for task in _core.tasks(_core.Coefficients.built_in())]
    assert labels("tasks", "kind") == labels("work_hours", "kind") == tasks == list(_core.costs_of_lateness())
    assert sorted(task for group in _core.task_groups().values() for task in group) == sorted(tasks)


def test_purposes_are_named_with_their_numbers():
    purposes = _core.purposes()
    assert purposes["parity"] == 0
    assert purposes["task_time"] == 100
    assert len(purposes) == len(set(purposes.values()))
    assert list(purposes.values()) == sorted(purposes.values())
