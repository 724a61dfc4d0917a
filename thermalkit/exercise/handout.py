"""The site folder that a learner gets, as far as it is the same for every kind of case."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from thermalkit.annex.wording import Wording
from thermalkit.diagnosis.class_.questions import in_own_words
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes.toml_text import toml_text

VISITED_ON = datetime(2026, 1, 21, tzinfo=UTC)
_HEAD = "# Invented: calculated from a model, nobody's home.\n\n"


def head_tables(kind: str, plan: ClassKeys, learner: str, **values: str) -> dict[str, Any]:
    """Name, question and language of a case; `values` are what the question speaks of."""
    words = Wording(plan.language)
    return {
        "site": {
            "name": words.say("exercise.case", name=plan.name, learner=learner),
            "question": words.text(in_own_words("exercise", kind, "question", **values)),
        },
        "report": {"language": plan.language},
        "surveyor": {"name": learner},
    }


def case_files(
    kind: str,
    plan: ClassKeys,
    learner: str,
    tables: Mapping[str, Any],
    *,
    frames: Mapping[str, bytes],
    photos: Mapping[str, bytes],
) -> dict[str, bytes]:
    """Files of a site folder by their path: TIFF frames and JPEG drawings by the frame's name."""
    readme = in_own_words("exercise", kind, "readme", name=plan.name, learner=learner)
    files = {
        "README.md": Wording(plan.language).text(readme).encode(),
        "site.toml": (_HEAD + toml_text(tables)).encode(),
    }
    for name in frames:
        files[f"photos/{name}.jpg"] = photos[name]
        files[f"thermal/{name}.tiff"] = frames[name]
    return files
