"""The notebook side: sessions, controls, opening JupyterLab, the exporter."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from thermalkit.workbook.session import open_session

__all__ = ["open_session"]


def __getattr__(name: str) -> object:
    """Load the session, and with it the widgets, only where a notebook asks for it."""
    if name == "open_session":
        from thermalkit.workbook.session import open_session

        return open_session
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
