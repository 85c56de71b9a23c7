"""Text to SI and back: what is read, what is refused, how figures are written."""

import pickle
import time
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.unit_names import ACCEPTED, TARGET, UNITS
from quoting.units import UnitError, accepted, read, read_money, shortened, show, spoken, spoken_plain
from quoting.words import words

INCH = 0.0254  # m, exact: international inch

LENGTHS = {
    "48 in": 48, ".187 in": 0.187, "3/16 in": 3 / 16, "1 3/16 in": 1.1875, "1-3/16 in": 1.1875, "4 ft 6 in": 54,
    "4'-6 1/2\"": 54.5, "4' 6\"": 54, "4 ft 6-1/2 in": 54.5, "12'": 144, "4’-6½”": 54.5, "1½ in": 1.5, '½"': 0.5,
    "12 IN": 12, "2 Feet": 24, "7/8 inch": 0.875, "250 mil": 0.25, "187 thou": 0.187, "  48   in ": 48, '48"': 48,
    "1219.2 mm": 48, "121.92 cm": 48, "1.2192 m": 48, "4750 um": 4.75 / 25.4, "4750 µm": 4.75 / 25.4,
}  # fmt: skip


@pytest.mark.parametrize(("text", "inches"), LENGTHS.items())
def test_usual_ways_to_write_a_length_are_read(text, inches):
    assert read(text, "length") == pytest.approx(inches * INCH, rel=1e-15)


REFUSED_LENGTHS = [
    "5", "", " ", "in", "12,5 mm", "1,234 in", "1 000 in", "1_000 in", "nan in", "inf in", "Infinity in", "1e308 in",
    "1e3 in", "0x12 in", "-3 in", "+3 in", "3 in 4", "3 in 4 ft", "48 x 96 in", "1/0 in", "1 5/4 in", "1 3/0 in",
    "4 ft 12 in", "4 ft 6", "4'-6", "１２ in", "٤ in", "3 Mm", "3 ga", "3 km", "5 C", "12 psi", "9**9**9", "9^9^7",
    "__import__('os') in", "48 in\x00", "48. in", "1..2 in", "1/2/3 in", "1 in/in", "((((1 in", "12 in in", "1/2 1 in",
]  # fmt: skip


@pytest.mark.parametrize("text", REFUSED_LENGTHS)
def test_anything_else_is_refused_as_a_length_with_an_accepted_form(text):
    with pytest.raises(UnitError) as refusal:
        read(text, "length")
    assert "48 in" in refusal.value.accepted
    assert refusal.value.given in str(refusal.value)


@pytest.mark.parametrize("value", [None, True, 48, 4.8, float("nan"), [], {}, b"48 in", ("48", "in")])
def test_only_text_is_read(value):
    with pytest.raises(UnitError):
        read(value, "length")


def test_a_comma_is_answered_with_the_decimal_point_and_a_bare_number_with_the_unit():
    with pytest.raises(UnitError, match="decimal point"):
        read("12,5 mm", "length")
    with pytest.raises(UnitError, match="unit is missing"):
        read("48", "length")


OTHERS = [
    ("-20 degF", "temperature", 244.261111111), ("80 °C", "temperature", 353.15),
    ("180 F", "temperature", 355.372222222),
    ("300 K", "temperature", 300.0), ("6 delta_degC", "temperature_difference", 6.0),
    ("9 delta_degF", "temperature_difference", 5.0), ("2.2 GPa", "pressure", 2.2e9), ("1 bar", "pressure", 1e5),
    ("3 deg", "angle", 0.0523598775598), ("0.1 rad", "angle", 0.1), ("2 min", "time", 120.0), ("2 h", "hours", 2.0),
    ("90 min", "hours", 1.5), ("3 weeks", "weeks", 3.0), ("10 pcf", "pcf", 10.0), ("85 %", "share", 0.85),
    ("0.85", "share", 0.85), ("1", "share", 1.0), ("1 g/cm^3", "density", 1000.0),
    ("8 W/m^2/K", "film_coefficient", 8.0),
    ("0.18 W/m/K", "conductivity", 0.18), ("2.3 kJ/kg/K", "specific_heat", 2300.0), ("180 kJ/kg", "latent_heat", 1.8e5),
    ("0.00009 1/K", "expansion", 9e-5), ("90 um/m/K", "expansion", 9e-5), ("0.00005 1/degF", "expansion", 9e-5),
    ("2 1/mm", "extinction", 2000.0),
    ("2 kWh", "energy", 7.2e6), ("6 m/min", "speed", 0.1), ("8.5 ft2", "area", 8.5 * 0.3048**2),
    ("8.5 sq ft", "area", 8.5 * 0.3048**2), ("16 oz", "mass", 0.45359237), ("1 ft3", "volume", 0.3048**3),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "value"), OTHERS)
def test_each_kind_reads_its_own_units(text, kind, value):
    assert read(text, kind) == pytest.approx(value, rel=1e-10)


@pytest.mark.parametrize(
    ("text", "kind"),
    [("-1 K", "temperature"), ("-500 degF", "temperature"), ("85", "share"), ("-5 %", "share"), ("-1 s", "time"),
     ("45 delta_degC", "temperature"), ("3", "weeks"), ("3 degC", "angle")],
)  # fmt: skip
def test_what_makes_no_sense_for_its_kind_is_refused(text, kind):
    with pytest.raises(UnitError):
        read(text, kind)


def test_every_spelling_of_every_kind_is_read_as_written():
    for kind, units in UNITS.items():
        for spelling in (spelling for spellings in units.values() for spelling in spellings):
            assert read(f"1 {spelling}", kind) > 0, (kind, spelling)
    assert UNITS.keys() == TARGET.keys() == ACCEPTED.keys() - {"money"}
    assert all(accepted(kind) for kind in UNITS)


def test_the_same_length_in_inches_and_millimetres_is_the_same_float():
    for thousandths in range(1, 4000, 7):
        assert read(f"{thousandths / 1000:.3f} in", "length") == read(f"{thousandths * 0.0254:.4f} mm", "length")


@settings(derandomize=True, max_examples=300, database=None, deadline=None)
@given(st.integers(min_value=1, max_value=999))
def test_a_gauge_in_thousandths_comes_back_as_typed(thousandths):
    typed = f"{thousandths / 1000:.3f} in"
    assert show(read(typed, "length"), "m", "us") == typed


@settings(derandomize=True, max_examples=300, database=None, deadline=None)
@given(st.integers(min_value=240, max_value=3000))
def test_a_part_size_in_tenths_of_an_inch_comes_back_as_typed(tenths):
    typed = f"{tenths / 10:.1f} in"
    assert show(read(typed, "length"), "m", "us") == typed


@settings(derandomize=True, max_examples=500, database=None, deadline=None)
@given(st.text(max_size=60), st.sampled_from(sorted(UNITS)))
def test_no_text_does_more_than_be_read_or_be_refused(text, kind):
    try:
        assert read(text, kind) == pytest.approx(read(text, kind))
    except UnitError as refusal:
        assert len(str(refusal)) < 400


@pytest.mark.parametrize("text", ["9" * 10**6, "in" * 500_000, "(" * 10**6, " " * 10**6, "1 " * 500_000])
def test_a_million_characters_are_refused_at_once(text):
    start = time.perf_counter()
    with pytest.raises(UnitError) as refusal:
        read(text, "length")
    assert time.perf_counter() - start < 0.05
    assert len(refusal.value.given) < 120


def test_powers_are_refused_at_once():
    start = time.perf_counter()
    for text in ("9**9**9", "9999999**9999999 mm", "9^9^7"):
        with pytest.raises(UnitError):
            read(text, "length")
    assert time.perf_counter() - start < 0.05


@pytest.mark.parametrize("text", ["12.50", "0", "999999999.9999", "7"])
def test_money_is_digits_and_a_point(text):
    assert read_money(text) == Decimal(text)


@pytest.mark.parametrize(
    "text",
    ["-1", "+1", "1e3", "1e308", "NaN", "1,50", "1_000", "$5", "1.23456", ".5", "1.", "１２", "", None, 5, 5.0,
     "9" * 10, "9" * 10**6],
)  # fmt: skip
def test_other_money_is_refused(text):
    with pytest.raises(UnitError):
        read_money(text)


SHOWN = [
    (0.0047498, "m", "0.187 in (4.75 mm)"), (0.0127, "m", "0.500 in (12.70 mm)"), (0.3048, "m", "12.00 in (305 mm)"),
    (1.2192, "m", "48.0 in (1219 mm)"), (804672.0, "m", "500 miles (805 km)"),
    (0.09290304, "m2", "1.00 ft² (0.093 m²)"),
    (333.15, "K", "140 °F (60 °C)"), (5.0, "delta_K", "9.0 °F (5.0 °C)"), (413685.44, "Pa", "60.0 psi (414 kPa)"),
    (2.2e9, "Pa", "319 ksi (2200 MPa)"), (400340.0, "N", "45.0 tons (400 kN)"), (4.5359237, "kg", "10.0 lb (4.54 kg)"),
    (45.04, "s", "45.0 s"), (0.0523599, "rad", "3.0 deg"), (1.974, "-", "1.97"), (0.853, "share", "85 %"),
    (5000, "count", "5,000"), (20000, "count", "20,000"), (2.5, "h", "2.5 h"), (1, "weeks", "1 week"),
    (2.5, "weeks", "2.5 weeks"), (10.21, "pcf", "10.2 pcf"), (1.2e6, "J", "1200 kJ"), (1234.5, "$", "$1,234.50"),
    (-1e-12, "m", "0.000 in (0.00 mm)"), (3.0, "furlong", "3 furlong"), (float("inf"), "m", "no limit"),
    (float("nan"), "m", "unknown"), (-0.0254, "m", "-1.00 in (-25.4 mm)"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "text"), SHOWN)
def test_figures_are_written_for_both_readers(value, unit, text):
    assert show(value, unit, "both") == text


def test_one_system_shows_one_unit():
    assert (show(0.3048, "m"), show(0.3048, "m", "si")) == ("12.00 in", "305 mm")


def test_a_sentence_is_filled_and_unknown_names_stay():
    sentence = words("{measured} is over {limit}; {other}", measured=(0.3048, "m"), limit=(0.254, "m"))
    stored = {"text": sentence.text, "figures": [vars(figure) for figure in sentence.figures]}
    assert spoken(sentence, "us") == "12.00 in is over 10.00 in; {other}"
    assert spoken_plain(stored, "us") == spoken(sentence, "us")


def test_what_was_given_is_shown_short_and_printable():
    assert shortened("a\x07\ud800b") == '"a??b"'
    assert shortened(10**5000) == "a number of more than 60 digits"
    assert len(shortened("x" * 10**6)) < 100
    assert shortened({"a": 1}) == "an object"


def test_an_error_survives_pickling():
    error = UnitError('"5"', "a length")
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301 - our own bytes
