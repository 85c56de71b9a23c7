"""Factors against the Guide for the Use of the International System of Units, NIST Special Publication 811.

Seen: the factors of its Appendix B.8 as the public R package NISTunits 1.0.1 prints them (file R/NISTfactors.R, which
names Appendix B.8 as its source), not the publication itself. Rounded factors are held to half of their last digit.
"""

import pytest

from quoting.units import read

# NIST SP 811, Appendix B.8, through NISTunits/R/NISTfactors.R
ROUNDED = [
    ("1 psi", "pressure", 6894.757, 0.0005),  # psi (pound-force per square inch) -> pascal
    ("1 lbf", "force", 4.448222, 0.0000005),  # pound-force -> newton
    ("1 ton", "force", 8896.443, 0.0005),  # ton-force (2000 lbf) -> newton
    ("1 oz", "mass", 0.02834952, 0.000000005),  # ounce (avoirdupois) -> kilogram
    ("2000 lb", "mass", 907.1847, 0.00005),  # ton, short (2000 lb) -> kilogram
    ("1 lb/ft^3", "density", 16.01846, 0.000005),  # pound per cubic foot -> kilogram per cubic meter
    ("1 lb/in^3", "density", 27679.90, 0.005),  # pound per cubic inch -> kilogram per cubic meter
]
EXACT = [
    ("1 mil", "length", 2.54e-05),  # mil (0.001 in) -> meter
    ("1 ft2", "area", 0.09290304),  # square foot -> square meter
    ("1 in2", "area", 0.00064516),  # square inch -> square meter
    ("1 bar", "pressure", 1e05),  # bar -> pascal
    ("1 kWh", "energy", 3.6e06),  # watt hour -> 3600 joule
]


@pytest.mark.parametrize(("text", "kind", "factor", "half_digit"), ROUNDED)
def test_rounded_factors_agree_to_their_last_digit(text, kind, factor, half_digit):
    assert read(text, kind) == pytest.approx(factor, rel=0, abs=half_digit * (1 + 1e-9))


@pytest.mark.parametrize(("text", "kind", "factor"), EXACT)
def test_exact_factors_agree_exactly(text, kind, factor):
    assert read(text, kind) == pytest.approx(factor, rel=1e-15)


# From memory of NIST SP 811, Appendix B.8, unverified: inch 2.54 E-02 m and foot 3.048 E-01 m, both exact,
# pound 4.535 924 E-01 kg, and T/K = (t/degF + 459.67)/1.8.
def test_inch_foot_pound_and_fahrenheit():
    assert read("1 in", "length") == 0.0254
    assert read("1 ft", "length") == 0.3048
    assert read("1 lb", "mass") == pytest.approx(0.4535924, abs=5e-8)
    for fahrenheit in (-40.0, 32.0, 350.0):
        assert read(f"{fahrenheit} degF", "temperature") == pytest.approx((fahrenheit + 459.67) / 1.8, rel=1e-15)
