"""Damaged files for every reader, in a process of its own: `python fuzzing.py INPUTS SEED`.

Sound files are damaged at random, as bytes and as text; each result goes through the door it belongs to.
Prints one JSON object: inputs by reader, how many were read after all, what escaped as anything but an
error of the program, the slowest input in seconds, the peak of memory in MB, files left behind.
"""

from __future__ import annotations

import io
import json
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path

import nbformat
import numpy as np
import tifffile
from PIL import Image

sys.path.insert(0, str(Path(__file__).parent))
from conftest import LOGGER, READINGS, SITE_TOML, Folder

from thermalkit.annex.photos import photo_bytes
from thermalkit.annex.prose import fragment_html
from thermalkit.diagnosis.run import Answer, run
from thermalkit.errors import ThermalkitError
from thermalkit.imaging.readers import read_frame
from thermalkit.record.store import read_record
from thermalkit.site import read_site
from thermalkit.site.check import check
from thermalkit.site.files import require_photo
from thermalkit.site.loggers import read_logger
from thermalkit.site.model import LoggerKeys
from thermalkit.workbook.exporter import AnnexExporter, further_analysis

CPU_LIMIT_S = 60  # of one input; what takes longer counts as a hang

WEIRD_NUMBERS = (
    *("nan", "inf", "-inf", "1e308", "-1e308", "1e999", "1e-999", "0", "-0", "9" * 30, "9" * 5000, "1_0"),
    *("-60.0", "-59.9", "60.0", "100.0", "99.9", "1.0", "0.01", "0.02", "200.0", "-40.0", "12.5", "3.0"),
    *("65535", "65536", "2147483648", "4294967295", "18446744073709551616", "0x10", "1,5", "１２", "½", "-5"),
)
WEIRD_TEXT = (
    *("", " ", "\x00", "\x1b[31m", "\u202e", "\ud7ff", "\ufeff", "é" * 3000, "../../x", "/dev/zero", "=1+1"),
    *("{0.__class__}", "%s%n", "<script>", "\r", "\n", "\t", ";", ",", '"', "'", "\\", "[" * 300, "{" * 300),
    *(
        "2026-02-30",
        "9999-12-31T23:59:59Z",
        "0001-01-01",
        "24:60",
        "31/12/99",
        "12:00 PM AM",
        "1970-01-01T00:00",
    ),
)
WEIRD_VALUES = (
    *(None, True, 0, -1, 1e308, -1e308, 10**400, 0.5, "", "x" * 1000, "\x1b[31m", "\u202e", "\ud800"),
    *([], {}, [[]], [{}], [None], [1, 2], [[1, 2, 3]], [[1e308, -1e308]] * 3, [[10**400, 1]], {"a": []}),
)


def damaged_bytes(data: bytes, chance: random.Random) -> bytes:
    """A few bytes flipped, cut out, doubled, moved or replaced by a number that matters."""
    content = bytearray(data)
    for _ in range(chance.choice((1, 1, 1, 2, 4, 16))):
        at = chance.randrange(min(len(content), chance.choice((40, 400, 10**9))) or 1)
        length = chance.choice((1, 2, 4, 8, 100))
        way = chance.randrange(6)
        if way == 0 and content:
            content[min(at, len(content) - 1)] ^= 1 << chance.randrange(8)
        elif way == 1:
            content[at : at + length] = chance.randbytes(length)
        elif way == 2:
            del content[at : at + length]
        elif way == 3:
            content[at:at] = content[at : at + length] * chance.choice((1, 2, 50))
        elif way == 4:
            number = chance.choice((0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF))
            content[at : at + 4] = number.to_bytes(4, chance.choice(("big", "little")))
        else:
            del content[at:]
    return bytes(content)


def damaged_text(text: str, chance: random.Random) -> str:
    """Numbers, words and lines replaced, moved, doubled or left out."""
    for _ in range(chance.choice((1, 1, 1, 1, 1, 2, 5))):
        way = chance.choice((0, 0, 1, 2, 2, 2, 3))
        if way == 0 and (found := list(re.finditer(r"\d+(\.\d+)?", text))):
            one = chance.choice(found)
            text = text[: one.start()] + chance.choice(WEIRD_NUMBERS) + text[one.end() :]
        elif way == 1 and (found := list(re.finditer(r'"[^"\n]*"|[^\s,;="]+', text))):
            one = chance.choice(found)
            text = text[: one.start()] + chance.choice(WEIRD_TEXT) + text[one.end() :]
        elif way == 2 and (found := list(re.finditer(r"(?<== ).+", text))):
            one = chance.choice(found)
            value = chance.choice(
                (*WEIRD_NUMBERS, json.dumps(chance.choice(WEIRD_TEXT)), "[]", "{}", "[[]]", "true")
            )
            text = text[: one.start()] + value + text[one.end() :]
        else:
            lines = text.split("\n")
            at = chance.randrange(len(lines))
            line = lines.pop(at)
            for _ in range(chance.choice((0, 1, 2, 300))):
                lines.insert(chance.randrange(len(lines) + 1), line)
            text = "\n".join(lines)
    return text


def places(tree: object, path: tuple[object, ...] = ()) -> Iterator[tuple[object, ...]]:
    """The way to every node of a tree."""
    yield path
    inside = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in inside:
        yield from places(value, (*path, key))


def damaged_json(tree: object, chance: random.Random) -> object:
    """One node of a tree replaced by a value of another kind, left out or there many times."""
    *way, last = chance.choice(list(places(tree))) or (None,)
    if last is None:
        return chance.choice(WEIRD_VALUES)
    holder = tree
    for key in way:
        holder = holder[key]
    if chance.random() < 0.1:
        del holder[last]
    elif isinstance(holder, list) and chance.random() < 0.1:
        holder.extend([holder[last]] * chance.choice((1, 500)))
    else:
        holder[last] = deepcopy(chance.choice(WEIRD_VALUES))
    return tree


@dataclass(frozen=True)
class Door:
    """A reader: sound contents, how they are damaged, and what is done with the result."""

    name: str
    sound: tuple[bytes, ...]
    read: Callable[[bytes], object]
    is_text: bool = False
    is_json: bool = False

    def damaged(self, chance: random.Random) -> bytes:
        data = chance.choice(self.sound)
        if self.is_json and chance.random() < 0.8:
            tree = json.loads(data)
            for _ in range(chance.choice((1, 1, 2, 4))):
                tree = damaged_json(tree, chance)
            return json.dumps(tree).encode()
        if self.is_text and chance.random() < 0.8:
            encoding = chance.choice((*["utf-8"] * 18, "utf-16", "cp1252"))
            return damaged_text(data.decode(), chance).encode(encoding, "replace")
        return damaged_bytes(data, chance)


def saved(write: Callable[[io.BytesIO], object]) -> bytes:
    stream = io.BytesIO()
    write(stream)
    return stream.getvalue()


def frame_doors(folder: Folder) -> list[Door]:
    values = np.random.default_rng(1).normal(15.0, 2.0, (16, 24))
    counts = values.round().astype(np.uint16)

    def read(ending: str) -> Callable[[bytes], object]:
        path = folder.path / f"thermal/damaged{ending}"

        def reading(data: bytes) -> object:
            path.write_bytes(data)
            try:
                return read_frame(path)
            finally:
                path.unlink()

        return reading

    def table(delimiter: str, decimal: str = ".") -> bytes:
        return "\n".join(
            delimiter.join(f"{v:.2f}".replace(".", decimal) for v in row) for row in values
        ).encode()

    tiffs = tuple(
        saved(lambda stream, v=v, more=more: tifffile.imwrite(stream, v, **more))
        for v, more in (
            (values.astype(np.float32), {}),
            (values, {"compression": "deflate", "rowsperstrip": 4}),
            (counts, {"tile": (16, 16)}),
            (counts, {"byteorder": ">"}),
        )
    )
    return [
        Door("frame .csv", (table(","), table(";", ",")), read(".csv"), is_text=True),
        Door("frame .tsv", (table("\t"),), read(".tsv"), is_text=True),
        Door(
            "frame .npy", tuple(saved(lambda s, v=v: np.save(s, v)) for v in (values, counts)), read(".npy")
        ),
        Door("frame .tiff", tiffs, read(".tiff")),
        Door("frame .png", (saved(lambda s: Image.fromarray(counts).save(s, "PNG")),), read(".png")),
    ]


def photo_door(folder: Folder) -> list[Door]:
    shades = np.random.default_rng(2).integers(0, 255, (30, 40, 4), dtype=np.uint8)
    pictures = [Image.fromarray(shades[..., :n].squeeze()) for n in (1, 3, 4)]
    pictures.append(pictures[1].quantize(16))
    exif = Image.Exif()
    exif[0x0112], exif[0x010E] = 6, "invented"
    sound = [saved(lambda s, p=p: p.save(s, "PNG", exif=exif)) for p in pictures]
    sound += [saved(lambda s, p=p: p.save(s, "JPEG", exif=exif)) for p in pictures[:2]]
    sound += [saved(lambda s: pictures[1].save(s, "JPEG", progressive=True))]
    path = folder.path / "photos/damaged.jpg"

    def read(data: bytes) -> object:
        path.write_bytes(data)
        try:
            require_photo(folder.path, "photos/damaged.jpg")
            return photo_bytes(path)
        finally:
            path.unlink()

    return [Door("photo", tuple(sound), read)]


def site_doors(folder: Folder) -> list[Door]:
    def read(name: str, before: bytes) -> Callable[[bytes], object]:
        path = folder.path / name

        def reading(data: bytes) -> object:
            path.write_bytes(data)
            try:
                site = read_site(folder.path)
                check(site)
                return run(
                    "damp", site, lambda step, propose, inputs: Answer(value=propose(), state="missing")
                )
            finally:
                path.write_bytes(before)

        return reading

    path = folder.path / "loggers/damaged.csv"

    def read_series(data: bytes) -> object:
        path.write_bytes(data)
        try:
            return read_logger(
                path, LoggerKeys(id="a", file="loggers/damaged.csv", place="room", clock="Europe/London")
            )
        finally:
            path.unlink()

    toml, readings = SITE_TOML.encode(), READINGS.encode()
    european = LOGGER.replace(",", ";").replace(".", ",").replace("2026-01-20", "20.01.2026")
    return [
        Door("site.toml", (toml,), read("site.toml", toml), is_text=True),
        Door("readings.csv", (readings,), read("readings.csv", readings), is_text=True),
        Door("logger", (LOGGER.encode(), european.encode()), read_series, is_text=True),
    ]


def record_door(folder: Folder) -> list[Door]:
    """Every decision counts, as if its inputs had not changed."""
    site = read_site(folder.path)
    found = run("damp", site, lambda step, propose, inputs: Answer(value=propose(), state="missing"))
    mark = {
        "frame": "corner",
        "id": "a",
        "shape": "patch",
        "points": [[2, 2], [2, 9], [9, 9]],
        "role": "suspect",
    }
    values = {**found.decisions, "suspect": [mark], "remark": "**x**"}
    more = {
        "reason": "",
        "by": "",
        "at": "2026-01-21T09:00:00Z",
        "inputs": "sha256:" + "0" * 64,
        "thermalkit": "0",
    }
    entries = [{"step": step, "value": value, "proposed": None, **more} for step, value in values.items()]
    path = folder.path / "record/damp.json"

    def read(data: bytes) -> object:
        path.write_bytes(data)
        try:
            record = read_record(folder.path, "damp")
        finally:
            path.unlink()

        def answer(step, propose, inputs):
            entry = record.last(step.name)
            return (
                Answer(value=entry.value, state="decided")
                if entry
                else Answer(value=propose(), state="missing")
            )

        return json.dumps(run("damp", site, answer).as_json("en"), allow_nan=False)

    sound = json.dumps({"schema": 1, "kind": "damp", "entries": entries}).encode()
    return [Door("record", (sound,), read, is_text=True, is_json=True)]


def notebook_door(folder: Folder) -> list[Door]:
    tags = {"metadata": {"tags": ["annex"]}, "id": "a"}
    shown = {
        "output_type": "display_data",
        "metadata": {},
        "data": {"text/html": "<table><tr><td>1</td></tr></table>"},
    }
    picture = {
        "output_type": "display_data",
        "metadata": {},
        "data": {"image/png": "iVBORw0KGgo=", "text/plain": "a"},
    }
    stream = {"output_type": "stream", "name": "stdout", "text": ["a\n", "b"]}
    code = {"cell_type": "code", "execution_count": 1, "source": "x", **tags}
    cells = [
        {**code, "outputs": [], "source": 'site_folder = "."', "metadata": {"tags": ["parameters"]}},
        {"cell_type": "markdown", "source": "# A *b* [c](http://a.example)\n\n| a |\n|---|\n| 1 |", **tags},
        *({**code, "outputs": [output]} for output in (shown, picture, stream)),
    ]  # fmt: skip
    notebook = {
        "cells": cells,
        "metadata": {"thermalkit": {"kind": "damp"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    path = folder.path / "damaged.ipynb"

    def read(data: bytes) -> object:
        path.write_bytes(data)
        try:
            further = further_analysis(path)
            for fragment in further:
                fragment_html(fragment)
            # What JupyterLab would hand over; ids that are missing or there twice are not looked at.
            node = nbformat.from_dict(json.loads(data))
            return AnnexExporter().from_notebook_node(node, {"metadata": {"path": str(folder.path)}})
        finally:
            path.unlink()

    return [Door("notebook", (json.dumps(notebook).encode(),), read, is_text=True, is_json=True)]


def hang(*_: object) -> None:
    raise TimeoutError(f"more than {CPU_LIMIT_S} s")


def fuzz(inputs: int, seed: int, folder: Folder) -> dict[str, object]:
    doors = [
        *(*frame_doors(folder), *photo_door(folder), *site_doors(folder)),
        *(*record_door(folder), *notebook_door(folder)),
    ]
    for door in doors:
        for data in door.sound:
            door.read(data)  # sound, else the rest would prove nothing
    before = folder.listing()
    counts, read, escaped, slowest = Counter(), Counter(), {}, (0.0, "")
    signal.signal(signal.SIGPROF, hang)
    for number in range(inputs):
        door = doors[number % len(doors)]
        data = door.damaged(random.Random(f"{seed} {number}"))
        counts[door.name] += 1
        start = time.perf_counter()
        signal.setitimer(signal.ITIMER_PROF, CPU_LIMIT_S)
        try:
            door.read(data)
            read[door.name] += 1
        except ThermalkitError as error:
            if re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", str(error)):
                escaped[f"{door.name}: control character in a message"] = f"{number}: {error!r:.300}"
        except BaseException as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            ours = [f for f in traceback.extract_tb(error.__traceback__) if "thermalkit" in f.filename] or [
                last
            ]
            where = f"{ours[-1].filename.rpartition('/')[2]}:{ours[-1].lineno}"
            escaped[f"{door.name}: {type(error).__name__} at {where}"] = f"{number}: {error!s:.300}"
        signal.setitimer(signal.ITIMER_PROF, 0)
        slowest = max(slowest, (round(time.perf_counter() - start, 3), f"{door.name} {number}"))
    return {
        "inputs": dict(counts),
        "read": dict(read),
        "escaped": escaped,
        "slowest": slowest,
        "peak_mb": peak_mb(),
        "left": sorted(set(folder.listing()) ^ set(before)),
    }


def peak_mb() -> int:
    """Most memory of this process; `ru_maxrss` would count what its parent held when it started it."""
    status = Path("/proc/self/status")
    if not status.exists():
        return round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
    return round(int(line.split()[1]) / 1024)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        tempfile.tempdir = str(Path(scratch) / "temporary")
        Path(tempfile.tempdir).mkdir()
        result = fuzz(int(sys.argv[1]), int(sys.argv[2]), Folder(Path(scratch) / "site"))
        result["left"] += [path.name for path in Path(tempfile.tempdir).iterdir()]
        sys.stdout.write(json.dumps(result))
