"""What is found by being there: the modules of a package that declare a name."""

from __future__ import annotations

import importlib
import pkgutil
from types import ModuleType


def modules(package: str, attribute: str) -> dict[str, ModuleType]:
    """The modules of `package` that have `attribute`, under its value.

    Raises:
        ValueError: two modules declare the same value.
    """
    home = importlib.import_module(package)
    found: dict[str, ModuleType] = {}
    for info in pkgutil.iter_modules(home.__path__):
        module = importlib.import_module(f"{package}.{info.name}")
        value = getattr(module, attribute, None)
        if not isinstance(value, str):
            continue
        if value in found:
            raise ValueError(
                f"{module.__name__} and {found[value].__name__} both declare {attribute} {value!r}"
            )
        found[value] = module
    return found
