"""Loading a user's own policies from classes or files, checking them early, and naming them in the provenance."""

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
    """A Python file with its text, so that workers on other machines do not need the file."""

    path: str
    text: str


def classes(sources: Iterable[type[Policy] | PolicyFile]) -> list[type[Policy]]:
    """The classes themselves, and every policy that a file defines. Raises UserError if one cannot be used."""
    policies: list[type[Policy]] = []
    for source in sources:
        policies += [source] if isinstance(source, type) else _classes_in(source)
    for policy in policies:
        _validate(policy)
    return policies


def origin(policy: type[Policy]) -> dict[str, str]:
    """The entry of a policy in the provenance: family, name, class, file, and a hash of its source (16 digits)."""
    # The hash covers whole files, those of base classes too: code beside a class can change what the class decides.
    own = [base for base in policy.__mro__ if issubclass(base, Policy) and base.__module__ != Policy.__module__]
    try:
        files = dict(_source_of(base) for base in own)
        file, digest = next(iter(files)), _digest("".join(files.values()))
    except (OSError, TypeError, KeyError):
        file, digest = "not in a file", NOT_RECORDED
    return {"family": policy.family, "name": policy.name, "class": policy.__qualname__, "file": file, "hash": digest}


def _source_of(policy: type[Policy]) -> tuple[str, str]:
    """The name and text of the file that defines a class; in a notebook or shell, the source of the class alone."""
    policy_file = getattr(sys.modules[policy.__module__], "_read_from", None)
    if policy_file:
        return Path(policy_file.path).name, policy_file.text
    file = Path(inspect.getfile(policy))
    return file.name, file.read_text(encoding="utf-8") if file.is_file() else inspect.getsource(policy)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", errors="surrogatepass")).hexdigest()[:16]


def _classes_in(file: PolicyFile) -> list[type[Policy]]:
    # The same text from the same path is the same module, so that it runs only once in each process.
    name = f"farrowtide_own_{_digest(file.path + file.text)}"
    module = sys.modules.get(name) or _module(name, file)
    policies = [value for value in vars(module).values() if isinstance(value, type) and issubclass(value, Policy)]
    own = [policy for policy in dict.fromkeys(policies) if policy.__module__ == name and "name" in vars(policy)]
    if not own:
        raise UserError(f"{file.path}: defines no policy: a subclass of a family of farrowtide.policies with a `name`")
    return own


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


def _validate(policy: type[Policy]) -> None:
    """Raises UserError, which names the class, for mistakes that would otherwise surface during a run."""
    if not (isinstance(policy, type) and issubclass(policy, Policy)) or not hasattr(policy, "family"):
        raise UserError(f"{policy!r} is not a policy: it must be a subclass of a family of farrowtide.policies")
    where = f"{file_of(policy)}: {policy.__qualname__}"
    if not _NAME.fullmatch(getattr(policy, "name", "")):
        raise UserError(f"{where}: needs a `name` of lower-case letters, digits and _")
    if missing := sorted(policy.__abstractmethods__):
        raise UserError(f"{where}: does not define {', '.join(missing)}")
    if "help" not in vars(policy) and (policy.__doc__ or not policy.help):
        policy.help = inspect.cleandoc(policy.__doc__ or policy.name).splitlines()[0]
    if not isinstance(policy.parameters, Mapping):
        raise UserError(f"{where}: `parameters` must be a mapping from keys to Parameter objects")
    for key, parameter in policy.parameters.items():
        if not _NAME.fullmatch(key) or hasattr(policy, key) or key == "kind":
            raise UserError(f"{where}: a parameter cannot be called '{key}'")
        if not isinstance(parameter, Parameter):
            raise UserError(f"{where}: parameters['{key}'] is a {type(parameter).__name__}, not a Parameter")
        _validate_range(f"{where}: parameters['{key}']", parameter)


def _validate_range(where: str, parameter: Parameter) -> None:
    low, high, default = parameter.low, parameter.high, parameter.default
    if parameter.kind == "integer" and not all(isinstance(limit, int) for limit in (low, high) if limit is not None):
        raise UserError(f"{where} is a whole number: `low` and `high` must be whole numbers, too")
    if parameter.kind not in ("number", "integer") or default is None:
        return
    if (low is not None and default < low) or (high is not None and default > high):
        raise UserError(f"{where}: the default is outside the range")
