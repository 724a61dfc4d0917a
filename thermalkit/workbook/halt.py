"""Ending a run of cells with words instead of a traceback."""

from __future__ import annotations

from thermalkit.errors import ThermalkitError
from thermalkit.language import Sentence


class Halt(ThermalkitError):
    """Stops the cells below; the notebook shows its message, in its own language, and nothing else."""

    def __init__(self, why: Sentence | ThermalkitError, language: str) -> None:
        self._why = why if isinstance(why, ThermalkitError) else ThermalkitError(why)
        self._language = language
        super().__init__(self._why.said)

    def __str__(self) -> str:
        """The words in the language of the notebook."""
        return self._why.told(self._language)

    def _render_traceback_(self) -> list[str]:
        """What IPython prints for this exception."""
        return str(self).splitlines()
