"""Coloured pictures with a temperature strip, drawn from known temperatures."""

import io
import os

import numpy as np
import plotly.colors
import pytest
from PIL import Image, ImageDraw
from scipy import ndimage

from thermalkit.errors import ReadingError
from thermalkit.imaging.blended import outlines
from thermalkit.imaging.readers import read_frame
from thermalkit.imaging.readers.strip import Strip, read_strip
from thermalkit.language import texts_in

# Open colour maps, as plotly.colors prints them; Jet, Turbo, Rainbow and Electric turn in brightness.
MAPS = (
    *("Viridis", "Cividis", "Plasma", "Inferno", "Magma", "Turbo"),
    *("Jet", "Hot", "Rainbow", "Electric", "Greys", "Blackbody"),
)
COLD_DEGC, WARM_DEGC = 8.0, 26.0
STEP_K = (WARM_DEGC - COLD_DEGC) / 256
EVERY = [(m, 3 + i % 6, ("nearest", "bilinear")[i // 6]) for i, m in enumerate(MAPS)]
if "THERMALKIT_SCENES" in os.environ:
    EVERY = [(m, k, how) for m in MAPS for k in range(3, 9) for how in ("nearest", "bilinear")]
SPREAD_PX = 8  # round an overlay may be masked


def colours(name: str) -> np.ndarray:
    """256 colours of an open colour map, uint8."""
    stops = getattr(plotly.colors.sequential, name, None) or getattr(plotly.colors.cyclical, name)
    known = [plotly.colors.hex_to_rgb(s) if s[0] == "#" else plotly.colors.unlabel_rgb(s) for s in stops]
    places = np.linspace(0, 1, len(known))
    channels = [np.interp(np.linspace(0, 1, 256), places, c) for c in np.array(known, float).T]
    return np.rint(np.stack(channels, axis=1)).astype(np.uint8)


def wall(rng, rows: int, columns: int) -> np.ndarray:
    """Detector pixels of a wall with a cold corner and a warm panel, blurred, with noise of 0.06 K."""
    y, x = np.mgrid[0:rows, 0:columns] / rows
    degc = 18 + 3 * x - 2 * y - 6 * np.exp(-((x - 1) ** 2 + (y - 0.2) ** 2) / 0.03)
    degc = ndimage.gaussian_filter(degc + 4 * ((y > 0.7) & (x > 0.3) & (x < 0.7)), 0.7)
    return degc + rng.normal(0, 0.06, degc.shape)


def enlarged(degc: np.ndarray, factor: int, how: str) -> np.ndarray:
    way = {"nearest": Image.Resampling.NEAREST, "bilinear": Image.Resampling.BILINEAR}[how]
    size = (degc.shape[1] * factor, degc.shape[0] * factor)
    return np.asarray(Image.fromarray(degc.astype(np.float32)).resize(size, way)).astype(float)


def drawn(degc: np.ndarray, table: np.ndarray, *, overlay: bool = True):
    """A camera's screen: the frame, a strip to the right, markers; where markers are; the strip."""
    rows, columns = degc.shape
    shade = np.clip(np.rint((degc - COLD_DEGC) / (WARM_DEGC - COLD_DEGC) * 255), 0, 255).astype(int)
    screen = np.full((rows + 20, columns + 60, 3), 20, np.uint8)
    screen[10 : 10 + rows, 10 : 10 + columns] = table[shade]
    length = min(256, rows - 10)
    top = 10 + (rows - length) // 2
    screen[top : top + length, columns + 30 : columns + 42] = table[
        np.rint(np.linspace(255, 0, length)).astype(int)
    ][:, None]
    plain = screen.copy()
    picture = Image.fromarray(screen)
    if overlay:
        pen = ImageDraw.Draw(picture)
        middle = (10 + columns // 2, 10 + rows // 2)
        pen.line((middle[0] - 9, middle[1], middle[0] + 9, middle[1]), fill=(255, 255, 255))
        pen.line((middle[0], middle[1] - 9, middle[0], middle[1] + 9), fill=(255, 255, 255))
        pen.ellipse((40, 60, 54, 74), outline=(0, 0, 0))
        pen.text((16, 14), "16.4", fill=(255, 255, 255))
        pen.rectangle((columns - 40, rows - 14, columns - 2, rows + 2), fill=(0, 120, 60))
        pen.text((columns - 36, rows - 12), "LOGO", fill=(255, 255, 255))
    screen = np.array(picture)
    marked = (screen != plain).any(axis=2)[10 : 10 + rows, 10 : 10 + columns]
    strip = Strip(
        cold_end=(top + length - 1, columns + 36),
        warm_end=(top, columns + 36),
        cold_degc=COLD_DEGC,
        warm_degc=WARM_DEGC,
        area=((10, 10), (9 + rows, 9 + columns)),
    )
    return screen, marked, strip


def saved(screen: np.ndarray, kind: str) -> bytes:
    stream = io.BytesIO()
    options = {"quality": 75, "subsampling": "4:2:0"} if kind == "JPEG" else {}
    Image.fromarray(screen).save(stream, kind, **options)
    return stream.getvalue()


def case(name: str, factor: int, how: str, kind: str, **options):
    degc = enlarged(wall(np.random.default_rng(factor), 240 // factor, 320 // factor), factor, how)
    screen, marked, strip = drawn(degc, colours(name), **options)
    return degc, screen, marked, strip, read_strip("a", saved(screen, kind), strip)


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
@pytest.mark.parametrize(("name", "factor", "how"), EVERY)
def test_temperatures_come_back_within_a_step(name, factor, how, kind):
    """Half within one step of colour, 95 % within four, eight pixels away from what was drawn over."""
    degc, _, marked, _, reading = case(name, factor, how, kind)
    clear = ndimage.distance_transform_edt(~marked) > SPREAD_PX
    error = np.abs(reading.temperature_degc - degc)[clear] / STEP_K
    assert np.mean(np.isnan(error)) < 0.06
    assert np.nanmedian(error) <= 1.0
    assert np.nanquantile(error, 0.95) <= 4.0


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
@pytest.mark.parametrize(("name", "factor", "how"), EVERY[::2])
def test_no_marker_is_taken_for_a_temperature(name, factor, how, kind):
    """A pixel of a marker is masked unless the strip shows its colour, as near as saving keeps one."""
    _, screen, marked, strip, reading = case(name, factor, how, kind)
    (top, left), (bottom, right) = strip.area
    area = screen[top : bottom + 1, left : right + 1][marked].astype(float)
    apart = np.linalg.norm(area[:, None] - colours(name)[None].astype(float), axis=2).min(axis=1)
    kept = np.isfinite(reading.temperature_degc[marked])
    assert not np.any(kept & (apart > (8.0 if kind == "PNG" else 30.0)))
    assert marked.sum() > 500


@pytest.mark.parametrize(("name", "kind"), [("Viridis", "JPEG"), ("Jet", "JPEG"), ("Greys", "PNG")])
def test_what_colours_leave_open_holds_the_mean_of_a_spot(name, kind):
    """The half-width is that of a rectangle: nearly all means of 3 x 3 detector pixels lie inside it."""
    degc, _, marked, _, reading = case(name, 5, "bilinear", kind)
    size = 15
    error = ndimage.uniform_filter(np.nan_to_num(reading.temperature_degc - degc), size)
    clear = (ndimage.distance_transform_edt(~marked) > SPREAD_PX) & np.isfinite(reading.temperature_degc)
    whole = ndimage.uniform_filter(clear.astype(float), size) > 0.999
    inside = np.abs(error[whole]) <= reading.step_k[whole]
    assert np.mean(inside) > 0.93
    assert np.median(reading.step_k[whole]) <= 2.0 * STEP_K


def test_ends_are_open_by_rounding_and_by_a_pixel_of_the_strip():
    """Whole degrees leave half a degree open; the place of an end is known to a pixel."""
    _, _, _, strip, reading = case("Viridis", 4, "nearest", "PNG")
    length = abs(strip.cold_end[0] - strip.warm_end[0]) + 1
    assert reading.end_k == pytest.approx(0.5 + 18.0 / length)


def problem(screen, strip, kind="PNG") -> str:
    with pytest.raises(ReadingError) as caught:
        read_strip("thermal/a.png", saved(screen, kind), strip)
    return str(caught.value)


def changed(strip: Strip, **keys) -> Strip:
    known = {key: getattr(strip, key) for key in Strip.__dataclass_fields__}
    return Strip(**{**known, **keys})


@pytest.mark.parametrize("name", ["HSV", "Phase", "IceFire", "Twilight"])
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_strip_that_repeats_colours_is_refused(name, kind):
    """Cyclical maps end as they begin; the error says where, what, what is allowed and what to do."""
    screen, _, strip = drawn(enlarged(wall(np.random.default_rng(1), 40, 60), 5, "nearest"), colours(name))
    said = problem(screen, strip, kind)
    for words in (
        "thermal/a.png, strip: the same colour at",
        "Allowed: each colour once.",
        "another colour map",
    ):
        assert words in said


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"cold_end": (40.0, 346.0), "warm_end": (20.0, 346.0)}, "a strip 21 pixels long"),
        ({"cold_end": (200.0, 3.0), "warm_end": (20.0, 3.0)}, "nearly one colour"),
        ({"cold_end": (20.0, 346.0), "warm_end": (900.0, 346.0)}, "[900, 346] outside the picture"),
        ({"area": ((30.0, 30.0), (20.0, 20.0))}, "the upper left pixel first"),
        ({"cold_degc": 26.0, "warm_degc": 8.0}, "a warm end that is warmer"),
    ],
)
def test_a_strip_marked_wrongly_is_refused(keys, said):
    """Too short, beside the strip, outside the picture, the wrong way round."""
    screen, _, strip = drawn(enlarged(wall(np.random.default_rng(1), 48, 62), 5, "nearest"), colours("Jet"))
    assert said in problem(screen, changed(strip, **keys))


def test_a_german_surveyor_is_told_in_german_why_a_strip_is_refused():
    """On the spot, while marking it."""
    screen, _, strip = drawn(enlarged(wall(np.random.default_rng(1), 48, 62), 5, "nearest"), colours("Jet"))
    turned = changed(strip, cold_degc=30.0, warm_degc=20.5)
    with pytest.raises(ReadingError) as caught:
        read_strip("a.png", saved(screen, "PNG"), turned)
    told = " ".join(caught.value.problems[0].told("de").split())
    assert told == (
        "a.png, Temperaturleiste: 30 °C am kalten Ende, 20.5 °C am warmen Ende "
        "Erlaubt: ein warmes Ende, das wärmer ist. Markieren Sie das kalte Ende zuerst."
    )


def test_damaged_pictures_are_refused():
    """Other data, a cut header and cut data."""
    screen, _, strip = drawn(enlarged(wall(np.random.default_rng(1), 48, 62), 5, "nearest"), colours("Jet"))
    content = saved(screen, "JPEG")
    for part, said in (
        (b"time;value", "neither JPEG nor PNG"),
        (content[:20], "header is damaged"),
        (content[: len(content) // 2], "data are damaged"),
    ):
        with pytest.raises(ReadingError, match=said):
            read_strip("a.jpg", part, strip)


def test_pixels_at_an_end_of_the_strip_are_masked():
    """What is colder than the strip shows is not given a temperature, and the notes say so."""
    degc = enlarged(wall(np.random.default_rng(1), 60, 80), 4, "nearest")
    degc[20:60, 20:80] = COLD_DEGC - 3.0
    screen, _, strip = drawn(degc, colours("Viridis"), overlay=False)
    reading = read_strip("a", saved(screen, "PNG"), strip)
    assert reading.saturated[20:60, 20:80].all()
    assert np.isnan(reading.temperature_degc[20:60, 20:80]).all()
    assert any("8 °C or colder" in words for words in texts_in(reading.assumed, "en"))


def test_a_frame_beyond_the_strip_is_refused():
    """Nothing but an end of the strip is no temperature."""
    screen, _, strip = drawn(np.full((240, 320), COLD_DEGC - 3.0), colours("Viridis"), overlay=False)
    assert "no pixel between the ends of the strip" in problem(screen, strip)


def test_a_colour_that_stands_for_two_temperatures_is_masked():
    """Where the way of colours comes back near itself, its pixels are left out and the rest is read."""
    level = np.arange(256.0)
    grey = np.where(level < 160, 40 + level, 360 - level)  # up, and back again five steps of blue away
    table = np.stack([grey, grey, grey + np.clip((level - 160) / 2, 0, 5)], axis=1)
    degc = enlarged(wall(np.random.default_rng(1), 60, 80), 4, "nearest")
    screen, _, strip = drawn(degc, np.rint(table).astype(np.uint8), overlay=False)
    screen[10:30, 10:30] = (150, 150, 153)
    reading = read_strip("a", saved(screen, "PNG"), strip)
    assert reading.ambiguous[:20, :20].all()
    assert np.isnan(reading.temperature_degc[:20, :20]).all()
    assert np.isfinite(reading.temperature_degc).mean() > 0.5


def with_outlines(screen, area, count):
    """Fine dark lines over the frame, as the edges of the visible picture."""
    rng = np.random.default_rng(3)
    (top, left), (bottom, right) = area
    lines = Image.new("L", (right - left + 1, bottom - top + 1))
    pen = ImageDraw.Draw(lines)
    for _ in range(count):
        x, y = rng.integers(0, lines.width, 2), rng.integers(0, lines.height, 2)
        pen.line((x[0], y[0], x[1], y[1]), fill=70)
    over = np.asarray(lines)
    blended = screen.astype(int)
    blended[top : bottom + 1, left : right + 1] -= over[..., None]
    return np.clip(blended, 0, 255).astype(np.uint8), over > 0


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
@pytest.mark.parametrize("name", ["Greys", "Viridis"])
def test_outlines_of_the_visible_picture_are_masked(name, kind):
    """In colour they leave the strip; in grey they are finer than the detector's pixels."""
    degc = enlarged(wall(np.random.default_rng(4), 60, 80), 4, "bilinear")
    plain, _, strip = drawn(degc, colours(name), overlay=False)
    before = read_strip("a", saved(plain, kind), strip)
    assert not outlines(before.temperature_degc, 4, float(np.nanmedian(before.step_k))).mean() > 0.02
    screen, lines = with_outlines(plain, strip.area, 12)
    reading = read_strip("a", saved(screen, kind), strip)
    found = outlines(reading.temperature_degc, 4, float(np.nanmedian(reading.step_k)))
    kept = np.isfinite(reading.temperature_degc) & ~found
    assert not np.any(kept & lines)
    assert np.mean(kept) > 0.5
    assert not outlines(reading.temperature_degc, 2, 0.05).any()
    assert not outlines(np.full((20, 20), np.nan), 4, 0.05).any()


def test_a_frame_full_of_outlines_is_refused():
    """Where most colours are not the strip's there is nothing to read."""
    plain, _, strip = drawn(enlarged(wall(np.random.default_rng(4), 60, 80), 4, "nearest"), colours("Plasma"))
    screen, _ = with_outlines(plain, strip.area, 200)
    assert "save without the outlines of the visible picture" in problem(screen, strip)


def test_the_door_takes_a_strip(tmp_path):
    """The same through the one way in, and the strip inside the frame is no part of it."""
    degc, screen, _, strip, reading = case("Plasma", 4, "nearest", "PNG")
    path = tmp_path / "a.png"
    path.write_bytes(saved(screen, "PNG"))
    np.testing.assert_array_equal(read_frame(path, strip=strip).temperature_degc, reading.temperature_degc)
    assert reading.enlargement.factor == 4
    rows, columns = screen.shape[:2]
    whole = read_frame(path, strip=changed(strip, area=((0, 0), (rows - 1, columns - 1)))).temperature_degc
    assert np.isnan(whole[:, columns - 32 : columns - 16]).all()
    np.testing.assert_allclose(whole[60:100, 100:140], degc[50:90, 90:130], atol=2 * STEP_K)
