"""Answers that are being worked on and not kept yet: they outlive a reload and a kernel that dies.

One small file for each investigation of a site, in the user's private folder. The record and the
client's folder know nothing of it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from thermalkit.record.fingerprint import fingerprint
from thermalkit.record.store import Entry
from thermalkit.record.whole import write_whole

LARGEST_BYTES = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An answer that was not kept, with its reason; `aside` is what its control wants to know again."""

    value: Any
    reason: str = ""
    aside: Any = None


@dataclass(frozen=True, slots=True)
class Drafts:
    """The drafts in one file.

    A draft belongs to the decision it started from: once another one was kept, it is not given back.
    """

    path: Path

    def of(self, step: str, entry: Entry | None) -> Draft | None:
        """The draft of a step whose last decision is `entry`; None where there is none that can be read."""
        item = self._read().get(step)
        if not isinstance(item, dict) or item.get("after") != _after(entry) or "value" not in item:
            return None
        return Draft(value=item["value"], reason=str(item.get("reason", "")), aside=item.get("aside"))

    def keep(self, step: str, entry: Entry | None, draft: Draft) -> None:
        """Write a draft in place of an earlier one.

        Raises
        ------
        WritingError
            It could not be written.
        """
        item = {"after": _after(entry), "value": draft.value, "reason": draft.reason, "aside": draft.aside}
        self._write({**self._read(), step: item})

    def drop(self, step: str) -> None:
        """Forget the draft of a step.

        Raises
        ------
        WritingError
            The file could not be written.
        """
        left = self._read()
        if left.pop(step, None) is not None:
            self._write(left)

    def _read(self) -> dict[str, Any]:
        """What stands in the file; nothing where it cannot be read, for a draft is only a help."""
        try:
            if self.path.stat().st_size > LARGEST_BYTES:
                return {}
            found = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return {}
        return found if isinstance(found, dict) else {}

    def _write(self, drafts: dict[str, Any]) -> None:
        write_whole(self.path, (json.dumps(drafts, ensure_ascii=True) + "\n").encode())


def _after(entry: Entry | None) -> str | None:
    """What tells one decision of a step from another."""
    return None if entry is None else fingerprint([repr(entry.value), entry.at.isoformat()])
