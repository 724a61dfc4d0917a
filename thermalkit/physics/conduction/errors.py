"""What can go wrong in a conduction calculation."""

from __future__ import annotations

from thermalkit.errors import ThermalkitError


class IllPosed(ThermalkitError, ValueError):
    """The body as drawn has no single answer, or a name is unknown to it."""


class NotConverged(ThermalkitError):
    """The iteration stopped before the heat balance of every cell closed."""
