"""Loading a user's own policies from classes or files, checking them early, and naming them in the provenance."""

from __future__ import annotations

import hashlib
import inspect
import math
import os
import re
import sys
import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from types import ModuleType

from farrowtide._core import Coefficients
from farrowtide.errors import UserError
from farrowtide.scenarios.policies.errors import file_of, place, said_by
from farrowtide.scenarios.policies.families import CLOCK_TIME, Parameter, Policy

NOT_RECORDED = "not recorded"
_NAME = re.compile(r"[a-z][a-z0-9_]*")
_ONE_AT_A_TIME = threading.RLock()  # of the threads that load policies: a module is known before it is whole


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
    with _ONE_AT_A_TIME:
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
    except BaseException as error:  # SystemExit, too: the program does not end because a policy says so
        sys.modules.pop(name, None)
        if isinstance(error, KeyboardInterrupt):
            raise
        raise UserError(f"{place(error, module.__file__)}: {type(error).__name__}: {said_by(error)}") from None
    return module


def _validate(policy: type[Policy]) -> None:
    """Raises UserError, which names the class, for mistakes that would otherwise surface during a run."""
    if not (isinstance(policy, type) and any(_is_of(policy, family) for family in Policy.__subclasses__())):
        raise UserError(f"{policy!r} is not a policy: it must be a subclass of a family of farrowtide.policies")
    where = f"{file_of(policy)}: {policy.__qualname__}"
    name = getattr(policy, "name", "")
    if not (isinstance(name, str) and _NAME.fullmatch(name)):
        raise UserError(f"{where}: needs a `name` of lower-case letters, digits and _")
    if missing := sorted(policy.__abstractmethods__):
        raise UserError(f"{where}: does not define {', '.join(missing)}")
    if "help" not in vars(policy) and (policy.__doc__ or not policy.help):
        policy.help = next(iter(inspect.cleandoc(str(policy.__doc__ or "")).splitlines()), name)
    if not _is_text(policy.help):
        raise UserError(f"{where}: `help` must be a text")
    if not isinstance(policy.parameters, Mapping):
        raise UserError(f"{where}: `parameters` must be a mapping from keys to Parameter objects")
    for key, parameter in policy.parameters.items():
        if not (isinstance(key, str) and _NAME.fullmatch(key)) or hasattr(policy, key) or key == "kind":
            raise UserError(f"{where}: a parameter cannot be called {key!r:.60}")
        if not isinstance(parameter, Parameter):
            raise UserError(f"{where}: parameters['{key}'] is a {type(parameter).__name__}, not a Parameter")
        _validate_parameter(f"{where}: parameters['{key}']", parameter)


def _is_of(policy: type, family: type[Policy]) -> bool:
    return issubclass(policy, family) and hasattr(family, "family") and policy.family == family.family


def _is_text(value: object) -> bool:
    """Whether it is a text that can be written: one without halves of surrogate pairs."""
    return isinstance(value, str) and not re.search("[\ud800-\udfff]", value)


def _is_limit(value: object) -> bool:
    return (isinstance(value, float) and not math.isnan(value)) or (isinstance(value, int) and abs(value) < 2**53)


def _is_rising(times: Sequence[str]) -> bool:
    return all(earlier < later for earlier, later in pairwise(times))


def _validate_coefficient(where: str, parameter: Parameter) -> None:
    known, path = Coefficients.built_in(), parameter.coefficient
    if not known.has(path):
        raise UserError(f"{where}: there is no coefficient '{path}'")
    coefficient = known.find(path)
    if len(coefficient.value) > 1:
        raise UserError(f"{where}: the coefficient '{path}' is a table, not a number")
    if coefficient.unit != parameter.unit:
        raise UserError(f"{where}: the coefficient '{path}' is in '{coefficient.unit}', not in '{parameter.unit}'")


def _validate_parameter(where: str, parameter: Parameter) -> None:
    try:
        kind = parameter.kind
    except UserError as error:
        raise UserError(f"{where}: {error}") from None
    low, high, default = parameter.low, parameter.high, parameter.default
    if not all(map(_is_text, (parameter.unit, parameter.help, parameter.coefficient))):
        raise UserError(f"{where}: `unit`, `help` and `coefficient` must be texts")
    for name, texts in (("options", parameter.options), ("default", default if kind == "times_of_day" else ())):
        if not isinstance(texts, (list, tuple)) or not all(map(_is_text, texts)):
            raise UserError(f"{where}: `{name}` must be a list of texts")
    if parameter.coefficient:
        _validate_coefficient(where, parameter)
    if kind == "times_of_day" and not (all(map(CLOCK_TIME.fullmatch, default)) and _is_rising(default)):
        raise UserError(f"{where}: the default must be rising times of day, such as ['07:00', '15:00']")
    if kind == "choice" and default not in parameter.options:
        raise UserError(f"{where}: the default is none of its `options`")
    given = [value for value in (low, high) if value is not None]
    if not all(map(_is_limit, given)):
        raise UserError(f"{where}: `low` and `high` must be numbers")
    if kind == "integer" and not all(isinstance(limit, int) for limit in given):
        raise UserError(f"{where} is a whole number: `low` and `high` must be whole numbers, too")
    if kind == "integer" and not all(-(2**31) <= value < 2**31 for value in (default, *given)):
        raise UserError(f"{where}: the default, `low` and `high` must lie between -(2**31) and 2**31 - 1")
    if kind not in ("number", "integer") or default is None:
        return
    if not math.isfinite(default) or (low is not None and default < low) or (high is not None and default > high):
        raise UserError(f"{where}: the default is outside the range")
