"""Ending a run of cells with words instead of a traceback."""

from __future__ import annotations

from thermalkit.errors import ThermalkitError


class Halt(ThermalkitError):
    """Stops the cells below; the notebook shows its message and nothing else."""

    def _render_traceback_(self) -> list[str]:
        """What IPython prints for this exception."""
        return str(self).splitlines()
