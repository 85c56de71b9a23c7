"""An inquiry becomes a request, or says what is missing, or names every wrong field."""

import time
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.intake.fields import BY_KEY, FIELDS, from_text
from quoting.intake.model_asking import CHOICES
from quoting.intake.part import MetalPart, Secondary
from quoting.intake.reading import with_overrides
from quoting.intake.reading_result import InputErrors
from quoting.units import spoken
from tests.quoting.intake.sample import INQUIRY, changed, read, wrong_fields

INCH = 0.0254  # m, exact: international inch


def assumed(reading, field):
    return [spoken(entry.value) for entry in reading.assumptions if entry.field == field]


def test_a_complete_inquiry_becomes_a_request_in_si_units():
    request = read(changed(target_price="58.00", needed_by="2027-04-30", reference="R-1")).request
    assert request.part.length == pytest.approx(40 * INCH)
    assert request.part.gauge == pytest.approx(0.187 * INCH)
    assert request.part.minimum_wall is None
    assert request.releases == (100, 300)
    assert (request.target_price, request.needed_by) == (Decimal("58.00"), date(2027, 4, 30))
    assert request.ship_to.place == "Cleveland, OH"
    assert 41 < request.ship_to.latitude < 42


def test_inches_and_millimetres_give_the_same_request():
    metric = changed(part__length="1016 mm", part__width="711.2 mm", part__depth="203.2 mm", part__gauge="4.7498 mm")
    assert read(metric).request == read(INQUIRY).request


def test_every_wrong_field_is_named_at_once_in_the_order_of_the_form():
    raw = changed(
        needed_by="tomorrow", part__length="48", part__gauge=".187", customer__email="ada", quantities__annual=0,
        part__lenght="48 in",
    )  # fmt: skip
    assert wrong_fields(raw) == [
        "customer.email", "part.length", "part.gauge", "quantities.annual", "needed_by", "part.lenght",
    ]  # fmt: skip


def test_an_error_says_what_was_given_and_what_is_accepted():
    with pytest.raises(InputErrors) as caught:
        read(changed(part__length="48"))
    (error,) = caught.value.errors
    assert error.given == '"48"'
    assert "48 in" in error.accepted
    assert error.message.startswith("part.length: got")


@pytest.mark.parametrize(
    ("key", "near"),
    [("part__lenght", "part.length"), ("part__min_wall", "part.minimum_wall"), ("length", "part.length"),
     ("qty", None)],
)  # fmt: skip
def test_an_unknown_key_is_refused_by_name_with_the_nearest_known_one(key, near):
    with pytest.raises(InputErrors) as caught:
        read(changed(**{key: "48 in"}))
    (error,) = caught.value.errors
    assert error.field == key.replace("__", ".")
    assert near is None or near in error.accepted


@pytest.mark.parametrize("raw", [None, [], "x", 5, True, [INQUIRY]])
def test_anything_but_an_object_is_no_inquiry(raw):
    assert wrong_fields(raw) == [""]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("customer__company", 5), ("customer__company", "x" * 201), ("customer__company", "a\nb"),
        ("customer__company", "\ud800"), ("customer__email", "a@b"), ("customer__email", "a b@c.example"),
        ("ship_to__postal_code", "00000"), ("ship_to__postal_code", 44114), ("ship_to__postal_code", "441141"),
        ("ship_to__postal_code", "09001"), ("ship_to__country", "USA"), ("ship_to__country", "CA"),
        ("part__length", 48), ("part__length", "48"), ("part__length", "40 ft"), ("part__length", "1 mm"),
        ("part__length", "1e308 in"), ("part__length", "0 in"), ("part__length", "-3 in"), ("part__gauge", "3 in"),
        ("part__gauge", "0.05 mm"), ("part__draft_angle", "50 deg"), ("part__draft_angle", "4"),
        ("part__texture_depth", "3 mm"), ("part__service_temperature", "500 degC"),
        ("part__service_temperature", "-100 degF"), ("part__show_side", "back"), ("part__enclosed", "yes"),
        ("part__enclosed", 1), ("part__openings", True), ("part__openings", -1), ("part__openings", 1.0),
        ("part__holes", "4"), ("material__polymers", ["XYZ"]), ("material__polymers", "ABS"),
        ("material__colour", "red"), ("material__needs", ["food"]), ("material__needs", {"a": 1}),
        ("quantities__annual", 0), ("quantities__annual", 10_000_001),
        ("quantities__annual", True), ("quantities__annual", 2.5), ("quantities__releases", [0]),
        ("quantities__releases", list(range(1, 14))), ("quantities__releases", 100), ("quantities__releases", [True]),
        ("tooling", "old"), ("secondary", "insert"), ("needed_by", "2026-11-25"), ("needed_by", "2026-02-30"),
        ("needed_by", "2040-01-01"), ("needed_by", "30.4.2027"), ("needed_by", 20270430), ("target_price", "1e308"),
        ("target_price", "1000000.01"), ("target_price", 58), ("target_price", "0"), ("target_price", "-1"),
        ("part__model", "cover.stl"), ("part__name", ["x"]),
    ],
)  # fmt: skip
def test_one_bad_value_is_one_error_at_its_field(field, value):
    assert wrong_fields(changed(**{field: value})) == [field.replace("__", ".")]


@pytest.mark.parametrize(
    ("secondary", "field"),
    [
        ([{"operation": "knit", "count": 1}], "secondary.0.operation"),
        ([{"operation": "insert", "count": 1}, {"operation": "insert", "count": 0}], "secondary.1.count"),
        ([{"operation": "insert"}], "secondary.0.count"),
        ([{"operation": "insert", "count": 1, "note": "x"}], "secondary.0"),
        (["insert"], "secondary.0"),
    ],
)
def test_a_wrong_part_of_an_operation_is_named(secondary, field):
    assert wrong_fields(changed(secondary=secondary)) == [field]


@pytest.mark.parametrize("group", ["customer", "ship_to", "part", "material", "quantities", "replaces_metal"])
def test_a_group_that_is_no_object_is_an_error(group):
    assert group in wrong_fields({**INQUIRY, group: "x"})


@pytest.mark.parametrize("nothing", [None, "", "   ", []])
def test_null_and_empty_count_as_not_given(nothing):
    raw = {**changed(), "reference": nothing, "secondary": nothing, "material": {"needs": nothing}}
    assert read(raw).request == read(INQUIRY).request
    without = {**changed(), "quantities": {"annual": 2400, "releases": nothing}}
    assert [missing.field for missing in read(without).missing] == ["quantities.releases"]


def test_what_is_missing_is_asked_for_in_the_order_of_the_form_and_is_no_error():
    reading = read({})
    assert reading.request is None
    assert [missing.field for missing in reading.missing] == [
        "customer.company", "customer.contact", "customer.email", "ship_to.postal_code", "ship_to.country", "part.name",
        "part.length", "part.width", "part.depth", "part.minimum_wall", "quantities.annual", "quantities.releases",
    ]  # fmt: skip
    assert all(missing.why for missing in reading.missing)


def test_one_of_wall_and_gauge_is_enough_and_both_are_refused():
    assert read(changed(part__gauge=None, part__minimum_wall="0.09 in")).request.part.gauge is None
    assert wrong_fields(changed(part__minimum_wall="0.09 in")) == ["part.gauge"]


@pytest.mark.parametrize("gauge", [".030 in", "1.0 in"])
def test_gauges_that_we_cannot_form_are_still_read(gauge):
    assert read(changed(part__gauge=gauge)).request is not None


def test_a_part_too_large_for_any_sheet_is_still_read():
    assert read(changed(part__length="22 ft", part__width="8 ft")).request is not None


CONTRADICTIONS = [
    ({"part__surface_area": "7 ft2"}, "part.surface_area"),  # the plan is 7.78 ft2
    ({"part__surface_area": "400 ft2"}, "part.surface_area"),
    ({"part__trim_length": "70 in"}, "part.trim_length"),  # twice the length is 80 in
    ({"part__trim_length": "200 ft"}, "part.trim_length"),
    ({"part__depth": "30 in", "part__draft_angle": "30 deg"}, "part.draft_angle"),  # closes at 24.2 in
    ({"part__smallest_radius": "15 in"}, "part.smallest_radius"),
    ({"part__undercut_depth": "14 in"}, "part.undercut_depth"),
    ({"part__texture_depth": "0.04 in", "part__gauge": "0.03 in"}, "part.texture_depth"),
    ({"part__depth": "0.25 in", "part__gauge": "0.5 in"}, "part.gauge"),
    ({"replaces_metal__metal": "steel"}, "replaces_metal.thickness"),
    ({"replaces_metal__thickness": "1 mm"}, "replaces_metal.metal"),
    ({"replaces_metal__parts": 7}, "replaces_metal.metal"),
    (
        {
            "replaces_metal__metal": "steel",
            "replaces_metal__thickness": "1 mm",
            "replaces_metal__welds": 0,
            "replaces_metal__seam_length": "3 m",
        },
        "replaces_metal.welds",
    ),
]


@pytest.mark.parametrize(("changes", "field"), CONTRADICTIONS)
def test_facts_that_cannot_all_be_true_are_an_error_at_the_field(changes, field):
    assert wrong_fields(changed(**changes)) == [field]


def test_a_surface_just_at_the_plan_area_is_accepted():
    assert wrong_fields(changed(part__surface_area="1120 in2")) == []


def test_a_smaller_length_is_swapped_with_the_width_and_said():
    reading = read(changed(part__length="28 in", part__width="40 in"))
    assert reading.request.part == read(INQUIRY).request.part
    assert assumed(reading, "part.length") == ["length 40.0 in (1016 mm), width 28.0 in (711 mm)"]


def test_every_default_is_said_with_a_reason():
    reading = read(INQUIRY)
    fields = [entry.field for entry in reading.assumptions]
    assert fields == [
        "part.surface_area", "part.trim_length", "part.draft_angle", "part.smallest_radius", "part.undercut_depth",
        "part.texture_depth", "part.tolerance", "part.show_side", "part.tool_side", "part.enclosed", "part.openings",
        "part.holes", "part.service_temperature", "material.polymers", "material.colour", "material.needs", "tooling",
        "secondary",
    ]  # fmt: skip
    assert all(entry.why for entry in reading.assumptions)
    assert assumed(reading, "part.openings") == ["priced without openings"]


def test_what_is_given_is_not_said_to_be_assumed():
    given = changed(part__draft_angle="4 deg", part__openings=0, material__colour="natural", tooling="new")
    fields = {entry.field for entry in read(given).assumptions}
    assert not fields & {"part.draft_angle", "part.openings", "material.colour", "tooling"}


# By hand: tapered box 40 x 28 x 8 in, draft 3 deg: base 40 - 16 tan 3 = 39.16147 by 27.16147 in, slant 8/cos 3 =
# 8.010978 in; 39.16147 x 27.16147 + (40 + 39.16147 + 28 + 27.16147) x 8.010978 = 1063.683 + 1076.058 = 2139.74 in2.
def test_the_surface_is_the_tapered_box_of_the_usual_draft():
    assert read(INQUIRY).request.part.surface_area == pytest.approx(2139.74 * INCH**2, rel=1e-5)


def test_a_closed_part_has_two_skins_of_half_the_depth():
    closed = read(changed(part__enclosed=True)).request.part
    half = read(changed(part__depth="4 in")).request.part
    assert closed.surface_area == pytest.approx(half.surface_area, rel=1e-12)


# By hand: 2 (40 + 28) in = 136 in, and 0.2 m for each of two openings.
def test_the_trimmed_length_is_the_perimeter_and_an_allowance_for_each_opening():
    assert read(changed(part__openings=2)).request.part.trim_length == pytest.approx(136 * INCH + 0.4)


def test_a_deep_narrow_part_gets_less_draft_so_that_a_base_is_left():
    part = read(changed(part__width="2 in", part__depth="20 in", part__gauge="0.06 in")).request.part
    assert part.draft_angle == pytest.approx(0.02499479, rel=1e-5)  # atan(2/80), by hand
    assert part.surface_area > 0


def test_a_texture_without_show_side_is_taken_to_be_seen():
    assert read(changed(part__texture_depth="0.004 in")).request.part.show_side == "tool"
    assert read(INQUIRY).request.part.show_side == "none"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        (
            {"part__length": "40 mm", "part__width": "28 mm", "part__depth": "8 mm", "part__gauge": "1 mm"},
            "part.length",
        ),
        ({"part__length": "170 in"}, "part.length"),
        ({"part__gauge": "0.187 mm"}, "part.gauge"),
        ({"quantities__releases": [2401]}, "quantities.releases"),
        ({"part__texture_depth": "0.004 in", "part__show_side": "none"}, "part.show_side"),
        ({"part__smallest_radius": "8.1 in"}, "part.smallest_radius"),  # the part is 8 in deep
    ],
)
def test_a_likely_slip_is_asked_about_but_read(changes, field):
    reading = read(changed(**changes))
    assert reading.request is not None
    assert [doubt.field for doubt in reading.doubts] == [field]


def test_a_doubt_about_the_unit_shows_both_readings():
    (doubt,) = read(changed(part__gauge="0.187 mm")).doubts
    assert "0.19 mm" in spoken(doubt.text)
    assert "0.187 in" in spoken(doubt.text)


def test_an_ordinary_inquiry_raises_no_doubt():
    assert read(INQUIRY).doubts == ()


def test_lists_are_ordered_and_doubles_are_merged():
    raw = changed(
        quantities__releases=[300, 100, 300], material__polymers=["pc", "ABS", "PC"],
        material__needs=["impact", "food_contact", "impact"],
        secondary=[{"operation": "gasket", "count": 1}, {"operation": "insert", "count": 2},
                   {"operation": "gasket", "count": 3}],
    )  # fmt: skip
    request = read(raw).request
    assert request.releases == (100, 300)
    assert request.polymers == ("ABS", "PC")
    assert request.needs == ("food_contact", "impact")
    assert request.secondary == (Secondary("insert", 2), Secondary("gasket", 4))


def test_a_metal_part_to_be_replaced_is_read():
    raw = changed(replaces_metal__metal="steel", replaces_metal__thickness="1.5 mm")
    assert read(raw).request.replaces_metal == MetalPart("steel", 0.0015)


def test_how_the_metal_part_is_put_together_is_read_where_it_is_told():
    told = {"replaces_metal__parts": 7, "replaces_metal__welds": 12, "replaces_metal__seam_length": "9 ft 6 in"}
    raw = changed(replaces_metal__metal="stainless", replaces_metal__thickness="1.5 mm", **told)
    assert read(raw).request.replaces_metal == MetalPart("stainless", 0.0015, 7, 12, pytest.approx(2.8956))


def test_zip_plus_four_is_accepted_and_country_case_does_not_matter():
    request = read(changed(ship_to__postal_code="44114-1234", ship_to__country="us")).request
    assert (request.ship_to.postal_code, request.ship_to.country) == ("44114-1234", "US")


def test_another_country_is_told_why():
    with pytest.raises(InputErrors, match="US postal codes only"):
        read(changed(ship_to__country="DE", ship_to__postal_code="10115"))


def test_reading_leaves_the_inquiry_as_it_was_and_repeats_itself():
    raw = changed(part__length="28 in", part__width="40 in")
    before = repr(raw)
    assert read(raw) == read(raw)
    assert repr(raw) == before


def test_overrides_replace_inputs_in_a_copy():
    raw = changed()
    new = with_overrides(
        raw, (("part.draft_angle", "5 deg"), ("quantities.releases", "50, 500"), ("part.enclosed", "true"),
              ("secondary", "insert 6, inspection 1"), ("part.depth", "")),
    )  # fmt: skip
    assert new["part"]["draft_angle"] == "5 deg"
    assert new["quantities"]["releases"] == [50, 500]
    assert new["part"]["enclosed"] is True
    assert new["secondary"] == [{"operation": "insert", "count": 6}, {"operation": "inspection", "count": 1}]
    assert "depth" not in new["part"]
    assert raw == changed()


def test_an_override_of_the_wall_takes_the_place_of_the_gauge():
    new = with_overrides(changed(), (("part.minimum_wall", "0.1 in"),))
    assert read(new).request.part.gauge is None


def test_an_override_of_an_unknown_field_or_a_result_is_refused():
    with pytest.raises(InputErrors) as caught:
        with_overrides(changed(), (("part.lenght", "1 in"), ("price", "1.00")))
    assert [error.field for error in caught.value.errors] == ["part.lenght", "price"]


def test_a_bad_override_is_found_by_the_reader():
    assert wrong_fields(with_overrides(changed(), (("quantities.annual", "many"),))) == ["quantities.annual"]


def test_every_example_in_the_table_of_fields_is_readable():
    examples = tuple((field.key, field.example) for field in FIELDS if field.example and field.kind != "file")
    without = ("part.minimum_wall", *CHOICES)  # a gauge is given, and no model
    examples = tuple((key, text) for key, text in examples if key not in without)
    assert wrong_fields(with_overrides(changed(), examples)) == []


def test_the_table_of_fields_is_whole():
    assert len(BY_KEY) == len(FIELDS)
    assert all(field.label for field in FIELDS)
    assert all(field.why for field in FIELDS if field.required != "no")
    assert from_text(BY_KEY["part.holes"], "９") == "９"


TOOL = {"length": "34 in", "width": "46 in", "height": "13 in", "mass": "850 lb"}


def test_a_customers_tool_lies_with_its_longer_side_along_the_longer_side_of_the_part():
    tool = read(changed(tooling="transfer") | {"tool": TOOL}).request.tool

    assert (tool.length, tool.width, tool.height) == pytest.approx((46 * INCH, 34 * INCH, 13 * INCH))
    assert tool.mass == pytest.approx(850 * 0.45359237)


def test_the_size_of_a_tool_is_refused_where_the_tool_is_new():
    raw = changed() | {"tool": TOOL}

    assert wrong_fields(raw) == ["tool.length", "tool.width", "tool.height", "tool.mass"]


def test_a_tool_smaller_than_its_part_is_asked_about():
    doubts = read(changed(tooling="transfer") | {"tool": {"length": "20 in", "width": "18 in"}}).doubts

    assert {"tool.length", "tool.width"} <= {doubt.field for doubt in doubts}


def test_an_undercut_without_a_number_is_one_and_said_so():
    reading = read(changed(part__undercut_depth="0.3 in"))

    assert reading.request.part.undercuts == 1
    assert [one.value.text for one in reading.assumptions if one.field == "part.undercuts"]
    assert read(changed(part__undercut_depth="0.3 in", part__undercuts=3)).request.part.undercuts == 3


def test_without_an_undercut_none_is_counted_and_nothing_more_is_said():
    reading = read(changed())

    assert reading.request.part.undercuts == 0
    assert "part.undercuts" not in [one.field for one in reading.assumptions]


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ({"part__undercuts": 2}, "part.undercut_depth"),
        ({"part__undercuts": 0, "part__undercut_depth": "0.3 in"}, "part.undercuts"),
    ],
)
def test_undercuts_and_their_depth_go_together(given, wrong):
    assert wrong_fields(changed(**given)) == [wrong]


def test_tooling_is_spread_over_no_fewer_parts_than_the_largest_release():
    largest = read(changed()).request.releases[-1]

    assert read(changed(amortise_over=largest)).request.amortise_over == largest
    assert wrong_fields(changed(amortise_over=largest - 1)) == ["amortise_over"]
    assert read(changed()).request.amortise_over is None


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
    | st.sampled_from(["48 in", "4 mm", "3 deg", "ABS", "US", "44114", "1e308", "2027-01-01", "12.50", "tool"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(max_size=8) | st.sampled_from(["operation", "count", "metal"]), inner, max_size=4),
    max_leaves=8,
)  # fmt: skip


@settings(derandomize=True, max_examples=150, database=None, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(BY_KEY)), PLAIN, max_size=12), PLAIN)
def test_no_json_does_more_than_be_read_or_be_refused(leaves, anything):
    raw = changed()
    for key, value in leaves.items():
        group, _, name = key.rpartition(".")
        (raw.setdefault(group, {}) if group else raw)[name] = value
    for inquiry in (raw, anything):
        try:
            assert read(inquiry).doubts is not None
        except InputErrors as errors:
            assert all(error.message.isprintable() for error in errors.errors)


@pytest.mark.parametrize("field", ["part__length", "customer__company", "customer__email", "needed_by", "target_price"])
def test_a_million_characters_in_a_field_are_refused_at_once(field):
    start = time.perf_counter()
    assert wrong_fields(changed(**{field: "9" * 10**6})) == [field.replace("__", ".")]
    assert time.perf_counter() - start < 0.5


def test_a_count_of_five_thousand_digits_is_refused():
    assert wrong_fields(changed(quantities__annual=10**5000)) == ["quantities.annual"]


def test_a_flood_of_unknown_keys_is_answered_with_a_few():
    start = time.perf_counter()
    found = wrong_fields({f"key{number}": number for number in range(20_000)})
    assert len(found) == 20
    assert time.perf_counter() - start < 1
