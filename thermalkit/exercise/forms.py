"""The forms of one hand-out that need nothing installed: an offline page, and a sheet to print."""

from __future__ import annotations

from thermalkit.exercise.plan import ClassKeys
from thermalkit.site import Site


def form_files(site: Site, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files to lie beside the site file."""
    return {}
