"""Pallet patterns: worked example, limits, and what must hold for any part."""

from dataclasses import replace
from decimal import Decimal
from math import radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.costing.packing import (
    PackedPart,
    PackInputs,
    column_height,
    interleaves,
    loaded_pallet,
    loaded_pallets,
    material_of_packing,
    nesting_pitch,
    pack,
    parts_to_interleaf,
)
from quoting.costing.secondary import BenchInputs
from tests.quoting.costing.shop import CUBIC_FOOT, INCH, POUND, some_rates

RATES = some_rates().packing
# Worked pallet: 48 x 40 x 5.5 in, part 46 x 38 x 14 in of 9 lb, pitch 1.25 in, a sheet of .05 in and .6 lb every 5,
# 96 in high at most.
NESTED = PackedPart(46 * INCH, 38 * INCH, 14 * INCH, 9 * POUND, 1.25 * INCH)
SIZES = st.floats(0.05, 2.0)


def test_worked_pallet_holds_61_nested_parts_in_one_column():
    pattern = pack(NESTED, RATES)

    assert (pattern.per_layer, pattern.per_column, pattern.capacity) == (1, 61, 61)
    assert column_height(NESTED, 61, RATES) / INCH == pytest.approx(89.6)
    assert column_height(NESTED, 62, RATES) / INCH == pytest.approx(90.85)


def test_worked_pallet_of_60_weighs_597_pounds_in_104_cubic_feet():
    pallet = loaded_pallet(pack(NESTED, RATES), 60, RATES)

    assert pallet.height / INCH == pytest.approx(93.80)
    assert pallet.mass / POUND == pytest.approx(597.6)
    assert pallet.volume / CUBIC_FOOT == pytest.approx(104.222, abs=5e-4)


def test_worked_cover_stands_28_high_in_81_and_a_half_inches_without_interleaf():
    # Worked cover: 6 in pallet, 8 in part, 27 x 2.5 in.
    bare = replace(RATES, pallet_height=6 * INCH, interleaf_thickness=0.0)
    cover = PackedPart(40 * INCH, 28 * INCH, 8 * INCH, 7.722 * POUND, 2.5 * INCH)
    pallet = loaded_pallet(pack(cover, bare), 28, bare)

    assert pallet.height / INCH == pytest.approx(81.5)


def test_closed_parts_stand_on_tiers_with_a_sheet_between():
    closed = replace(NESTED, pitch=None)
    pattern = pack(closed, RATES)

    # 6 x 14 + 5 x .05 = 84.25 in below 90.5 in; a seventh tier would take 98.3 in
    assert pattern.capacity == 6
    assert column_height(closed, 6, RATES) / INCH == pytest.approx(84.25)


def test_parts_are_turned_where_more_of_them_fit():
    # 40 / 19 = 2 and 48 / 24 = 2 this way; the other way 48 / 19 = 2 and 40 / 24 = 1
    assert pack(PackedPart(24 * INCH, 19 * INCH, 0.1, 1.0, None), RATES).per_layer == 4
    assert pack(PackedPart(19 * INCH, 24 * INCH, 0.1, 1.0, None), RATES).per_layer == 4


def test_every_part_that_is_seen_has_its_own_interleaf():
    seen = replace(NESTED, cosmetic=True)
    # by hand: 10 nested parts have 9 gaps, an interleaf in each, or in every fifth of them: 1
    assert (interleaves(seen, 10, RATES), interleaves(NESTED, 10, RATES)) == (9, 1)
    assert column_height(seen, 10, RATES) - column_height(NESTED, 10, RATES) == pytest.approx(8 * 0.05 * INCH)
    bench = BenchInputs(Decimal(34), 0.85)
    of_seen, of_unseen = (
        material_of_packing(PackInputs(10, 1.0, bench, False, parts_to_interleaf(part, RATES)), RATES)
        for part in (seen, NESTED)
    )
    assert of_seen - of_unseen == RATES.interleaf_cost * 4 / 5


def test_a_part_as_large_as_the_pallet_fits_on_it():
    pattern = pack(replace(NESTED, length=48 * INCH, width=40 * INCH), RATES)

    assert (pattern.per_layer, pattern.area_factor) == (1, pytest.approx(1.0))


def test_a_larger_part_gets_a_pallet_of_its_size_and_weight():
    pattern = pack(replace(NESTED, length=60 * INCH, width=50 * INCH), RATES)
    pallet = loaded_pallet(pattern, 1, RATES)

    assert pattern.pallet_length == pytest.approx(60 * INCH)
    assert pattern.pallet_width == pytest.approx(50 * INCH)
    assert pallet.mass / POUND == pytest.approx(9 + 45 * 60 * 50 / (48 * 40) + 6)


def test_heavy_parts_stop_at_the_weight_limit():
    pattern = pack(replace(NESTED, mass=100 * POUND), RATES)

    assert pattern.capacity == 19  # 19 x 100 + 3 x .6 lb; the twentieth passes 2,000 lb


def test_a_part_that_is_too_heavy_or_too_tall_still_gets_a_pallet():
    assert pack(replace(NESTED, mass=5000 * POUND, height=120 * INCH), RATES).capacity == 1


def test_a_release_fills_pallets_and_leaves_the_rest_on_the_last():
    pallets = loaded_pallets(pack(NESTED, RATES), 130, RATES)

    assert [each.parts for each in pallets] == [61, 61, 8]


def test_pitch_follows_the_draft_between_the_least_pitch_and_the_part_itself():
    assert nesting_pitch(0.0024, radians(3), 0.2, 0.02) == pytest.approx(0.0458585, rel=1e-4)
    assert nesting_pitch(0.0024, radians(45), 0.2, 0.02) == 0.02
    assert nesting_pitch(0.0024, 0.0, 0.2, 0.02) == 0.2


@given(SIZES, SIZES, SIZES, st.floats(0.05, 200.0), st.one_of(st.none(), st.floats(0.01, 0.5)), st.integers(1, 500))
def test_any_release_is_packed_whole_and_no_shared_pallet_passes_a_limit(length, width, height, mass, pitch, quantity):
    pattern = pack(PackedPart(length, width, height, mass, None if pitch is None else min(pitch, height)), RATES)
    pallets = loaded_pallets(pattern, quantity, RATES)

    assert sum(each.parts for each in pallets) == quantity
    for each in pallets:
        net = each.mass - RATES.pallet_mass * pattern.area_factor - RATES.wrap_mass
        assert pattern.per_column == 1 or each.height <= RATES.highest_load + 1e-6
        assert pattern.capacity == 1 or net <= RATES.heaviest_load + 1e-6
