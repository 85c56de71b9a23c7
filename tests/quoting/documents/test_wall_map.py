"""The thickness map in words: the gauge it asks for, the walls that a given gauge leaves, coarse against fine."""

import pytest

from materials.thinning import required_gauge
from quoting.documents.wall_map import fine_rows, gauge_shown, place_rows, walls_shown, way_rows

INCH = 0.0254
MAP = {"minimum": 0.15, "fifth_percentile": 0.25, "mean": 0.5, "covered": 0.99, "mass_balance_error": 0.004}
WAY = {"along": 2, "across": 1, "web": 0.0381, "toward": "next", "plug": True, "process": "vacuum"}


def answered(minimum_wall=None, gauge=None, chosen=0.250 * INCH, required=0.240 * INCH, thickest=0.5 * INCH, **more):
    """A snapshot as far as the map looks at it."""
    candidate = {
        "gauge": chosen, "required_gauge": required, "process": "vacuum",
        "offer": {"gauge_tolerance": 0.10, "thickest_gauge": thickest},
    } | more  # fmt: skip
    planned = {"candidate": candidate, "plan": {"thinning": {"thinnest_wall": 0.3 * chosen}}}
    part = {"minimum_wall": minimum_wall, "gauge": gauge}
    return {"request": {"part": part}, "chosen": {"judged": {"planned": planned}}}


def test_the_gauge_leaves_the_wall_asked_for_on_sheet_that_runs_thin():
    shown = gauge_shown(MAP, answered(minimum_wall=0.050 * INCH))
    (fifth, thinnest, answer) = shown["rows"]
    # wall / share / (1 - tolerance) = 0.050 in / 0.25 / 0.9 = 0.222 in, next stocked 0.236 in; / 0.15 / 0.9 = 0.370 in
    assert fifth == ("Map, 5th percentile", "25 %", "0.222 in (5.64 mm)", "0.236 in (5.99 mm)")
    assert thinnest == ("Map, thinnest place", "15 %", "0.370 in (9.41 mm)", "0.375 in (9.53 mm)")
    assert answer == ("Answer, its thinnest place", "30 %", "0.240 in (6.10 mm)", "0.250 in (6.35 mm)")
    assert required_gauge(0.050 * INCH, 0.25, 0.10) == pytest.approx(0.2222222 * INCH)


@pytest.mark.parametrize(
    ("required", "told"), [(0.200, None), (0.180, "23 % more gauge"), (0.240, None), (0.300, "26 % less gauge")]
)
def test_a_disagreement_of_more_than_fifteen_percent_is_told(required, told):
    # the map's 5th percentile needs 0.222 in
    shown = gauge_shown(MAP, answered(minimum_wall=0.050 * INCH, required=required * INCH))
    assert shown["apart"] is (told is not None)
    assert [told in note for note in shown["notes"]] == ([True] if told else [])


def test_a_gauge_beyond_what_is_stocked_or_offered_is_told():
    beyond = gauge_shown(MAP, answered(minimum_wall=0.080 * INCH))
    # 0.080 in / 0.15 / 0.9 = 0.593 in against 0.500 in
    assert beyond["rows"][1][3] == "none: the thickest stocked is 0.500 in (12.70 mm)"
    offered = gauge_shown(MAP, answered(minimum_wall=0.050 * INCH, thickest=0.25 * INCH))
    assert offered["rows"][1][3].endswith("but the chosen sheet is offered up to 0.250 in (6.35 mm)")


def test_a_typed_gauge_shows_the_walls_that_it_leaves():
    shown = gauge_shown(MAP, answered(gauge=0.200 * INCH, chosen=0.200 * INCH, required=0.200 * INCH))
    assert shown["rows"] == []
    # 0.200 in x 0.25 = 0.050 in; x 0.9 on sheet that runs thin = 0.045 in
    assert shown["walls"][0] == ("Map, 5th percentile", "0.050 in (1.27 mm)", "0.045 in (1.14 mm)")
    assert shown["walls"][1][1] == "0.030 in (0.76 mm)"
    assert shown["walls"][-1][:2] == ("Answer, its thinnest place", "0.060 in (1.52 mm)")


def test_without_a_route_the_map_still_names_its_gauge():
    snapshot = answered(minimum_wall=0.050 * INCH) | {"chosen": None}
    shown = gauge_shown(MAP, snapshot)
    # no offer, no tolerance: 0.050 in / 0.25
    assert shown["rows"][0][2] == "0.200 in (5.08 mm)"
    assert "No route" in shown["notes"][0]


def test_no_gauge_is_taken_from_the_map_of_a_twin_sheet_part():
    shown = gauge_shown(MAP, answered(minimum_wall=0.050 * INCH, process="twin_sheet"))
    assert shown["rows"] == []
    assert "two sheets" in shown["notes"][0]


@pytest.mark.parametrize("membrane", [None, "thin", {}, {"fifth_percentile": "<b>"}])
def test_a_map_of_strange_shape_gives_nothing(membrane):
    assert gauge_shown(membrane, answered(minimum_wall=0.05 * INCH)) is None
    assert place_rows(membrane) == way_rows(membrane) == fine_rows(membrane, membrane) == []


def test_coarse_and_fine_stand_side_by_side_with_the_change():
    rows = fine_rows(MAP, MAP | {"fifth_percentile": 0.24})
    assert rows[1] == {"label": "5th percentile", "coarse": "25 %", "fine": "24 %", "change": "-4.0 %"}


def test_the_way_of_forming_is_said_and_a_change_of_it_noticed():
    membrane = MAP | {"tool": "female", "way": WAY}
    rows = dict(way_rows(membrane))
    assert rows["Formed"].startswith("into a female tool, a plug first")
    assert rows["Cavities"].startswith("2 × 1 on the blank; 1.50 in (38.1 mm) of sheet at the narrowest, half the gap")
    report = {"found": {"membrane": membrane}}
    assert not walls_shown(report, None, None, WAY)["way_changed"]
    assert walls_shown(report, None, None, WAY | {"plug": False})["way_changed"]


def test_another_way_that_was_asked_for_is_named_and_does_not_disagree_with_the_answer():
    wished = WAY | {"tool": "male", "plug": False, "pre_stretch": 1.3}
    shown = walls_shown({"found": {"membrane": MAP | {"tool": "male", "way": wished}}}, None, None, wished)
    assert shown["way"][0] == ("Formed", "over a male tool, no plug, blown up to 1.3 times its area first")
    assert not shown["way_changed"]


def test_the_fine_map_takes_the_place_of_the_coarse_one():
    report = {"found": {"membrane": MAP}}
    shown = walls_shown(report, {"membrane": MAP | {"mean": 0.4}}, None, WAY)
    assert shown["walls"][0] == ("Mean wall", "40 % of the gauge")
    assert len(shown["fine_rows"]) == 4
