"""Own policies read from files or given as classes, checked for what would fail later, and named for the provenance."""

from __future__ import annotations

import hashlib
import inspect
import os
import re
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from farrowtide.errors import UserError
from farrowtide.scenarios.policies.errors import file_of, place
from farrowtide.scenarios.policies.families import Parameter, Policy

NOT_RECORDED = "not recorded"
_NAME = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True)
class PolicyFile:
    """A Python file as it was read: workers elsewhere need not have it."""

    path: str
    text: str


def classes(given: Iterable[type[Policy] | PolicyFile]) -> list[type[Policy]]:
    """The policy classes among these: classes as they are, of a Python file all that it defines. Raises UserError."""
    found: list[type[Policy]] = []
    for one in given:
        found += [one] if isinstance(one, type) else _classes_in(one)
    for policy in found:
        _refuse_unfit(policy)
    return found


def origin(policy: type[Policy]) -> dict[str, str]:
    """For the provenance: which policy it is, and 16 hex digits over the source that it was read from."""
    # Whole files, of the classes below it, too: what they use beside the class may change what it decides.
    own = [one for one in policy.__mro__ if issubclass(one, Policy) and one.__module__ != Policy.__module__]
    try:
        files = dict(_source_of(one) for one in own)
        where, digest = next(iter(files)), _digest("".join(files.values()))
    except (OSError, TypeError, KeyError):
        where, digest = "not in a file", NOT_RECORDED
    return {"family": policy.family, "name": policy.name, "class": policy.__qualname__, "file": where, "hash": digest}


def _source_of(policy: type[Policy]) -> tuple[str, str]:
    """The name of its file, and all that stands there; what was typed, in a notebook or a shell that remembers it."""
    read = getattr(sys.modules[policy.__module__], "_read_from", None)
    if read:
        return Path(read.path).name, read.text
    file = Path(inspect.getfile(policy))
    return file.name, file.read_text(encoding="utf-8") if file.is_file() else inspect.getsource(policy)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", errors="surrogatepass")).hexdigest()[:16]


def _classes_in(file: PolicyFile) -> list[type[Policy]]:
    # The same text from the same place is the same module: it is run once, in each worker of a study, too.
    name = f"farrowtide_own_{_digest(file.path + file.text)}"
    module = sys.modules.get(name) or _module(name, file)
    own = [value for value in vars(module).values() if isinstance(value, type) and issubclass(value, Policy)]
    found = [value for value in dict.fromkeys(own) if value.__module__ == name and "name" in vars(value)]
    if not found:
        raise UserError(f"{file.path}: no policy: a class below one of farrowtide.policies, with a `name`")
    return found


def _module(name: str, file: PolicyFile) -> ModuleType:
    module = ModuleType(name)
    module.__file__ = os.path.abspath(file.path)
    vars(module)["_read_from"] = file
    sys.modules[name] = module
    try:
        exec(compile(file.text, module.__file__, "exec", dont_inherit=True), vars(module))
    except Exception as error:
        del sys.modules[name]
        raise UserError(f"{place(error, module.__file__)}: {type(error).__name__}: {error}") from None
    return module


def _refuse_unfit(policy: type[Policy]) -> None:
    """What would fail later, told now and by the class's name."""
    if not (isinstance(policy, type) and issubclass(policy, Policy)) or not hasattr(policy, "family"):
        raise UserError(f"{policy!r} is no policy: a class below one of farrowtide.policies")
    where = f"{file_of(policy)}: {policy.__qualname__}"
    if not _NAME.fullmatch(getattr(policy, "name", "")):
        raise UserError(f"{where}: `name` is needed: small letters, digits and _")
    if missing := sorted(policy.__abstractmethods__):
        raise UserError(f"{where} lacks {', '.join(missing)}")
    if "help" not in vars(policy) and (policy.__doc__ or not policy.help):
        policy.help = inspect.cleandoc(policy.__doc__ or policy.name).splitlines()[0]
    if not isinstance(policy.parameters, Mapping):
        raise UserError(f"{where}: `parameters` is a mapping from a key to its Parameter")
    for key, parameter in policy.parameters.items():
        if not _NAME.fullmatch(key) or hasattr(policy, key) or key == "kind":
            raise UserError(f"{where}: a parameter cannot be called '{key}'")
        if not isinstance(parameter, Parameter):
            raise UserError(f"{where}: parameters['{key}'] is a {type(parameter).__name__}, not a Parameter")
        ends = [end for end in (parameter.low, parameter.high) if end is not None]
        if parameter.kind == "whole" and not all(isinstance(end, int) for end in ends):
            raise UserError(f"{where}: parameters['{key}'] is a whole number, and so are its ends")
        if parameter.kind in ("number", "whole") and parameter.default is not None:
            low, high = parameter.low, parameter.high
            if (low is not None and parameter.default < low) or (high is not None and parameter.default > high):
                raise UserError(f"{where}: the default of parameters['{key}'] lies outside its own range")
