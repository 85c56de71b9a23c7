"""The route page with its charts, in a real browser at the widths of a desk and of a telephone."""

import pytest
from django.urls import reverse

from quoting.contract import to_plain
from tests.quoting.documents.study_sample import study

from .conftest import overflow

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("width", [1280, 375, 320])
def test_the_charts_fit_their_page_and_their_type_can_be_read(browse, answered, width):
    answered.snapshot = answered.snapshot | {"study": to_plain(study(20.0))}
    answered.save()
    page = browse("estimator", width=width)
    page.goto(reverse("work", args=[answered.number]))

    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    sizes = page.evaluate(
        "[...document.querySelectorAll('.chart text')].map(one =>"
        " parseFloat(getComputedStyle(one).fontSize) * one.ownerSVGElement.getBoundingClientRect().width"
        " / one.ownerSVGElement.viewBox.baseVal.width)"
    )

    assert overflow(page) == 0
    # five of the study; the price curve, a waterfall for each of three releases, the pallet, the range of error,
    # the steps of the lead time of each release
    assert page.locator(".chart").count() == 14
    assert min(sizes) >= 8  # pixels, on the narrowest telephone that is still in use
