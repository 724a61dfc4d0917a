"""Making a class: a folder for every learner, and the key for the teacher alone."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from thermalkit import __version__
from thermalkit.errors import ThermalkitError, WritingError
from thermalkit.exercise.chance import generator
from thermalkit.exercise.key import KEY_FILE, sealed
from thermalkit.exercise.plan import ClassKeys
from thermalkit.language import say
from thermalkit.record.whole import write_whole

HANDED_OUT, FOR_THE_TEACHER = "hand-out", "teacher"
MOST_ATTEMPTS = 60
_STAGE = ".class-"
_A_MOMENT_S = 1_768_953_600  # 2026-01-21; every file of a class bears it: when one was made tells nothing


Task = tuple[ClassKeys, str, str, str, str]
"""Plan, seed, learner, kind and truth."""


class NoCase(ThermalkitError):
    """No case was found that the package itself solves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """One learner's files by path, the truth, and how many draws it took."""

    name: str
    files: dict[str, bytes]
    truth: dict[str, Any]
    inputs: dict[str, Any]
    attempts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassMade:
    """Where a class was written, and how many draws were refused."""

    hand_out: Path
    key: Path
    learners: int
    redrawn: int


def make_class(
    plan: ClassKeys,
    out: Path,
    seed: str,
    *,
    workers: int = 2,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> ClassMade:
    """Draw, check and write a class; the same plan and seed give the same bytes.

    Parameters
    ----------
    plan : ClassKeys
    out : Path
        Gets `hand-out`, with a folder for each learner, and `teacher`, with the key. Must not hold either.
    seed : str
        Hexadecimal digits of at least 128 bits; it enters the key and nothing else.
    workers : int
        Processes that draw and check.
    progress : callable
        Told after each case how many of how many are made.

    Raises
    ------
    WritingError
        There is a class already, or the folder cannot be written.
    NoCase
        A case cannot be made within the difficulty.
    """
    hand_out, teacher = out / HANDED_OUT, out / FOR_THE_TEACHER
    for folder in (hand_out, teacher):
        if os.path.lexists(folder):
            raise WritingError(say("exercise.there-already", path=str(folder)))
    tasks = [(plan, seed, name, *case) for name, case in zip(plan.learners, dealt(plan, seed), strict=True)]
    made = []
    for number, item in enumerate(_by_processes(tasks, workers), start=1):
        made.append(item)
        progress(number, len(tasks))
    made.sort(key=lambda item: plan.learners.index(item.name))
    with _staged(out) as stage:
        for item in made:
            _write(stage / HANDED_OUT / item.name, item.files)
        _set_times(stage / HANDED_OUT)
        write_whole(stage / FOR_THE_TEACHER / KEY_FILE, _key(plan, seed, made))
        # The key first: a hand-out without its key could never be marked.
        (stage / FOR_THE_TEACHER).rename(teacher)
        (stage / HANDED_OUT).rename(hand_out)
    for left in out.glob(f"{_STAGE}*"):  # of a run that was killed
        shutil.rmtree(left, ignore_errors=True)
    return ClassMade(
        hand_out=hand_out,
        key=teacher / KEY_FILE,
        learners=len(made),
        redrawn=sum(item.attempts - 1 for item in made),
    )


@contextmanager
def _staged(out: Path) -> Iterator[Path]:
    """A folder beside the class, so that a full disk leaves no half of one to be handed out."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=out, prefix=_STAGE) as stage:
            yield Path(stage)
    except OSError as error:
        reason = error.strerror or str(error)
        raise WritingError(say("record.not-written", path=str(out), reason=reason)) from error


def dealt(plan: ClassKeys, seed: str) -> tuple[tuple[str, str], ...]:
    """Kind and truth of each learner's case: evenly many of each, in an order that only the seed knows."""
    cases = plan.cases
    return tuple(cases[number] for number in generator(seed, "order").permutation(len(cases)))


def made_case(task: Task) -> Made:
    """Draw cases of one learner until the package's own unattended run reaches the truth of one."""
    from thermalkit.exercise.cases import Redrawn, maker
    from thermalkit.exercise.forms import form_files
    from thermalkit.exercise.truth import mark_inputs
    from thermalkit.site.folder import read_site

    plan, seed, name, kind, truth = task
    made = maker(kind)
    for attempt in range(1, MOST_ATTEMPTS + 1):
        try:
            drawn = made.draw_case(generator(seed, "case", name, attempt), plan, truth)
        except Redrawn:
            continue
        files = made.site_files(drawn, plan, name)
        with tempfile.TemporaryDirectory(prefix="thermalkit-") as folder:
            _write(Path(folder), files)
            site = read_site(Path(folder))
            if made.is_reached(drawn, site):
                files |= form_files(site, plan, name)
                return Made(
                    name=name,
                    files=files,
                    truth=made.truth_of(drawn, site),
                    inputs=mark_inputs(site),
                    attempts=attempt,
                )
    raise NoCase(say("exercise.no-case", kind=kind, name=name, count=MOST_ATTEMPTS))


def _by_processes(tasks: list[Task], workers: int) -> Iterator[Made]:
    """Cases as they are made; one process needs none besides this one."""
    if workers <= 1 or len(tasks) == 1:
        yield from map(made_case, tasks)
        return
    from concurrent.futures import as_completed

    from thermalkit.processes import processes

    with processes(min(workers, len(tasks))) as pool:
        for future in as_completed([pool.submit(made_case, task) for task in tasks]):
            yield future.result()


def _key(plan: ClassKeys, seed: str, made: list[Made]) -> bytes:
    return sealed(
        {
            "schema": 1,
            "thermalkit": __version__,
            "seed": seed,
            "plan": plan.model_dump(mode="json"),
            "plan_digest": plan.digest,
            "learners": [
                {
                    "name": item.name,
                    "files": {
                        path: hashlib.sha256(item.files[path]).hexdigest() for path in sorted(item.files)
                    },
                    "inputs": item.inputs,
                    "attempts": item.attempts,
                    "truth": item.truth,
                }
                for item in made
            ],
        }
    )


def _write(folder: Path, files: dict[str, bytes]) -> None:
    for path in sorted(files):
        write_whole(folder / path, files[path])


def _set_times(folder: Path) -> None:
    """One time for everything, so that nothing tells which case took longest to find."""
    with suppress(OSError):
        for path in sorted(folder.rglob("*"), reverse=True):
            os.utime(path, (_A_MOMENT_S, _A_MOMENT_S))
        os.utime(folder, (_A_MOMENT_S, _A_MOMENT_S))
