"""What a user holds prints as one line that says what it is of, however long its names are."""

import pytest

import farrowtide
from farrowtide.outputs.one_line import listed, one_line

LONG = "A title that goes on, " * 20
TITLE = "A room of four"
MANY = {f"an alternative with a rather long name, number {i}": {"room.crates": 4 + i} for i in range(4)}


def results(title, other="small"):
    """By its class, a result of each kind."""
    scenario = farrowtide.load(
        {
            "title": title,
            "room": {"crates": 4},
            "alternatives": {"as it is": {}, other: {"room": {"crates": 3}}},
        }
    )
    swept = farrowtide.sweep(scenario, {"room.crates": [2, 3]}, replications=2, seed=9)
    return {
        "Result": farrowtide.run(scenario, replications=2, seed=9, record=["piglets"]),
        "Comparison": farrowtide.compare(scenario, replications=2, seed=9),
        "Sweep": swept,
        "BestWithin": swept.best_within("weaned_per_litter"),
        "Picked": farrowtide.pick(scenario, "weaned_per_litter", 0.1, replications=2, seed=9),
        "PairingTable": farrowtide.pairing.pairing_table(scenario, replications=2, seed=9),
        "EachSow": farrowtide.pairing.each_sow(scenario, "as it is", other, replications=2, seed=9),
        "Description": farrowtide.describe(scenario),
    }


@pytest.fixture(scope="module")
def short():
    return results(TITLE)


@pytest.fixture(scope="module")
def long():
    return results(LONG, other="an alternative with a name, " * 10)


@pytest.mark.parametrize(
    ("kind", "line"),
    [
        ("Result", "<Result of 'A room of four': 2 replications from 0, seed 9; tables sows, piglets>"),
        ("Comparison", "<Comparison of 'A room of four': small against as it is; 1 case, 2 replications, seed 9>"),
        (
            "Sweep",
            "<Sweep of 'A room of four': crates 2, crates 3 against as written; 1 case, 2 replications, seed 9>",
        ),
        ("BestWithin", "<BestWithin of 'as written': 'crates 3'>"),
        (
            "Picked",
            "<Picked of 'A room of four': none of 2 alternatives picked by weaned_per_litter; 2 replications, 4 rooms>",
        ),
        ("PairingTable", "<PairingTable of 'A room of four': small against as it is; 1 case, 2 replications, seed 9>"),
        ("EachSow", "<EachSow of 'A room of four': small against as it is; 6 sows in 2 replications, seed 9>"),
        ("Description", None),
    ],
)
def test_a_result_says_on_one_line_what_it_is_of(short, long, kind, line):
    if line:
        assert repr(short[kind]) == line
    assert repr(short[kind]).startswith(f"<{kind} of ")
    for result in (short[kind], long[kind]):
        assert len(repr(result)) < 200
        assert "\n" not in repr(result)
        assert repr(result).endswith(">")


def test_many_alternatives_are_counted_where_their_names_are_too_long():
    scenario = farrowtide.load({"title": TITLE, "room": {"crates": 4}})
    comparison = farrowtide.compare(scenario, MANY, replications=1)
    assert f"': 3 alternatives against {next(iter(MANY))}; 1 case, 1 replication, seed " in repr(comparison)


def test_titles_of_60_characters_and_lines_of_199_are_whole_and_longer_ones_are_cut():
    assert one_line("Sweep", "a  b\n c", "x; y", "z") == "<Sweep of 'a b c': x; y; z>"
    assert one_line("Sweep", "t" * 60, "x") == f"<Sweep of '{'t' * 60}': x>"
    assert one_line("Sweep", "t" * 61, "x") == f"<Sweep of '{'t' * 59}\N{HORIZONTAL ELLIPSIS}': x>"
    before = "<Sweep of 'a': "
    fits = "f" * (199 - len(before) - 1)
    assert one_line("Sweep", "a", fits) == f"{before}{fits}>"
    cut = one_line("Sweep", "a", f"{fits}f")
    assert cut == f"{before}{fits[:-1]}\N{HORIZONTAL ELLIPSIS}>"
    assert len(cut) == 199


def test_names_of_60_characters_are_listed_and_more_are_counted():
    assert listed(["a" * 29, "b" * 29], "case") == f"{'a' * 29}, {'b' * 29}"
    assert listed(["a" * 29, "b" * 30], "case") == "2 cases"
    assert listed(["a" * 61], "case") == "1 case"
    assert listed([], "case") == ""
