"""Frames from files: what is read, what is refused and in which words."""

from __future__ import annotations

import io
import os
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from PIL import Image

from thermalkit.errors import ReadingError
from thermalkit.imaging.readers import Reading, bounds, read_frame
from thermalkit.language import texts_in

FRAME = np.round(12.0 + 0.01 * np.arange(9 * 11).reshape(9, 11), 2)
COUNTS = np.round((FRAME + 273.15) * 100).astype(np.uint16)


def written(folder: Path, name: str, content: bytes | str) -> Path:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def table(frame=FRAME, delimiter=",", decimal=".", end="\n") -> str:
    return "".join(delimiter.join(f"{v:.2f}".replace(".", decimal) for v in row) + end for row in frame)


def npy(array, **kwargs) -> bytes:
    stream = io.BytesIO()
    np.lib.format.write_array(stream, array, **kwargs)
    return stream.getvalue()


def png(array) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(array).save(stream, format="PNG")
    return stream.getvalue()


def tiff(array, **kwargs) -> bytes:
    stream = io.BytesIO()
    tifffile.imwrite(stream, array, **kwargs)
    return stream.getvalue()


def problem(path: Path, **kwargs) -> str:
    """The one-line text of the refusal."""
    with pytest.raises(ReadingError) as caught:
        read_frame(path, **kwargs)
    return str(caught.value)


# ---- delimited text


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", table(), ("comma", "point")),
        ("a.csv", table(end=",\n"), ("comma", "point")),
        ("a.csv", table(end="\r\n") + "\r\n", ("comma", "point")),
        ("a.csv", table(delimiter=";", decimal=","), ("semicolon", "comma")),
        ("a.csv", table(delimiter=";"), ("semicolon", "point")),
        ("a.tsv", table(delimiter="\t", decimal=",", end="\r"), ("tab", "comma")),
    ],
)
def test_tables_are_read_as_loggers_and_cameras_write_them(tmp_path, name, content, words):
    """Delimiter and decimal sign are told apart and reported."""
    reading = read_frame(written(tmp_path, name, content))
    assert_array_equal(reading.temperature_degc, FRAME)
    assert reading.temperature_degc.dtype == np.float64
    assert texts_in(reading.assumed, "en")[1:3] == (f"delimiter: {words[0]}", f"decimal: {words[1]}")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_byte_order_marks_and_windows_text_are_understood(tmp_path, encoding):
    """A header with a degree sign does not stop the table below it."""
    header = ";".join(["T °C"] * 11) + "\n"
    content = (header + table(delimiter=";", decimal=",")).encode(encoding)
    reading = read_frame(written(tmp_path, "a.csv", content))
    assert_array_equal(reading.temperature_degc, FRAME)
    assert "first row: column names" in texts_in(reading.assumed, "en")


def test_row_and_column_numbers_are_left_out(tmp_path):
    """A spreadsheet export with both labels gives the frame alone."""
    lines = table().splitlines()
    header = "," + ",".join(str(c) for c in range(11))
    content = "\n".join([header, *(f"{r},{line}" for r, line in enumerate(lines))])
    reading = read_frame(written(tmp_path, "a.csv", content))
    assert_array_equal(reading.temperature_degc, FRAME)
    assert texts_in(reading.assumed, "en")[3:] == ("first row: column numbers", "first column: row numbers")


def test_quoted_decimal_commas_are_read(tmp_path):
    """Cells in quotes may hold the delimiter as decimal sign."""
    rows = [",".join(f'"{v:.2f}"'.replace(".", ",") for v in row) for row in FRAME]
    assert_array_equal(read_frame(written(tmp_path, "a.csv", "\n".join(rows))).temperature_degc, FRAME)


@pytest.mark.parametrize("word", ["", "-", "nan", "NaN", "inf", "-Inf", "n/a", "1e999"])
def test_cells_without_a_number_are_masked(tmp_path, word):
    """One masked cell is NaN, its neighbours are not."""
    content = table().replace("12.12", word, 1)
    frame = read_frame(written(tmp_path, "a.csv", content)).temperature_degc
    assert np.isnan(frame[1, 1])
    assert np.count_nonzero(np.isnan(frame)) == 1


def test_a_typographic_minus_is_a_minus(tmp_path):
    """Word processors turn hyphens into minus signs."""
    path = written(tmp_path, "a.csv", table().replace("12.12", "\N{MINUS SIGN}3.50", 1))
    assert read_frame(path).temperature_degc[1, 1] == -3.5


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (table().replace("12.12", "12.12 C", 1), "row 2, column 2: '12.12 C'"),
        (table().replace("12.12", "1_2", 1), "row 2, column 2: '1_2'"),
        (table().replace("12.12,", "", 1), "row 2: 10 cells"),
        (table(delimiter=";", decimal=",").replace("12,12", "1.012,12", 1), "no thousands separator"),
        (table().replace(".", ","), "decimal commas separate cells"),
        (table() + "\x00", "not text"),
        (b"\xff\xfe\x00\xd8" * 9, "not text"),
        ("1 2 3\n" * 9, "no comma, semicolon or tab"),
        (table(FRAME[:7]), "7 rows and 11 columns"),
        (table(FRAME[:, :7]), "9 rows and 7 columns"),
        ("\t\n\t\n", "0 rows and 0 columns"),
        (",\n", "1 rows and 1 columns"),
        ("1," * (bounds.MAX_LINE_CHARACTERS // 2 + 1), "row 1: 262146 characters"),
        ("," * (bounds.MAX_PIXELS + 3 * bounds.MAX_SIDE), "more than 4194304 cells"),
        ("1,\n" * (5 * bounds.MAX_SIDE), "8192 rows"),
        (table().replace("12.12", '"12.12', 1), "row 2"),
        (table() + '"' + "1" * 200_000 + ",1", "row 10: quotes that cannot be read"),
        (table().replace("12.12", "1" * 200_000 + "x", 1), "row 2, column 2: '1111"),
        ("nan," * 9 + "nan\n" + ("nan," * 9 + "nan\n") * 9, "no number at all"),
    ],
)
def test_unusable_tables_say_where_and_why(tmp_path, content, said):
    """The refusal names row and column or the bound that was passed."""
    assert said in problem(written(tmp_path, "a.csv", content))


def test_a_table_of_words_lists_a_bounded_number_of_problems(tmp_path):
    """A wrong export does not fill the screen."""
    with pytest.raises(ReadingError) as caught:
        read_frame(written(tmp_path, "a.csv", table() + ("warm," * 10 + "warm\n") * 60))
    assert len(caught.value.problems) == bounds.MAX_PROBLEMS


# ---- arrays


@pytest.mark.parametrize("order", ["C", "F"])
@pytest.mark.parametrize("kind", ["<f8", ">f4", "<f2", ">i2", "u1"])
def test_arrays_of_any_real_kind_and_order_keep_their_place(tmp_path, kind, order):
    """Rows stay rows, whichever way the numbers lie in the file."""
    array = np.asarray(np.rint(FRAME * 4), dtype=kind, order=order)
    frame = read_frame(written(tmp_path, "a.npy", npy(array))).temperature_degc
    assert_array_equal(frame, np.rint(FRAME * 4))
    assert frame.flags.c_contiguous


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (npy(np.array([[None]]), allow_pickle=True), "numbers of type object"),
        (npy(FRAME.astype(complex)), "numbers of type complex128"),
        (npy(FRAME > 0), "numbers of type bool"),
        (npy(FRAME[None]), "an array of shape (1, 9, 11)"),
        (npy(np.zeros((7, 11))), "7 rows and 11 columns"),
        (npy(FRAME)[:-1], "791 bytes of data"),
        (npy(FRAME) + b"0", "793 bytes of data"),
        (npy(FRAME).replace(b"(9, 11)", b"(9, 9999999)"), "9 rows and 9999999 columns"),
        (npy(FRAME).replace(b"(9, 11), }", b"(-9, 1), }"), "-9 rows"),
        (b"\x93NUMPY\x03\x00" + npy(FRAME)[8:], "header cannot be read"),
        (b"\x93NUMPY\x01\x00\xff\xff" + b"(" * 70000, "header cannot be read"),
    ],
)
def test_unusable_arrays_are_refused_before_their_data_are_touched(tmp_path, content, said):
    """Objects, colour planes, cut copies and damaged headers are named."""
    assert said in problem(written(tmp_path, "a.npy", content))


# ---- TIFF and PNG


@pytest.mark.parametrize("kind", ["uint8", "int16", "uint16", "int32", "float32", "float64"])
@pytest.mark.parametrize(
    "how", [{}, {"byteorder": ">"}, {"compression": "deflate"}, {"tile": (16, 16)}, {"rowsperstrip": 2}]
)
def test_tiff_numbers_come_back(tmp_path, kind, how):
    """Number types, byte orders, strips, tiles and deflate, written by tifffile."""
    array = np.rint(FRAME * 4).astype(kind)
    content = tiff(array, photometric="minisblack", **how)
    assert_array_equal(read_frame(written(tmp_path, "a.TIFF", content)).temperature_degc, array)


def test_scale_and_offset_turn_counts_into_degrees(tmp_path):
    """Hundredths of a kelvin in 16 bits, the same from TIFF and PNG."""
    for name, content in (("a.tif", tiff(COUNTS)), ("a.png", png(COUNTS))):
        frame = read_frame(written(tmp_path, name, content), scale=0.01, offset=-273.15).temperature_degc
        assert_allclose(frame, FRAME, atol=0.0051)


def test_only_the_first_page_of_a_tiff_counts(tmp_path):
    """Previews behind the frame are left alone."""
    stream = io.BytesIO()
    with tifffile.TiffWriter(stream) as writer:
        writer.write(FRAME, photometric="minisblack")
        writer.write(np.zeros((16, 16, 3), np.uint8), photometric="rgb")
    assert_array_equal(read_frame(written(tmp_path, "a.tif", stream.getvalue())).temperature_degc, FRAME)


def patched(content: bytes, tag: int, value: int) -> bytes:
    """A little-endian TIFF with the value of one tag changed."""
    (start,) = struct.unpack_from("<I", content, 4)
    (count,) = struct.unpack_from("<H", content, start)
    changed = bytearray(content)
    for entry in range(start + 2, start + 2 + 12 * count, 12):
        if struct.unpack_from("<H", content, entry)[0] == tag:
            struct.pack_into("<HII", changed, entry + 2, 4, 1, value)
    return bytes(changed)


def bomb() -> bytes:
    """A deflated strip that holds a hundred megabytes for a frame of 9 x 11."""
    content = tiff(FRAME, compression="deflate", byteorder="<")
    data = zlib.compress(bytes(100_000_000))
    return patched(patched(content, 273, len(content)), 279, len(data)) + data


def deep() -> bytes:
    """A TIFF whose software tag becomes a depth of two planes."""
    changed = patched(tiff(FRAME, byteorder="<"), 305, 2)
    (start,) = struct.unpack_from("<I", changed, 4)
    place = changed.index(struct.pack("<HHI", 305, 4, 1), start)
    return changed[:place] + struct.pack("<H", 32997) + changed[place + 2 :]


PLAIN = tiff(FRAME, byteorder="<")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (tiff(np.zeros((16, 16, 3), np.uint8), photometric="rgb"), "carries no temperatures"),
        (tiff(FRAME > 0), "sample format 1 with 1 bits"),
        (tiff(FRAME.astype(np.float16)), "sample format 3 with 16 bits"),
        (tiff(FRAME, bigtiff=True), "BigTIFF"),
        (patched(PLAIN, 259, 5), "TIFF compression 5"),
        (patched(PLAIN, 256, 2**31), "2147483648 columns"),
        (patched(PLAIN, 257, 4), "4 rows"),
        (patched(PLAIN, 273, 10**6), "do not fit its directory"),
        (patched(PLAIN, 279, 10**6), "do not fit its directory"),
        (patched(PLAIN, 278, 0), "do not fit its directory"),
        (patched(PLAIN, 278, 3), "do not fit its directory"),
        (patched(PLAIN, 279, 8), "do not fit its directory"),
        (bomb(), "do not fit its directory"),
        (patched(tiff(FRAME, compression="deflate", byteorder="<"), 273, 8), "do not fit its directory"),
        (deep(), "several planes in one page"),
        (patched(tiff(FRAME, compression="deflate", byteorder="<"), 273, 9), "do not fit its directory"),
        (PLAIN[:6], "directory is damaged"),
        (PLAIN[:8] + b"\xff\xff" + PLAIN[10:], "directory is damaged"),
        (PLAIN[:40], "directory is damaged"),
    ],
)
def test_unusable_tiffs_are_refused_before_they_are_decoded(tmp_path, content, said):
    """Colour, foreign compressions, false sizes and bombs are named."""
    assert said in problem(written(tmp_path, "a.tif", content))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (png(np.zeros((16, 16, 3), np.uint8)), "If it shows a temperature strip, mark it"),
        (png(np.zeros((16, 16), np.uint8)), "8-bit grey"),
        (png(COUNTS)[:16] + struct.pack(">II", 2**31 - 1, 2**31 - 1) + png(COUNTS)[24:], "2147483647 rows"),
        (png(COUNTS)[:20], "header is damaged"),
        (png(COUNTS)[:52], "data are damaged"),
        (png(COUNTS)[:16] + struct.pack(">II", 16, 16) + png(COUNTS)[24:], "data are damaged"),
    ],
)
def test_unusable_pngs_are_refused_before_they_are_decoded(tmp_path, content, said):
    """Pictures made for looking at, false sizes and cut copies are named."""
    assert said in problem(written(tmp_path, "a.png", content))


# ---- any file


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.png", tiff(FRAME), "named .png, holds TIFF data"),
        ("a.npy", table(), "named .npy, holds something else"),
        ("a.csv", npy(FRAME), "named .csv, holds NPY data"),
        ("a.jpg", b"\xff\xd8", "a coloured picture"),
        ("a.csv", b"", "the file is empty"),
    ],
)
def test_name_and_content_must_agree(tmp_path, name, content, said):
    """A renamed file is told from a damaged one."""
    assert said in problem(written(tmp_path, name, content))


def test_only_regular_files_are_opened(tmp_path):
    """Missing files, folders and pipes are refused without waiting."""
    assert "cannot be opened" in problem(tmp_path / "missing.csv")
    assert "cannot be opened" in problem(tmp_path / "nul\x00.csv")
    (tmp_path / "folder.csv").mkdir()
    assert "not a regular file" in problem(tmp_path / "folder.csv")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.csv")
        assert "not a regular file" in problem(tmp_path / "pipe.csv")


def test_a_huge_file_is_refused_by_its_size(tmp_path):
    """A sparse file of a gigabyte is never read."""
    path = tmp_path / "a.npy"
    with path.open("wb") as stream:
        stream.write(npy(FRAME))
        stream.truncate(2**30)
    assert "1073741824 bytes" in problem(path)


@pytest.mark.parametrize(("scale", "offset"), [(0.0, 0.0), (float("nan"), 0.0), (1.0, float("inf"))])
def test_scale_and_offset_must_be_usable(tmp_path, scale, offset):
    """A scale of nothing would flatten the frame."""
    path = written(tmp_path, "a.npy", npy(FRAME))
    assert "finite, scale not 0" in problem(path, scale=scale, offset=offset)


@pytest.mark.parametrize(
    ("stored", "advice"),
    [
        (FRAME + 273.15, "kelvin; give scale = 1 and offset = -273.15"),
        (COUNTS, "hundredths of a kelvin; give scale = 0.01 and offset = -273.15"),
        (np.rint((FRAME + 273.15) * 10), "tenths of a kelvin; give scale = 0.1 and offset = -273.15"),
        (np.rint(FRAME * 200), "hundredths of a degree; give scale = 0.01 and offset = 0"),
        (FRAME * 1e9, "Give the scale and offset"),
    ],
)
def test_a_missing_scale_is_guessed_aloud_and_never_applied(tmp_path, stored, advice):
    """Kelvin and integer encodings are refused with the likely fix."""
    assert advice in problem(written(tmp_path, "a.npy", npy(stored)))


def test_a_place_out_of_range_is_named(tmp_path):
    """Row and column count from one, as in a spreadsheet."""
    frame = FRAME.copy()
    frame[6, 10] = 3000.0
    assert "a.npy, row 7, column 11: 3000 °C" in problem(written(tmp_path, "a.npy", npy(frame)))


def test_a_few_strays_are_dead_pixels(tmp_path):
    """One stuck pixel in a whole frame does not make the frame unusable."""
    frame = np.full((120, 160), 15.0)
    frame[3, 4] = -273.15
    reading = read_frame(written(tmp_path, "a.npy", npy(frame)))
    assert np.isnan(reading.temperature_degc[3, 4])
    assert texts_in(reading.assumed, "en") == ("1 pixels out of range left out as dead",)


def test_problems_carry_the_name_the_caller_knows(tmp_path):
    """The site names files relative to its folder."""
    path = written(tmp_path, "a.csv", b"")
    with pytest.raises(ReadingError) as caught:
        read_frame(path, file="thermal/a.csv")
    assert caught.value.problems[0].file == "thermal/a.csv"


VALID = {
    "a.csv": table().encode(),
    "b.csv": table(delimiter=";", decimal=",").encode("utf-16"),
    "a.npy": npy(FRAME),
    "a.png": png(COUNTS),
    "a.tif": tiff(FRAME),
    "b.tif": tiff(COUNTS, compression="deflate", tile=(16, 16)),
}


@given(name=st.sampled_from(sorted(VALID)), data=st.data())
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_damaged_files_end_in_a_reading_or_a_refusal(tmp_path, name, data):
    """Whatever bytes are changed, cut or repeated, nothing but a ReadingError comes out."""
    content = bytearray(VALID[name])
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(content) - 1))
        how = data.draw(st.sampled_from(["change", "cut", "repeat"]))
        if how == "change":
            content[place] = data.draw(st.integers(0, 255))
        elif how == "cut":
            del content[place : place + data.draw(st.integers(1, 40))]
            content = content or bytearray(b"0")
        else:
            content[place:place] = content[place : place + data.draw(st.integers(1, 40))]
    try:
        reading = read_frame(written(tmp_path, name, bytes(content)))
    except ReadingError:
        return
    assert isinstance(reading, Reading)
    assert reading.temperature_degc.ndim == 2


def test_a_real_frame_is_read():
    """A tray of plants seen by a real camera: 120 x 160, 31.0 to 37.4 °C as its readme says."""
    path = Path(__file__).parents[4] / "shared/data/plant_matrix/matrix_crop_160x120.csv"
    if not path.exists():
        pytest.skip("the real measurements do not lie beside this checkout")
    frame = read_frame(path).temperature_degc
    assert frame.shape == (120, 160)
    assert (frame.min().round(1), frame.max().round(1)) == (31.0, 37.4)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.jpg", b"\xff\xd8\xff", "ein Farbbild Erlaubt: .csv, .tsv, .npy, .png, .tif, .tiff."),
        ("a.csv", b"", "die Datei ist leer Kopieren Sie sie noch einmal von der Kamera."),
        ("a.csv", b"20.1;20,2\n" * 9, "sowohl '0,2' als auch '0.1'"),
        ("a.csv", (b"20;" * 8 + b"20\n") * 8 + b"20;20\n", "Zeile 9: 2 Felder Erlaubt: 9, wie in Zeile 1."),
        ("a.csv", (b"20;" * 8 + b"warm\n") * 8, "Zeile 1, Spalte 9: 'warm' Erlaubt: eine Zahl"),
        (
            "a.csv",
            (b"293.15;" * 8 + b"293.15\n") * 8,
            "Kelvin aus; geben Sie scale = 1 und offset = -273.15 an",
        ),
        ("a.png", b"II*\x00", "heißt .png, enthält aber TIFF-Daten"),
    ],
)
def test_a_german_surveyor_is_told_in_german(tmp_path, name, content, said):
    """What was read, what is allowed and what helps; numbers stand as in the file."""
    (tmp_path / name).write_bytes(content)
    with pytest.raises(ReadingError) as caught:
        read_frame(tmp_path / name)
    assert said in " ".join(caught.value.told("de").split())
