"""What users write against, by name: a list that tests/golden/interface freezes for each minor version."""

import inspect
from collections.abc import Iterator

import click

import farrowtide
from farrowtide import _core, policies
from farrowtide.commands.main import main
from farrowtide.outputs.catalogue import catalogue
from farrowtide.scenarios.declarations import declaration, visit


def interface() -> dict[str, list[str]]:
    """Sorted lines of each kind. A later version may add lines."""
    kinds = {
        "python": _python(),
        "commands": _commands(main, "farrowtide"),
        "keys": _keys(),
        "coefficients": iter(_core.Coefficients.built_in().paths),
        "outputs": iter(catalogue()),
        "columns": (f"{table}.{info.name}" for table, infos in _core.tables().items() for info in infos),
    }
    return {kind: sorted(set(lines)) for kind, lines in kinds.items()}


def _python() -> Iterator[str]:
    """Names, parameters of functions, public members of classes."""
    for module in (
        farrowtide,
        policies,
        farrowtide.records,
        farrowtide.selecting,
        farrowtide.labour,
        farrowtide.pairing,
    ):
        for name in getattr(module, "__all__", []):
            thing, path = getattr(module, name), f"{module.__name__}.{name}"
            yield path
            if inspect.isfunction(thing):
                yield from (f"{path}({parameter})" for parameter in inspect.signature(thing).parameters)
            elif inspect.isclass(thing):
                own = {
                    member
                    for base in thing.__mro__
                    if base.__module__.startswith("farrowtide")
                    for member in vars(base)
                }
                yield from (f"{path}.{member}" for member in own if not member.startswith("_"))


def _commands(command: click.Command, path: str) -> Iterator[str]:
    yield path
    for parameter in command.params:
        yield from (f"{path} {word}" for word in parameter.opts if word.startswith("-"))
        yield from (f"{path} {word}" for word in parameter.secondary_opts)
        if isinstance(parameter.type, click.Choice):
            yield from (f"{path} {parameter.opts[0]} {choice}" for choice in parameter.type.choices)
    if isinstance(command, click.Group):
        with click.Context(command) as context:
            for name in command.list_commands(context):
                found = command.get_command(context, name)
                assert found is not None
                yield from _commands(found, f"{path} {name}")


def _keys() -> Iterator[str]:
    """Paths, those of earlier names too, and the choices of each, as far as the engine declares them."""
    for key, path, condition in visit(declaration().keys):
        of = f" ({condition})" if condition else ""
        for name in (key.name, *key.aliases):
            called = path[: len(path) - len(key.name)] + name
            yield called + of
            yield from (f"{called}{of}: {choice}" for choice in key.options)
