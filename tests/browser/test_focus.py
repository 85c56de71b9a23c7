"""Whoever goes by keyboard sees where they are: each control has an outline of its own while it holds the focus."""

import pytest
from django.urls import reverse

HOLDER = """() => {
    const one = document.activeElement;
    if (!one || one === document.body) return null;
    const looks = getComputedStyle(one);
    const field = one.matches('.form-control, .form-select, .form-check-input');
    return {what: (one.textContent || one.name || '').trim().slice(0, 40), field: field,
            outlined: looks.outlineStyle !== 'none' && parseFloat(looks.outlineWidth) >= 2,
            ringed: looks.boxShadow !== 'none'};
}"""
STEPS = 45


@pytest.mark.parametrize("route", ["review", "work", "inquiry-log"])
def test_every_control_that_holds_the_focus_shows_it(browse, answered, route):
    page = browse("estimator")
    page.goto(reverse(route, args=[answered.number] if route == "work" else []))
    unseen, met = set(), 0
    for _ in range(STEPS):
        page.keyboard.press("Tab")
        holder = page.evaluate(HOLDER)
        met += holder is not None
        if holder and not holder["outlined"] and not (holder["field"] and holder["ringed"]):
            unseen.add(holder["what"])
    assert met > 10
    assert unseen == set()
