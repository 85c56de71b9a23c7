"""The charts of a forming study: what stands where, nothing outside the drawing, and lines that grey print keeps."""

import doctest
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from quoting.contract import to_plain
from quoting.documents import chart_axes, chart_scale, worksheet
from quoting.documents.chart_axes import LEFT, RIGHT
from quoting.documents.chart_scale import round_step, round_ticks, rows_of, spread, text_width
from quoting.documents.chart_shapes import LOOKS, TYPE, WIDTH
from quoting.documents.forming_charts import (
    cooling_chart,
    profile_chart,
    sheet_lines,
    stations_chart,
    temperature_chart,
)
from quoting.documents.wall_sketch import wall_sketch
from quoting.routing.study import Phase
from tests.quoting.documents.study_sample import GAUGE, heating, study

CYCLE = {
    "stations": [
        {"name": "load and unload", "time": 42.0},
        {"name": "oven", "time": 95.5},
        {"name": "form", "time": 8},
    ],
    "governing_station": "oven",
}


LONG_NAMED = {
    "stations": [{"name": "oven", "time": 115.9}, {"name": "form and weld, second sheet", "time": 176.8}],
    "governing_station": "form and weld, second sheet",
}


def texts(chart: dict) -> list[str]:
    return [one["words"] for one in chart["shapes"] if one["kind"] == "text"]


def place(chart: dict, words: str) -> tuple[float, float]:
    found = next(one for one in chart["shapes"] if one["kind"] == "text" and one["words"] == words)
    return float(found["x"]), float(found["y"])


def drawn(chart: dict, look: str) -> list[list[tuple[float, float]]]:
    """The points of every line with a look."""
    return [
        [tuple(map(float, point.split())) for point in re.split("[ML]", one["d"].rstrip("Z")) if point]
        for one in chart["shapes"]
        if one["kind"] == "path" and one["look"] is LOOKS[look]
    ]


def all_charts() -> list[dict]:
    plain = to_plain(study(20.0))
    return [
        temperature_chart(plain["heating"]),
        profile_chart(plain["heating"]),
        cooling_chart(plain["cooling_curve"], 353.15, 60.0),
        stations_chart(CYCLE),
        stations_chart(LONG_NAMED),
        wall_sketch(plain["walls"], {"length": 1.0, "width": 0.7, "depth": 0.2, "draft_angle": 0.05}, GAUGE),
    ]


@pytest.mark.parametrize("module", [chart_scale, chart_axes, worksheet])
def test_the_examples_in_the_charts_modules_hold(module):
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(("low", "high"), [(62.0, 390.0), (0.0, 0.187), (-40.0, 12.0), (0.0, 3600.0), (294.0, 294.5)])
def test_ticks_are_round_rising_inside_and_no_more_than_asked(low, high):
    ticks = round_ticks(low, high, 6)
    step = round_step(high - low, 6)
    assert 2 <= len(ticks) <= 7
    assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks)
    assert all(b - a == pytest.approx(step) for a, b in zip(ticks, ticks[1:], strict=False))
    assert float(f"{step:.0e}"[0]) in (1, 2, 5)


def test_a_scale_without_reach_is_refused():
    with pytest.raises(ValueError, match="reach above 0"):
        round_ticks(5.0, 5.0)


def test_labels_that_would_touch_are_moved_apart_in_their_order_and_stay_inside():
    places = spread((50.0, 48.0, 49.0, 97.0), 12.0, 0.0, 100.0)
    ordered = sorted(places)
    assert all(b - a >= 12.0 - 1e-9 for a, b in zip(ordered, ordered[1:], strict=False))
    assert places[1] < places[2] < places[0] < places[3] <= 100.0


def test_labels_that_would_overlap_go_to_a_higher_row():
    assert rows_of(((0.0, 30.0), (20.0, 50.0), (28.0, 60.0), (70.0, 90.0))) == (0, 1, 2, 0)


def test_the_curve_starts_at_loading_and_ends_at_the_tool_at_its_temperatures():
    chart = temperature_chart(to_plain(heating()))
    (skin,), (core,) = drawn(chart, "first"), drawn(chart, "second")
    degrees = {int(words): place(chart, words)[1] for words in texts(chart) if words in ("100", "200", "300")}
    per_degree = (place(chart, "200")[1] - place(chart, "300")[1]) / 100
    assert skin[0][0] == LEFT
    assert skin[0][1] == pytest.approx(core[0][1], abs=0.1)
    # 22 degC = 71.6 degF, written out by hand
    assert skin[0][1] == pytest.approx(degrees[200] - 4 + (200 - 71.6) * per_degree, abs=0.6)


def test_one_line_stands_for_both_skins_until_they_run_apart():
    assert [one.name for one in sheet_lines(to_plain(heating())["curve"])] == ["both skins", "mid-plane"]
    assert [one.name for one in sheet_lines(to_plain(heating(20.0))["curve"])] == [
        "upper skin", "mid-plane", "lower skin",
    ]  # fmt: skip


def test_every_phase_and_every_limit_of_the_window_is_named_on_the_curve():
    said = texts(temperature_chart(to_plain(heating())))
    assert {
        "preheat",
        "index",
        "oven",
        "transfer",
        "scorch limit 360 °F",
        "normal 302 °F",
        "lower limit 261 °F",
    } <= set(said)
    assert "°F" in said
    assert "°C" in said


def test_short_phases_lift_their_names_so_that_none_touches_another():
    short = replace(heating(), phases=tuple(Phase(f"phase {n}", 30.0 * n, 30.0 * n + 30) for n in range(6)))
    chart = temperature_chart(to_plain(short))
    boxes = [
        (place(chart, f"phase {n}")[0], place(chart, f"phase {n}")[1], text_width(f"phase {n}", 12.0)) for n in range(6)
    ]
    for number, (x, y, width) in enumerate(boxes):
        for other_x, other_y, other_width in boxes[:number]:
            assert y != other_y or abs(x - other_x) > (width + other_width) / 2


def test_the_window_is_shaded_from_its_lower_to_its_upper_limit():
    chart = temperature_chart(to_plain(heating()))
    shaded = next(one for one in chart["shapes"] if one["kind"] == "box" and one["look"] is LOOKS["window"])
    (lower,), (scorch,) = drawn(chart, "lower"), drawn(chart, "scorch")
    assert float(shaded["y"]) == pytest.approx(scorch[0][1], abs=0.1)
    assert float(shaded["y"]) + float(shaded["height"]) == pytest.approx(lower[0][1], abs=0.2)


def test_the_profile_shows_the_upper_face_on_top_and_both_moments():
    chart = profile_chart(to_plain(heating()))
    (leaving,), (meeting,) = drawn(chart, "first"), drawn(chart, "second")
    assert place(chart, "upper face")[1] < place(chart, "lower face")[1]
    assert leaving[0][0] > meeting[0][0]  # the skin cools on its way to the tool
    assert leaving[0][0] == pytest.approx(leaving[-1][0], abs=0.1)
    assert {"leaving the oven", "at the tool", "in", "mm", "0.05", "4"} <= set(texts(chart))


@pytest.mark.parametrize("gauge", [0.0127, 0.0254, 0.010, 0.004])
def test_the_last_tick_of_the_depth_stays_clear_of_the_unit_below_it(gauge):
    plain = to_plain(heating())
    for key in ("exit_profile", "contact_profile"):
        plain[key] = [one | {"depth": one["depth"] * gauge / GAUGE} for one in plain[key]]
    chart = profile_chart(plain)
    beside = [float(one["y"]) for one in chart["shapes"] if one["kind"] == "text" and one["x"] == f"{LEFT - 6:.1f}"]
    lines = sorted(beside)
    assert min(after - before for before, after in zip(lines, lines[1:], strict=False)) >= 11.0


def test_the_cooling_chart_marks_demoulding_and_the_time_off_the_tool():
    chart = cooling_chart(to_plain(study())["cooling_curve"], 353.15, 60.0)
    # 353.15 K = 80 degC = 176 degF, written out by hand
    assert {"demould at 176 °F", "off the tool at 60 s", "free side", "middle", "tool side"} <= set(texts(chart))
    assert "60 s" in chart["told"]


def test_the_station_that_sets_the_pace_says_so_and_bars_follow_their_times():
    chart = stations_chart(CYCLE)
    bars = [float(one["width"]) for one in chart["shapes"] if one["kind"] == "box"]
    assert bars[0] / bars[1] == pytest.approx(42.0 / 95.5, rel=0.01)
    assert [words for words in texts(chart) if words.startswith("▶")] == ["▶ oven 95.5 s", "▶ sets the pace"]
    assert "oven 95.5 s, sets the pace" in chart["told"]
    assert {"0", "20", "80"} <= set(texts(chart))


def test_the_longest_name_of_a_station_stays_within_its_chart():
    named = {"name": "form and weld, second sheet", "time": 177.9}
    chart = stations_chart({"stations": [named], "governing_station": named["name"]})
    label = next(words for words in texts(chart) if "second sheet" in words)
    assert 11.0 + 1.1 * text_width(label, TYPE) < WIDTH  # bold: some tenth wider than plain


def test_lines_differ_in_dash_and_weight_so_that_grey_print_can_tell_them_apart():
    told = {(LOOKS[one].get("stroke-dasharray"), LOOKS[one]["stroke-width"]) for one in ("first", "second", "third")}
    assert len(told) == 3


@pytest.mark.parametrize("chart", all_charts(), ids=lambda one: one["name"])
def test_a_chart_is_one_valid_picture_with_title_and_words_and_nothing_outside(chart):
    svg = render_to_string("documents/chart_svg.html", {"chart": chart})
    root = ElementTree.fromstring(svg)  # noqa: S314  our own markup
    width, height = (float(one) for one in root.get("viewBox").split()[2:])
    shown = [one for one in root if one.tag.endswith("text")]
    assert root[0].text == chart["title"]
    assert root[1].text == chart["told"]
    assert root.get("role") == "img"
    for one in shown:
        bold = 1.08 if one.get("font-weight") == "bold" else 1.0
        x, wide = float(one.get("x")), bold * text_width(one.text, float(one.get("font-size")))
        start = {"start": x, "middle": x - wide / 2, "end": x - wide}[one.get("text-anchor")]
        assert start >= -2, one.text
        assert start + wide <= width + 2, one.text
        assert 0 < float(one.get("y")) <= height, one.text
    for one in chart["shapes"]:
        for across, down in re.findall(r"([-\d.]+) ([-\d.]+)", one.get("d", "")):
            assert -0.1 <= float(across) <= width
            assert -0.1 <= float(down) <= height


def test_names_of_stations_are_written_and_not_taken_as_markup():
    chart = stations_chart({"stations": [{"name": "<b>oven</b>", "time": 5.0}], "governing_station": ""})
    assert "&lt;b&gt;oven" in render_to_string("documents/chart_svg.html", {"chart": chart})


def test_a_chart_stays_between_its_axes():
    chart = temperature_chart(to_plain(heating(20.0)))
    for look in ("first", "second", "third"):
        for line in drawn(chart, look):
            assert all(LEFT <= across <= RIGHT for across, _ in line)
