"""Makers of cases: one folder here for each kind, found by its name.

A maker states how a case is drawn, what a learner gets of it, what is true, whether the package's own
unattended run reaches that, and which misconceptions answers to it can show. Nothing outside knows kinds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import numpy as np

    from thermalkit.exercise.handin import HandIn
    from thermalkit.exercise.key import TruthKeys
    from thermalkit.exercise.plan import ClassKeys
    from thermalkit.site import Site

    Rule = Callable[[HandIn, TruthKeys], bool]


class Redrawn(Exception):
    """These random numbers give a case that is not handed out."""


class Maker(Protocol):
    """What the module of a kind offers."""

    MISCONCEPTIONS: Mapping[str, Rule]
    """Rules by the ids of what they name, besides those that all kinds share."""

    def draw_case(self, rng: np.random.Generator, plan: ClassKeys, truth: str) -> Any:
        """A case in which something is true; Redrawn where it lies outside the bands of the difficulty."""

    def site_files(self, drawn: Any, plan: ClassKeys, learner: str) -> dict[str, bytes]:
        """The site folder that a learner gets, by path."""

    def truth_of(self, drawn: Any, site: Site) -> dict[str, Any]:
        """What is true, as plain data of the key."""

    def is_reached(self, drawn: Any, site: Site) -> bool:
        """Whether the unattended run of the kind finds what is true."""


@cache
def kinds() -> tuple[str, ...]:
    """Kinds of cases that can be made."""
    return tuple(sorted(module.name for module in iter_modules(__path__) if module.ispkg))


def maker(kind: str) -> Maker:
    """The maker of a kind."""
    return import_module(f"{__name__}.{kind}")
