"""Forces on the press."""

import pytest

from machines.press import PSI, force, force_on_lock, forming_pressure
from materials.sheet import INCH

US_TON = 2000 * 4.4482216152605  # N, exact


def test_fifty_psi_on_sixty_by_seventy_two_inches_is_a_hundred_and_eight_tons():
    # 60 x 72 x 50 = 216,000 lbf, by hand
    assert force(50 * PSI, 60 * INCH * 72 * INCH) / US_TON == pytest.approx(108.0)


def test_a_hundred_psi_on_a_box_of_1200_by_900_mm():
    # 689.476 kPa x 1.08 m2 = 744.634 kN, by hand
    assert force(100 * PSI, 1.2 * 0.9) == pytest.approx(744_634, abs=1)


def test_texture_takes_twice_the_air():
    assert forming_pressure("pressure", 85e3, has_texture=True) == pytest.approx(120 * PSI)
    assert forming_pressure("pressure", 85e3, has_texture=False) == pytest.approx(60 * PSI)
    assert forming_pressure("vacuum", 85e3, has_texture=True) == 85e3
    assert forming_pressure("twin_sheet", 85e3, has_texture=False) == 85e3


def test_a_vacuum_does_not_open_the_platens():
    assert force_on_lock("vacuum", 85e3, 1.0) == 0.0
    assert force_on_lock("twin_sheet", 85e3, 1.0) == 85e3
