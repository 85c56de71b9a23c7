"""Pictures of a part: the right size, the same bytes each time, and every colour where it belongs."""

import re
import subprocess
import sys
from io import BytesIO

import numpy as np
import pytest
import trimesh
from PIL import Image, ImageFont

from quoting.geometry.pictures import lettering
from quoting.geometry.pictures.colour_map import FLAG, ColourMap, nice_scale
from quoting.geometry.pictures.outline import svg_outline
from quoting.geometry.pictures.picture import Drawn, Mark, Paper, picture
from quoting.geometry.pictures.viewpoint import along_draw, oblique
from quoting.geometry.surface import Surface
from tests.quoting.geometry.files import box, joined

UP = np.array([0.0, 0.0, 1.0])


def surface_of(mesh) -> Surface:
    return Surface(np.asarray(mesh.vertices) / 1000, np.asarray(mesh.faces))


BOX = surface_of(box())
HALVES = surface_of(joined(box((300, 400, 80), (-150, 0, 0)), box((300, 400, 80), (150, 0, 0))))
SPHERE = surface_of(trimesh.creation.icosphere(subdivisions=3, radius=200))


def drawn(surface=BOX, view=None, **more) -> Image.Image:
    paper, colours, marks = more.get("paper", Paper()), more.get("colours"), more.get("marks", ())
    png = picture(Drawn(surface), view or along_draw(surface.vertices, UP), paper, colours, marks)
    return Image.open(BytesIO(png))


def near(image, x, y, colour, within=40) -> bool:
    return np.abs(np.subtract(image.getpixel((x, y)), colour)).max() <= within


def halves(low=0.0, high=8.0, **more) -> ColourMap:
    """Left half 1, right half 7."""
    return ColourMap(np.where(HALVES.centres[:, 0] < 0, 1.0, 7.0), "Wall [mm]", low, high, **more)


@pytest.mark.parametrize("size", [(900, 600), (320, 240), (64, 64)])
def test_a_picture_has_the_size_asked_for(size):
    assert drawn(paper=Paper(size, "A title that is longer than a small picture is wide")).size == size
    assert drawn(HALVES, paper=Paper(size), colours=halves()).size == size


@pytest.mark.parametrize("size", [(63, 600), (900, 100_000)])
def test_a_picture_of_senseless_size_is_refused(size):
    with pytest.raises(ValueError, match="64 to 2400"):
        drawn(paper=Paper(size))


def test_the_same_part_gives_the_same_bytes_also_in_another_process():
    paper, marks = Paper(title="Part"), [Mark(np.array([0, 0, 0.04]), "1")]
    one, two = (picture(Drawn(HALVES), oblique(HALVES.vertices, UP), paper, halves(), marks) for _ in range(2))
    assert one == two
    script = (
        "import hashlib; from tests.quoting.geometry.test_part_pictures import *; import sys; sys.stdout.write("
        "hashlib.sha256(picture(Drawn(HALVES), oblique(HALVES.vertices, UP), Paper(title='Part'), halves(), "
        "[Mark(np.array([0, 0, 0.04]), '1')])).hexdigest())"
    )
    import hashlib

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == hashlib.sha256(one).hexdigest()


def test_a_plan_fills_the_sheet_and_leaves_the_paper_white():
    image = np.asarray(drawn().convert("L"))
    assert (image[0] == 255).all() and (image[:, 0] == 255).all()
    dark = image[:557] < 240  # above the scale bar
    columns, rows = np.flatnonzero(dark.any(axis=0)), np.flatnonzero(dark.any(axis=1))
    width, height = np.ptp(columns), np.ptp(rows)
    assert width / height == pytest.approx(600 / 400, rel=0.02)
    assert height > 450


def test_a_longer_side_lies_across_whatever_the_draw():
    for draw in ((0, 0, 1), (0, 1, 0), (0.1, 0, 1), (1, 1, 1), (0, 0, -1)):
        view = along_draw(BOX.vertices, np.array(draw, float))
        assert np.allclose(view.axes @ view.axes.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(view.axes) == pytest.approx(1.0)
        spans = np.ptp(view.seen(BOX.vertices), axis=0)
        assert spans[0] >= 0.99 * spans[1]


def test_oblique_views_are_right_handed_and_see_the_draw_upright():
    for is_from_below in (False, True):
        axes = oblique(BOX.vertices, UP, is_from_below).axes
        assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(axes) == pytest.approx(1.0)
        right, up, toward = axes @ UP
        assert right == pytest.approx(0.0) and up > 0.5 and (toward < 0) == is_from_below


def test_each_half_has_the_colour_of_its_band_and_so_has_the_legend():
    colours = halves()
    image = drawn(HALVES, colours=colours)
    right = 900 - lettering.legend_width(colours)
    one, seven = colours.colours[1], colours.colours[7]
    assert near(image, right // 2 - 150, 300, one) and near(image, right // 2 + 150, 300, seven)
    assert not near(image, right // 2 + 150, 300, one) and not near(image, right // 2 - 150, 300, seven)
    top, height = 58 + 28, 600 - 58 - 44 - 28
    for band in range(8):
        assert near(image, right + 18 + 13, round(top + height * (1 - (band + 0.5) / 8)), colours.colours[band], 2)


def test_values_at_corners_run_evenly_over_the_faces():
    colours = ColourMap(BOX.vertices[:, 0], "x [m]", -0.3, 0.3, bands=6)
    image = drawn(colours=colours)
    right = 900 - lettering.legend_width(colours)
    wide = right - 36
    for band in range(6):
        assert near(image, round(18 + wide * (band + 0.5) / 6), 300, colours.colours[band])


def test_colours_grow_lighter_with_the_value_so_that_they_read_in_grey():
    grey = ColourMap(np.zeros(1), "", 0, 1, bands=10).colours[:-1] @ (0.2126, 0.7152, 0.0722)
    assert (np.diff(grey) > 4).all()
    turned = ColourMap(np.zeros(1), "", 0, 1, bands=10, is_low_light=True).colours[:-1] @ (0.2126, 0.7152, 0.0722)
    assert (np.diff(turned) < -4).all()


# Machado, Oliveira and Fernandes (2009), matrices for full deuteranopia and protanopia; from memory, unverified.
@pytest.mark.parametrize(
    "matrix",
    [
        ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
        ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    ],
)
def test_neighbouring_bands_stay_apart_for_colour_blind_eyes(matrix):
    colours = ColourMap(np.zeros(1), "", 0, 1, bands=8).colours[:-1]
    seen = np.clip((colours / 255) ** 2.2 @ np.array(matrix).T, 0, 1) ** (1 / 2.2) * 255
    assert (np.linalg.norm(np.diff(seen, axis=0), axis=1) > 15).all()


def test_a_flagged_region_is_hatched_there_and_nowhere_else():
    image = np.asarray(drawn(HALVES, colours=halves(flagged=HALVES.centres[:, 0] < 0, flag_name="undercut")), int)
    hatch = np.abs(image - FLAG).max(axis=2) < 60
    middle = (900 - lettering.legend_width(halves(flagged=np.zeros(24, bool), flag_name="undercut"))) // 2
    assert hatch[150:450, 60 : middle - 10].mean() > 0.1
    assert not hatch[150:450, middle + 10 : 2 * middle - 30].any()


def test_places_without_value_are_grey_and_the_legend_says_so():
    values = np.where(HALVES.centres[:, 0] < 0, np.nan, 7.0)
    gaps = ColourMap(values, "Wall [mm]", 0, 8)
    assert gaps.has_gaps
    grey = drawn(HALVES, colours=gaps).getpixel((200, 300))
    assert max(grey) - min(grey) < 6


def test_labels_of_the_scale_are_round_and_tell_what_lies_beyond():
    assert [label for _, label in halves().ticks()] == [str(n) for n in range(9)]
    beyond = halves(low=2.0, high=6.0, bands=4).ticks()
    assert (beyond[0][1], beyond[-1][1]) == ("2 and less", "6 and more")
    assert nice_scale(1.0, 1.0)[0] < nice_scale(1.0, 1.0)[1]


def test_a_mark_stands_beside_its_place_and_a_hidden_one_is_hollow():
    above, below = Mark(np.array([0.1, 0, 0.04]), "1"), Mark(np.array([0.1, 0, -0.04]), "2")
    bare, seen, hidden = drawn(), drawn(marks=[above]), drawn(marks=[below])
    for image in (seen, hidden):
        changed = np.flatnonzero((np.asarray(image) != np.asarray(bare)).any(axis=(0, 2)))
        place = 450 + 0.1 / 0.6 * 864 * min(1, (600 - 18 - 44) / 864 * 600 / 400)
        assert abs(changed.min() - place) < 45 and abs(changed.max() - place) < 45
    ink = [int((np.abs(np.asarray(image, int) - lettering.INK).max(axis=2) < 30).sum()) for image in (seen, hidden)]
    assert ink[0] > ink[1] + 150


def test_many_marks_at_one_place_do_not_cover_each_other():
    image = drawn(marks=[Mark(np.array([0, 0, 0.04]), str(n)) for n in range(1, 10)])
    assert image.size == (900, 600)
    spots = [lettering.Spot(450, 300, str(n), False) for n in range(9)]
    taken = []
    for spot in spots:
        taken.append(lettering._free_place(spot, taken, (900, 600)))
    gaps = [np.hypot(a[0] - b[0], a[1] - b[1]) for i, a in enumerate(taken) for b in taken[:i]]
    assert min(gaps) > 2 * lettering.MARK_RADIUS


@pytest.mark.parametrize(("is_inch", "length"), [(False, 0.1), (True, 5 * 0.0254)])
def test_the_scale_bar_is_as_long_as_it_says(is_inch, length):
    image = np.asarray(drawn(paper=Paper(is_inch=is_inch)).convert("L"))
    row = image[581:584, :500].min(axis=0) < 90
    bar = np.flatnonzero(~row[18:])[0]
    columns = np.flatnonzero((image[100:500] < 240).any(axis=0))
    pixel = 0.6 / (np.ptp(columns) + 1)
    assert bar * pixel == pytest.approx(length, rel=0.02)


def test_a_smooth_ball_is_shaded_without_facets_and_without_holes():
    image = np.asarray(drawn(SPHERE).convert("L"), int)
    inside = image[200:400, 350:550]
    assert np.abs(np.diff(inside, axis=0)).max() <= 6
    assert inside.max() < 250


def test_without_the_system_font_a_picture_is_still_lettered(monkeypatch):
    def missing(*_, **__):
        raise OSError

    bare = np.asarray(drawn())
    real = ImageFont.truetype
    monkeypatch.setattr(lettering.ImageFont, "truetype", lambda font=None, *a, **k: (
        missing() if isinstance(font, str) else real(font, *a, **k)))  # fmt: skip
    lettering.font.cache_clear()
    try:
        lettered = np.asarray(drawn(paper=Paper(title="Part"), colours=None))
    finally:
        lettering.font.cache_clear()
    assert (lettered[10:30, 18:60] < 100).any()
    assert bare.shape == lettered.shape


def test_an_open_skin_and_a_flat_sheet_and_an_edge_on_sheet_can_be_drawn():
    flat = Surface(np.array([[0, 0, 0], [0.5, 0, 0], [0.5, 0.3, 0], [0, 0.3, 0]]), np.array([[0, 1, 2], [0, 2, 3]]))
    assert drawn(flat).size == (900, 600)
    assert drawn(flat, along_draw(flat.vertices, np.array([0.0, 1.0, 0.0]))).size == (900, 600)


def test_the_outline_shows_nine_edges_of_a_box_and_says_what_it_is():
    svg = svg_outline(BOX, oblique(BOX.vertices, UP), 'Box <"1">')
    assert "<title>Box &lt;&quot;1&quot;&gt;</title>" in svg
    assert len(re.findall("M", svg)) == 9  # three of the twelve edges lie behind
    assert svg == svg_outline(BOX, oblique(BOX.vertices, UP), 'Box <"1">')
