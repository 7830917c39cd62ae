"""The harness that builds mutants builds in what it says, and nothing while none is active."""

import ast

import pytest
from python_sites import changed, sites

SOURCE = '''
def price(kg: float, least: float = 0.5, *, bulk=False) -> float:
    """Of some feed."""
    if kg < least:
        raise ValueError(f"{kg + 0} is less than {least}")
    total = 2 * kg - 1
    if bulk and kg >= 100:
        total -= 10
    return max(total, 0)
'''
CALLS = [{"kg": 0.5}, {"kg": 3}, {"kg": 100}, {"kg": 100, "bulk": True}, {"kg": 200, "bulk": True}]


def results(tree, active):
    module = {"_is_active": lambda number: number == active}
    exec(compile(tree, "price.py", "exec"), module)
    found = []
    for call in CALLS:
        try:
            found.append(module["price"](**call))
        except ValueError:
            found.append("refused")
    return found


def test_every_mutant_acts_alone_and_none_while_dormant():
    every = sites(SOURCE)
    built = changed(SOURCE, {site.number: site.number + 1 for site in every})
    plain = results(ast.parse(SOURCE), 0)
    assert results(built, 0) == plain == [0, 5, 199, 189, 389]
    unnoticed = [site.change for site in every if results(built, site.number + 1) == plain]
    assert unnoticed == []


@pytest.mark.parametrize(
    "change",
    ["kg < least becomes kg <= least", "2 * kg becomes 2 / kg", "bulk and kg >= 100 becomes bulk or kg >= 100",
     "total -= 10 becomes total += 10", "max(total, 0) becomes min(total, 0)", "False becomes True"],
)  # fmt: skip
def test_the_usual_mistakes_are_among_them(change):
    assert change in [site.change for site in sites(SOURCE)]


def test_text_and_annotations_are_left_alone():
    assert not [site for site in sites(SOURCE) if "kg + 0" in site.change]
