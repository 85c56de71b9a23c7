"""The thirteen-step density scale, bound by bound."""

import pytest

from quoting.costing.freight import DENSITY_CLASSES_FROM, freight_class

# Steps from 30 lb/ft3 up: National Motor Freight Traffic Association, "NMFC Classification FAQs" (help.nmfta.org).
# Steps below 8: vmeasure.ai, page on the 2025 scale. Steps 8 to 30: as in the older eleven-step scale, which the FAQ
# names only from step 11 up as amended. All are taken over from excerpts noted in earlier research; the pages were not
# opened again for this test, so verify before relying on a class.
SCALE = (
    (0.01, "400"), (0.99, "400"),
    (1, "300"), (1.99, "300"), (2, "250"), (3.99, "250"), (4, "175"), (5.99, "175"), (6, "125"),
    (7.99, "125"), (8, "100"), (9.99, "100"), (10, "92.5"), (11.99, "92.5"), (12, "85"), (14.99, "85"), (15, "70"),
    (22.49, "70"), (22.5, "65"), (29.99, "65"), (30, "60"), (34.99, "60"), (35, "55"), (49.99, "55"), (50, "50"),
    (400, "50"),
)  # fmt: skip


@pytest.mark.parametrize(("density", "name"), SCALE)
def test_density_has_the_class_of_its_step_with_the_lower_bound_in_it(density, name):
    assert freight_class(density) == name


def test_denser_freight_never_has_a_higher_class():
    classes = [float(freight_class(tenth / 10)) for tenth in range(1, 600)]

    assert classes == sorted(classes, reverse=True)


def test_the_scale_holds_from_19_july_2025():
    # vmeasure.ai and cargotools.online, pages on the 2025 change.
    assert DENSITY_CLASSES_FROM.isoformat() == "2025-07-19"


@pytest.mark.parametrize("density", [0, -1, float("nan")])
def test_a_density_that_is_none_is_refused(density):
    with pytest.raises(ValueError, match="density must be above 0"):
        freight_class(density)
