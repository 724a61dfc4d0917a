"""Construction details, one small file each, found by being there.

Dimensions are invented common practice, to be set to what was found; they are nobody's catalogue.

Examples
--------
>>> sorted(details())[:3]
['balcony-slab', 'inside-insulation', 'lintel']
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from thermalkit.physics.detail import Detail
from thermalkit.physics.tables import row_named


@cache
def details() -> dict[str, type[Detail]]:
    """Every detail by name: the name of its file, with hyphens."""
    return {
        module.name.replace("_", "-"): _detail_in(f"{__name__}.{module.name}")
        for module in iter_modules(__path__)
    }


def detail_named(name: str) -> type[Detail]:
    """The detail of exactly that name.

    Raises
    ------
    UnknownName
        There is none; the message names the nearest ones.
    """
    return row_named("detail", name, details())


def _detail_in(name: str) -> type[Detail]:
    """The one detail that a file defines."""
    module = import_module(name)
    (found,) = (
        item
        for item in vars(module).values()
        if isinstance(item, type) and issubclass(item, Detail) and item.__module__ == name
    )
    return found
