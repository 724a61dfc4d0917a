"""Marking the temperature strip of a coloured picture, with what it gives at once."""

from __future__ import annotations

import base64
import io
from collections.abc import Mapping
from html import escape
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as widgets
import numpy as np
import traitlets

from thermalkit.errors import ReadingError, ThermalkitError
from thermalkit.imaging.readers.colour import colour_picture
from thermalkit.imaging.readers.strip import Strip, StripReading, read_strip
from thermalkit.record.whole import write_whole
from thermalkit.site.editing import edited
from thermalkit.site.files import LARGEST_FRAME, LARGEST_SITE_FILE, file_bytes
from thermalkit.site.found import files_found
from thermalkit.site.references import SITE_FILE
from thermalkit.site.toml_text import tables_in
from thermalkit.workbook.controls import HERE
from thermalkit.workbook.panels import Panel

if TYPE_CHECKING:
    from thermalkit.workbook.session import Session

PICTURES = (".png", ".jpg", ".jpeg")
_MASKED = (214, 69, 143)  # a colour that no grey is
_NOWHERE = [[-1, -1]] * 4


class StripMarker(anywidget.AnyWidget):
    """A picture and four places on it: cold end, warm end, upper left and lower right of the frame."""

    _esm = HERE / "strip.js"
    _css = HERE / "strip.css"
    picture = traitlets.Unicode().tag(sync=True)
    size = traitlets.List(traitlets.Int()).tag(sync=True)
    points: traitlets.List[list[int]] = traitlets.List().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)


class StripPanel(Panel):
    """Mark the strip, type its ends, see temperatures and mask, keep it in the site file."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        say = session.say
        self._file = widgets.Dropdown(options=coloured_files(session), description=say("workbook.strip.file"))
        self._marker = StripMarker(words=_words(session), points=_NOWHERE, size=[1, 1])
        self._cold, self._warm, self._rounded = (
            widgets.FloatText(value=value, description=say(f"workbook.strip.{name}"), step=0.1)
            for name, value in (("cold", 10.0), ("warm", 20.0), ("rounded", 1.0))
        )
        self._said = widgets.HTML()
        self._keep = widgets.Button(description=say("workbook.strip.keep"), disabled=True)
        self._keep.on_click(self._frame.in_turn(self.save))
        self._file.observe(lambda _: self._open(), "value")
        for widget in (self._marker, self._cold, self._warm, self._rounded):
            widget.observe(lambda _: self._look(), "points" if widget is self._marker else "value")
        if self._file.value is None:
            self._said.value = f"<p>{escape(say('workbook.strip.none'))}</p>"
            self.fill(self._said)
            return
        ends = widgets.HBox([self._cold, self._warm, self._rounded, self._keep])
        self.fill(self._file, self._marker, ends, self._said)
        self._open()

    def as_text(self) -> str:
        """How to mark a strip."""
        return self.session.say("workbook.strip.how")

    def _open(self) -> None:
        """Show a picture, with the strip that stands in the site file."""
        try:
            content = file_bytes(self.session.folder, self._file.value, LARGEST_FRAME)
            rows, columns = colour_picture(self._file.value, content).colours.shape[:2]
        except ReadingError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"
            return
        kind = "png" if self._file.value.lower().endswith(".png") else "jpeg"
        marked = _frames(self.session, self._file.value)[1].get("strip") or {}
        with self._marker.hold_sync():
            self._marker.size = [rows, columns]
            self._marker.picture = f"data:image/{kind};base64,{base64.b64encode(content).decode()}"
            self._marker.points = [list(p) for key in ("ends", "area") for p in marked.get(key, _NOWHERE[:2])]
        if marked:
            self._cold.value, self._warm.value = marked["cold_degc"], marked["warm_degc"]
            self._rounded.value = marked.get("rounded_to_k", 1.0)
        self._look()

    def _look(self) -> None:
        """What the strip as it is marked now gives."""
        self._keep.disabled = True
        if any(coordinate < 0 for point in self._marker.points for coordinate in point):
            self._said.value = f"<p>{escape(self.as_text())}</p>"
            return
        try:
            content = file_bytes(self.session.folder, self._file.value, LARGEST_FRAME)
            reading = read_strip(self._file.value, content, self._strip())
        except ReadingError as error:
            self._said.value = (
                f"<span role='alert'>{escape(error.problems[0].told(self.session.language))}</span>"
            )
            return
        self._keep.disabled = False
        self._said.value = self._result(reading)

    def _strip(self) -> Strip:
        cold, warm, first, last = ((float(row), float(column)) for row, column in self._marker.points)
        return Strip(
            cold_end=cold,
            warm_end=warm,
            cold_degc=self._cold.value,
            warm_degc=self._warm.value,
            rounded_to_k=max(self._rounded.value, 0.0),
            area=(first, last),
        )

    def _result(self, reading: StripReading) -> str:
        degc = reading.temperature_degc
        masked = 100.0 * float(np.mean(np.isnan(degc)))
        line = self.session.say(
            "workbook.strip.result",
            low=f"{np.nanmin(degc):.1f}",
            high=f"{np.nanmax(degc):.1f}",
            masked=f"{masked:.1f}",
            end=f"{reading.end_k:.2f}",
            step=f"{np.nanmedian(reading.step_k):.2f}",
        )
        alt = escape(self.session.say("workbook.strip.alt"))
        return f"<p>{escape(line)}</p><img alt='{alt}' src='{_drawn(degc)}' style='max-width:480px'>"

    def save(self) -> None:
        """Write the strip beside its frame in the site file; comments and all else stay."""
        say = self.session.say
        number, _ = _frames(self.session, self._file.value)
        if number is None:
            self._said.value = f"<span role='alert'>{escape(say('workbook.strip.unlisted'))}</span>"
            return
        strip = self._strip()
        value = {
            "ends": self._marker.points[:2],
            "cold_degc": strip.cold_degc,
            "warm_degc": strip.warm_degc,
            "rounded_to_k": strip.rounded_to_k,
            "area": self._marker.points[2:],
        }
        try:
            text = file_bytes(self.session.folder, SITE_FILE, LARGEST_SITE_FILE).decode("utf-8-sig")
            changed = edited(text.replace("\r\n", "\n"), {("frames", number, "strip"): value})
            write_whole(self.session.folder / SITE_FILE, changed.encode())
            self.session.read_again()
        except ThermalkitError as error:
            self._said.value = f"<span role='alert'>{escape(error.told(self.session.language))}</span>"
            return
        self._said.value += f"<span role='status'>{escape(say('workbook.strip.kept'))}</span>"


def coloured_files(session: Session) -> list[str]:
    """Pictures among the frames that are stored in colours."""
    found = []
    for path in files_found(session.folder)["frame"]:
        if path.lower().endswith(PICTURES) and path.startswith("thermal/"):
            content = file_bytes(session.folder, path, LARGEST_FRAME)
            if content[25:26] in (b"\x02", b"\x03", b"\x06") or content.startswith(b"\xff\xd8"):
                found.append(path)
    return found


def _frames(session: Session, path: str) -> tuple[int | None, Mapping[str, Any]]:
    """Number and keys of the entry that names a file; None where there is none."""
    tables = tables_in(file_bytes(session.folder, SITE_FILE, LARGEST_SITE_FILE))
    listed = tables.get("frames", [])
    return next(((i, item) for i, item in enumerate(listed) if item.get("file") == path), (None, {}))


def _words(session: Session) -> dict[str, Any]:
    names = ("first", "second", "third", "fourth")
    return {
        "picture": session.say("workbook.strip.picture"),
        "row": session.say("workbook.strip.row"),
        "column": session.say("workbook.strip.column"),
        "points": [session.say(f"workbook.strip.{name}") for name in names],
    }


def _drawn(degc: np.ndarray[Any, np.dtype[np.float64]]) -> str:
    """Temperatures in grey, what is masked in a colour, as a PNG in a link."""
    from PIL import Image

    low, high = np.nanmin(degc), np.nanmax(degc)
    share = np.nan_to_num((degc - low) / max(high - low, 1e-9))
    grey = np.repeat((20 + 220 * share).astype(np.uint8)[..., None], 3, axis=2)
    grey[np.isnan(degc)] = _MASKED
    stream = io.BytesIO()
    Image.fromarray(grey).save(stream, "PNG")
    return f"data:image/png;base64,{base64.b64encode(stream.getvalue()).decode()}"
