"""What paint and shielding cover, as typed or assumed."""

import pytest

from quoting.units import spoken
from tests.quoting.intake.sample import changed, read, wrong_fields

FOOT2 = 0.09290304  # m2, exact


def asked(operation, **more):
    return changed(secondary=[{"operation": operation, "count": 2}], **more)


def coat_of(raw):
    (work,) = read(raw).request.secondary
    return work.coat


def test_paint_covers_the_side_that_is_seen_and_says_so():
    reading = read(asked("paint", part__show_side="free", part__surface_area="10 ft2"))
    (work,) = reading.request.secondary
    assert (work.count, work.coat.side) == (2, "free")
    assert work.coat.area == pytest.approx(10 * FOOT2)
    assert work.coat.masked_edge == reading.request.part.trim_length
    said = {entry.field: spoken(entry.value) for entry in reading.assumptions}
    assert said["coating.paint_side"] == "paint on the side away from the tool"
    assert "10.0 ft² (0.929 m²)" in said["coating.paint_area"]


def test_shielding_goes_where_nobody_looks():
    assert coat_of(asked("emi_coat", part__show_side="tool")).side == "free"
    assert coat_of(asked("emi_coat", part__show_side="free")).side == "tool"


def test_both_sides_are_twice_the_surface_and_nothing_is_masked():
    one = coat_of(asked("paint"))
    both = coat_of(asked("paint", coating__paint_side="both"))
    assert both.area == pytest.approx(2 * one.area)
    assert both.masked_edge == 0


def test_a_typed_area_counts():
    assert coat_of(asked("emi_coat", coating__shielding_area="3 ft2")).area == pytest.approx(3 * FOOT2)


def test_other_work_covers_nothing_and_says_nothing_of_coats():
    reading = read(asked("insert"))
    assert reading.request.secondary[0].coat is None
    assert not any(entry.field.startswith("coating.") for entry in reading.assumptions)


def test_a_painted_area_without_paint_is_refused_by_name():
    assert wrong_fields(changed(coating__paint_area="3 ft2")) == ["coating.paint_area"]
    assert wrong_fields(asked("paint", coating__shielding_side="free")) == ["coating.shielding_side"]


def test_who_pays_a_surplus_is_said_or_left_apart():
    assert read(changed()).request.surplus == "apart"
    assert read(changed(material__surplus="shared")).request.surplus == "shared"
    assert wrong_fields(changed(material__surplus="never")) == ["material.surplus"]
