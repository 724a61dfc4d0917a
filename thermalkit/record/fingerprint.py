"""What a decision rested on, in one line."""

from __future__ import annotations

import hashlib
import json
from typing import Any


def fingerprint(inputs: Any) -> str:
    """SHA-256 of the canonical JSON of plain data.

    Keys are sorted and whole floats written as they are read, so that the order in which a surveyor
    wrote the site file does not matter.

    Examples
    --------
    >>> fingerprint({"b": 1, "a": 2.5}) == fingerprint({"a": 2.5, "b": 1})
    True
    """
    text = json.dumps(inputs, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return "sha256:" + hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
