"""What a notebook shows of an object."""

from html.parser import HTMLParser

import pytest

import farrowtide


class Tags(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.open, self.seen = [], set()
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.add(tag)


@pytest.mark.parametrize(
    ("what", "shows"),
    [
        (lambda comparison: comparison.scenario, "2 hand feeds"),
        (lambda comparison: farrowtide.run(comparison.scenario, replications=1), "Feed intake per sow"),
        (lambda comparison: comparison, "All others are clearly behind"),
    ],
)
def test_an_object_is_shown_as_a_table(comparison, what, shows):
    text = what(comparison)._repr_html_()
    assert shows in text
    assert "table" in Tags(text).seen


def test_a_title_is_text_in_a_notebook(small_room):
    hostile = small_room.override({"title": "<script>alert(1)</script>"})
    assert "script" not in Tags(hostile._repr_html_()).seen
