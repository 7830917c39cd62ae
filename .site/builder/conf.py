"""Settings of Sphinx. Everything that a page needs is in the site: it is read without a network, also from a folder."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from tree import ROOT

import farrowtide

project = "farrowtide"
author = "The farrowtide maintainers"
copyright = author
version = release = farrowtide.__version__

extensions = ["sphinx.ext.autodoc", "myst_nb", "docstrings"]
source_suffix = {".md": "myst-nb", ".ipynb": "myst-nb"}
default_role = "code"  # docstrings mark names with single backticks
smartquotes = False  # options are written --so

myst_heading_anchors = 6
myst_enable_extensions = ["attrs_inline"]
nb_execution_mode = "off"  # lessons.py has executed them
nb_merge_streams = True

autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
python_use_unqualified_type_names = True
python_maximum_signature_line_length = 88

html_theme = "furo"
html_title = f"farrowtide {release}"
html_static_path = [str(ROOT / ".site/builder/static")]
html_css_files = ["site.css"]
html_js_files = [("site.js", {"defer": "defer"})]
html_show_search_summary = False  # summaries are fetched, which a page opened from a folder may not do
html_copy_source = False
html_show_sphinx = False
html_last_updated_fmt = None
