"""The templates of pages, in which text from files is harmless. Nothing here needs pandas or matplotlib."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from typing import Any

import jinja2

from farrowtide.inert_text import visible


def template(name: str, **filters: Callable[..., Any]) -> jinja2.Template:
    """A page of the package in which text from files is harmless, with filters of its own."""
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_text_of),
        autoescape=True,
        finalize=_inert,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= filters
    return environment.get_template(name)


def _text_of(name: str) -> str:
    return resources.files("farrowtide.report").joinpath("templates", name).read_text(encoding="utf-8")


def _inert(value: Any) -> Any:
    """What the page says in a place; as escapes where it would act on the text around it."""
    return visible(value) if type(value) is str else value  # markup of templates is of a type of its own
