"""The report: one page that needs nothing else, the same bytes for the same study, honest in its words."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from types import SimpleNamespace
from urllib.parse import unquote

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.comparison import headlines
from farrowtide.cautions import CAUTION
from farrowtide.report.page import render
from farrowtide.report.pictures.intake import spread
from farrowtide.report.pictures.picture import look_of
from farrowtide.report.wording import cells
from farrowtide.report.wording.comparison import answers
from farrowtide.report.wording.summary import EVERY_CASE, summary


class Page(HTMLParser):
    """Elements with their attributes, and the text."""

    EMPTY = ("meta", "img", "br", "col")

    def __init__(self, text):
        super().__init__()
        self.elements, self.open, self.text = [], [], ""
        self.feed(text)
        assert self.open == [], "an element is not closed"

    def handle_starttag(self, tag, attributes):
        self.elements.append((tag, dict(attributes)))
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture(scope="module")
def text(comparison):
    return render(comparison)


@pytest.fixture(scope="module")
def page(text):
    return Page(text)


def test_the_same_study_gives_the_same_bytes_on_any_number_of_threads(small_room, text):
    assert render(farrowtide.compare(small_room, replications=40, seed=3, threads=1)) == text


def test_nothing_is_fetched_and_nothing_runs(page):
    assert page.all("script") == page.all("link") == page.all("iframe") == []
    assert all(image["src"].startswith("data:image/svg+xml,") for image in page.all("img"))
    assert {anchor["href"] for anchor in page.all("a")} == {"#evidence", "#warnings"}
    assert "evidence" in {heading.get("id") for heading in page.all("h2")}


def test_pictures_are_told_to_those_who_do_not_see_them(page):
    told = [image["alt"] for image in page.all("img")]
    assert len(told) == 3 + 5  # the differences of each of three cases, then these
    temperature = [alt for alt in told if "all alternatives: wanted" in alt]
    assert len(temperature) == 1
    assert all(
        "full access" in alt for alt in told if alt not in temperature
    )  # intake, farrowings, work and busy hours


def test_pictures_carry_no_date(page):
    for image in page.all("img"):
        svg = unquote(image["src"].split(",", 1)[1])
        assert "<svg" in svg
        assert "<dc:date>" not in svg


def test_pictures_on_one_page_share_no_id_and_have_a_title_each(comparison):
    pictures = [comparison.plot_differences(case) for case in comparison.cases]
    pictures += [comparison.plot_intake(), comparison.plot_work(), comparison.plot_utilisation()]
    found = [set(re.findall(r' id="([^"]*)"', picture.svg())) for picture in pictures]
    assert all(found)
    assert len(set.union(*found)) == sum(map(len, found))
    for picture, ids in zip(pictures, found, strict=True):
        assert f"<title>{picture.title}</title>" in picture.svg()
        assert set(re.findall(r'(?:href="|url\()#([^")]+)', picture.svg())) == ids


def test_a_picture_is_saved_by_its_suffix(comparison, tmp_path):
    picture = comparison.plot_work()
    for suffix, start in {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}.items():
        picture.savefig(tmp_path / f"work.{suffix}")
        assert (tmp_path / f"work.{suffix}").read_bytes().startswith(start)
    with pytest.raises(farrowtide.UserError, match=r"work.jpg: a picture is written as .svg, .png or .pdf"):
        picture.savefig(tmp_path / "work.jpg")


def test_no_two_of_many_alternatives_look_the_same(comparison):
    many = replace(
        comparison, alternatives=[f"alternative {number}" for number in range(25)], reference="alternative 0"
    )
    looks = [look_of(many, name) for name in many.alternatives]
    assert len({look["color"] for look in looks}) == 5
    for pair in (("color", "linestyle"), ("color", "marker")):
        assert len({tuple(look[part] for part in pair) for look in looks}) == 25, pair


def test_pictures_in_which_nothing_differs_are_left_out():
    alternatives = {"as it is": {}, "the same": {"room.crates": 2}}
    alike = farrowtide.compare(farrowtide.load({"title": "t", "room": {"crates": 2}}), alternatives, replications=2)
    page = Page(render(alike))
    (temperature,) = page.all("img")  # what is wanted and what is reached differ under every alternative
    assert "all alternatives: wanted" in temperature["alt"]
    assert page.text.count("a picture is left out") == 5


def test_a_case_may_be_called_as_what_all_have_in_common():
    found = summary(
        {"Every case": [("Best", "a"), ("How sure", "as ever")], "other": [("Best", "b"), ("How sure", "as ever")]}
    )
    assert found.first["Every case"] == [("Best", "a")]
    assert [("How sure", "as ever")] in found.first.values()


def test_the_summary_keeps_what_matters_most_where_one_page_is_too_small():
    lines = [
        (label, f"{label}. " + "word " * 60)
        for label in ("Best", "Costs", "Other outputs", "Whom it helps", "Staff time used")
    ]
    many = {f"case {number}": [(label, f"{number} {text}") for label, text in lines] for number in range(4)}
    found = summary({name: [*own, ("How sure", "as ever")] for name, own in many.items()})
    kept = {label for own in found.first.values() for label, _ in own}
    assert {"Best", "Costs", "How sure"} <= kept
    assert "Staff time used" not in kept
    assert found.first[EVERY_CASE] == [("How sure", "as ever")]
    said = [line for part in (found.first, found.rest) for own in part.values() for line in own]
    assert sorted(said) == sorted([*(line for own in many.values() for line in own), ("How sure", "as ever")])


def test_question_answer_caution_and_provenance_stand_on_the_page(page, comparison):
    words = " ".join(page.text.split())
    for expected in (
        comparison.scenario.question,
        "Compared with “2 hand feeds”",
        CAUTION,
        comparison.scenario.hash,
        comparison.scenario.coefficient_hash,
        comparison.provenance["command"],
    ):
        assert expected in words
    assert "too few rooms to tell" in words or "too small to matter" in words


def test_the_page_says_what_each_alternative_does(text, comparison):
    assert "What the alternatives do" in text
    for policies in comparison.policies.values():
        assert policies["feeding"] in text
        assert policies["water"] not in text  # the same in all


def test_the_page_says_how_well_the_effect_of_the_family_is_supported(text):
    assert "Evidence for the effect of feeding" in text
    assert "Evidence for the effect of water" not in text


def test_tables_say_what_the_frames_say(page, comparison):
    row = comparison.differences.query("case == 'July' and alternative == '1 hand feed' and output == 'weight_loss_kg'")
    assert f"+{row['difference'].item():.1f} worse" in page.text


def test_tables_stand_beside_the_page(comparison, tmp_path):
    written = comparison.write_report(tmp_path / "there")
    assert written == tmp_path / "there" / "report.html"
    read = pd.read_csv(tmp_path / "there/differences.csv").fillna({"reason": ""})
    pd.testing.assert_frame_equal(read, comparison.differences)
    assert len(pd.read_csv(tmp_path / "there/outputs.csv")) == len(comparison.cases) * 5 * 40
    assert comparison.write_report(tmp_path / "mine.html") == tmp_path / "mine.html"


def test_headlines_stand_open_and_the_other_outputs_folded(text):
    first, *_, folded = text.split("<details>")
    assert [
        label for label in ("Feed intake per sow ", "Piglets weaned per litter ") if f'"row">{label}' in first
    ] != []
    assert "Stillborn piglets <" in folded
    assert "Stillborn piglets <" not in first
    assert "Lactation feed intake, P1 <" in folded


def test_zero_never_has_a_sign(text):
    words = Page(text).text
    assert not re.search(r"[-+\N{MINUS SIGN}]0(\.0+)?(?![.\d])", words)


def test_each_alternative_gets_one_short_sentence_a_case(comparison):
    for case, sentences in answers(comparison).items():
        assert [sentence.split(":")[0] for sentence in sentences] == comparison.alternatives[1:], case
        assert max(map(len, sentences)) < 140
        assert not any("interval" in sentence or "%" in sentence for sentence in sentences)
    one = answers(comparison)["July"][0]
    assert "sows eat" in one
    assert ", but " in one  # the good apart from the bad


def test_a_scenario_names_its_own_headlines(small_room):
    found = farrowtide.compare(small_room.override({"study.outputs": ["stillborn_percent"]}), replications=2)
    assert [output.name for output in headlines(found)] == ["stillborn_percent"]
    assert "feed_intake_kg_per_day" in set(found.differences["output"])


def test_pounds_on_request(comparison):
    assert "[lb]" in Page(render(comparison, units="us")).text


def test_markup_in_a_title_stays_text(small_room):
    risky = small_room.override({"title": "<script>alert(1)</script>"})
    found = farrowtide.compare(risky, replications=2, outputs=["weaned_per_litter"])
    assert Page(render(found)).all("script") == []


def test_a_scenario_without_cases_is_headed_by_its_title():
    alternatives = {"as it is": {}, "small": {"room": {"crates": 2}}}
    scenario = farrowtide.load({"title": "A room of three", "room": {"crates": 3}, "alternatives": alternatives})
    comparison = farrowtide.compare(scenario, replications=2)
    assert "scenario as written" not in render(comparison)
    assert comparison.plot_work().figure.axes[0].get_title(loc="left") == "A room of three"
    assert "A room of three, small: median" in comparison.plot_farrowings().alt


def test_one_replication_says_that_it_says_nothing(small_room):
    found = farrowtide.compare(small_room, replications=1)
    assert all("too few rooms to tell" in sentence for sentence in answers(found)["July"])
    assert "one room with a value gives no interval" in Page(render(found)).text


def test_a_difference_of_known_direction_and_unknown_importance_says_so():
    output = farrowtide.catalogue()["weight_loss_kg"]
    row = SimpleNamespace(
        difference=-0.4, ci_low=-0.7, ci_high=-0.1, verdict="too few rooms to tell whether it matters",
        reason="lower (better)", rooms_needed=90.0, n=50, n_differing=50,
    )  # fmt: skip
    cell = cells._cell(output, row, "si")
    assert cell.first == "\N{MINUS SIGN}0.4 better, too few rooms to tell whether it matters"
    assert cell.second == "\N{MINUS SIGN}0.7 to \N{MINUS SIGN}0.1; needs about 90"
    assert not cell.clear


def test_names_beside_lines_keep_their_distance():
    moved = spread([1.0, 1.01, 1.02, 5.0], 0.5)
    assert (np.diff(moved) >= 0.5 - 1e-12).all()
    np.testing.assert_array_equal(spread([1.0, 3.0], 0.5), [1.0, 3.0])
