"""The programs that build the documentation as a site: what they show of headers, and which faults of a site they find."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def builder(monkeypatch):
    monkeypatch.syspath_prepend(ROOT / ".site/builder")


@pytest.mark.parametrize(
    ("body", "mistake"),
    [
        ('<a href="page.html#there">good</a> <p id="there"></p>', None),
        ('<a href="https://example.org/">a link is not loaded</a>', None),
        ('<a href="missing.html">x</a>', "leads nowhere: missing.html"),
        ('<a href="#missing">x</a>', "leads nowhere: #missing"),
        ('<a href="../outside.html">x</a>', "leads nowhere: ../outside.html"),
        ('<img src="missing.svg">', "leads nowhere: missing.svg"),
        ('<img srcset="page.html 1x, missing.png 2x">', "leads nowhere: missing.png"),
        ('<img srcset="data:image/png;base64,AAAA 1x">', None),
        ('<img srcset="https://example.org/a.png">', "fetches https://example.org/a.png"),
        ('<video poster="https://example.org/p.png"></video>', "fetches https://example.org/p.png"),
        ('<video><track src="https://example.org/t.vtt"></video>', "fetches https://example.org/t.vtt"),
        ('<input type="image" src="https://example.org/i.png">', "fetches https://example.org/i.png"),
        ('<svg><image href="https://example.org/s.png"/></svg>', "fetches https://example.org/s.png"),
        ('<svg><use xlink:href="https://example.org/u.svg#a"/></svg>', "fetches https://example.org/u.svg#a"),
        ('<svg><g id="a"/><use href="#a"/></svg>', None),
        ('<script src="https://example.org/a.js"></script>', "fetches https://example.org/a.js"),
        ('<link rel="stylesheet" href="//example.org/a.css">', "fetches //example.org/a.css"),
        ("<style>@import 'https://example.org/b.css';</style>", "fetches https://example.org/b.css"),
        ("<style>p { background: url(https://example.org/c.png) }</style>", "fetches https://example.org/c.png"),
    ],
)
def test_a_fault_of_a_page_is_found(tmp_path, body, mistake):
    import check_site

    (tmp_path / "outside.html").touch()
    site = tmp_path / "site"
    site.mkdir()
    (site / "page.html").write_text(body, encoding="utf-8")
    assert check_site.mistakes(site) == ([f"page.html: {mistake}"] if mistake else [])


def test_a_site_without_pages_is_a_mistake(tmp_path):
    import check_site

    assert check_site.mistakes(tmp_path / "missing") == [f"{tmp_path / 'missing'}: holds no page"]
    assert check_site.mistakes(tmp_path) == [f"{tmp_path}: holds no page"]


def test_a_style_sheet_that_fetches_is_found(tmp_path):
    import check_site

    (tmp_path / "page.html").touch()
    (tmp_path / "a.css").write_text("@font-face { src: url('https://example.org/font.woff2') }", encoding="utf-8")
    assert check_site.mistakes(tmp_path) == ["a.css: fetches https://example.org/font.woff2"]


def test_what_headers_declare_is_shown_without_private_members():
    import cpp_pages

    pages = cpp_pages.pages()
    for folder in cpp_pages.FOLDERS:
        page = pages[f"reference/cpp_{folder}"]
        for header in (ROOT / "libsim" / folder).rglob("*.hpp"):
            text = header.read_text(encoding="utf-8")
            declared = re.findall(
                r"^(?:class|struct|enum class) (?:\[\[\w+\]\] )?(\w+)\b(?![^\n]*;$)", text, re.MULTILINE
            )
            assert [name for name in declared if not re.search(rf"^### .*{name}$", page, re.MULTILINE)] == []
        assert "private:" not in page
        assert "#include" not in page


def test_bodies_of_functions_are_not_shown():
    import cpp_pages

    pages = cpp_pages.pages()
    assert "  Process&& named(const char* what, std::int64_t number = -1) &&;\n" in pages["reference/cpp_kernel"]
    assert "  bool is_called(std::string_view word) const;  // by its name" in pages["reference/cpp_scenario"]
    assert "&& {" not in pages["reference/cpp_kernel"]


def test_files_are_listed_wherever_the_clone_is(tmp_path, monkeypatch):
    import shown_files

    root = tmp_path / "results"
    for name in ("a/b.txt", "a/results/c.txt"):
        (root / name).parent.mkdir(parents=True)
        (root / name).touch()
    monkeypatch.setattr(shown_files, "ROOT", root)
    assert shown_files._files_in("a") == ["a/b.txt"]


def test_links_between_files_become_links_between_pages():
    import links

    pages = {"README.md": "tutorial/overview", ".site/pages/doubt.md": "explanation/doubt"}
    rewritten = links.Links(pages, {}, {"sweep"})
    text = (
        "[a](../../README.md#studies) [b](../../libsim/kernel/wait.hpp#L3) `farrowtide sweep`\n```text\n[a](b)\n```\n"
    )
    assert rewritten.rewritten(text, ".site/pages/doubt.md") == (
        "[a](../tutorial/overview.md#studies) "
        '<a class="reference internal" href="../source/libsim/kernel/wait.hpp.html#L-3">b</a> '
        "[`farrowtide sweep`](../reference/commands.md#farrowtide-sweep)\n```text\n[a](b)\n```\n"
    )
    assert rewritten.shown == {"libsim/kernel/wait.hpp"}
    assert rewritten.rewritten("[a](nowhere.md)", "README.md") == "[a](nowhere.md)"


def test_every_page_of_the_repository_has_one_place():
    import tree

    places = tree.pages()
    assert len(set(places.values())) == len(places)
    written = {path.relative_to(ROOT).as_posix() for path in (ROOT / ".site").rglob("*.md")}
    assert written <= places.keys()
    assert {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "libsim/README.md", "bindings/README.md"} <= places.keys()
