"""Filters that write values in the reader's words: both unit systems, money, dates, sentences with figures."""

from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from django import template

from quoting import units
from quoting.desk import labels, navigation, present
from quoting.desk.form_fields import LABELS
from quoting.documents.labels import GOVERNS, STRENGTHS
from quoting.quotes import policies

register = template.Library()

NOTHING = "–"


@register.filter
def quantity(value: float | None, unit: str) -> str:
    """A value in both unit systems: '12.00 in (305 mm)'. Nothing known is a dash."""
    return NOTHING if value is None else units.show(float(value), unit, "both")


@register.filter
def quantity_us(value: float | None, unit: str) -> str:
    """A value in inches, pounds and degrees Fahrenheit alone, for dense tables."""
    return NOTHING if value is None else units.show(float(value), unit, "us")


@register.filter
def governs(code: str) -> str:
    """What keeps a heating recipe from being faster."""
    return GOVERNS.get(code, code)


@register.filter
def spoken(words: dict | str | None) -> str:
    """A stored sentence with its figures filled in; a plain text stays as it is."""
    if not words:
        return ""
    return units.spoken_plain(words, "both") if isinstance(words, dict) else str(words)


@register.filter
def money(value: Any, digits: int = 2) -> str:
    """Dollars with thousands marks and at least two decimals: '$1,234.50'."""
    if value is None or value == "":
        return NOTHING
    return f"${Decimal(str(value)):,.{digits}f}"


@register.filter
def input_value(one: str | None, unit: str) -> str:
    """One input of a cost line: money and rates in dollars, shares in percent, the rest with its unit."""
    if one is None:
        return NOTHING
    try:
        number = Decimal(one)
    except InvalidOperation:
        return one
    if unit.startswith("$"):
        shown = f"${number:,.4f}".rstrip("0")
        whole, _, cents = shown.partition(".")
        return f"{whole}.{cents.ljust(2, '0')}{unit[1:]}"
    if unit in ("-", "people", "h"):
        shown = f"{number:,.4f}".rstrip("0").rstrip(".")
        return shown if unit == "-" else f"{shown} {unit}"
    return units.show(float(number), unit, "both")


@register.filter
def day(value: Any) -> str:
    """A date that cannot be misread: '25 Nov 2026'."""
    if not value:
        return NOTHING
    if isinstance(value, str):
        value = date.fromisoformat(value[:10])
    return f"{value.day} {value:%b %Y}"


@register.filter
def moment(value: datetime | None) -> str:
    """A date with the time and its zone: '25 Nov 2026, 14:05 UTC'."""
    return f"{day(value)}, {value:%H:%M} UTC" if value else NOTHING


@register.filter
def said(code: str | None) -> str:
    """A stored code in plain words."""
    return labels.said(code) if code else NOTHING


@register.filter
def strength(process: str) -> str:
    """What another process does well, as the letter says it."""
    return STRENGTHS.get(process, "")


@register.filter
def field_label(field: str) -> str:
    """The form's word for a field of the inquiry."""
    return LABELS.get(field, labels.said(field.rpartition(".")[2]))


@register.filter
def item(mapping: dict, key: Any) -> Any:
    return mapping.get(key)


@register.filter
def begun(names: list[str], most: int) -> list[str]:
    """The first of many names, more of them than so many characters show: the rest is cut off and need not be joined.

    >>> begun(["abc", "de", "f"], 4)
    ['abc', 'de']
    """
    length = 0
    for place, name in enumerate(names):
        length += len(str(name))
        if length > most:
            return names[: place + 1]
    return names


@register.filter
def percent(value: float | None, digits: int = 0) -> str:
    return NOTHING if value is None else f"{float(value):.{digits}f} %"


@register.filter
def share(value: float | None, digits: int = 0) -> str:
    """A fraction in percent."""
    return NOTHING if value is None else f"{100 * float(value):.{digits}f} %"


@register.filter
def number(value: float | None, digits: int = 1) -> str:
    return NOTHING if value is None else f"{float(value):,.{digits}f}"


MARKS = {
    "fits": ("●", "fits"),
    "fits_if": ("◆", "if"),
    "fails": ("✕", "no"),
    "not_assessed": ("?", "open"),
}


@register.filter
def mark(status: str) -> str:
    """The shape of a verdict."""
    return MARKS.get(status, ("", ""))[0]


@register.filter
def mark_word(status: str) -> str:
    """The word of a verdict, so that neither shape nor colour stands alone."""
    return MARKS.get(status, ("", status))[1]


VERDICT_WORDS = {"fits": "fits", "fits_if": "fits, if", "fails": "fails", "not_assessed": "not assessed"}


@register.filter
def verdict_word(status: str) -> str:
    return VERDICT_WORDS.get(status, status)


@register.filter
def headline(decision: str) -> str:
    return present.DECISIONS.get(decision, "Could not be read")


@register.filter
def load_word(word: str) -> str:
    return labels.LOAD_WORDS[word]


@register.filter
def day_short(value: date) -> str:
    """Day and month alone, where the year stands near."""
    return f"{value.day} {value:%b}"


@register.filter
def plain_money(value: Any, digits: int = 2) -> str:
    """Dollars without the sign, for columns headed in dollars."""
    return money(value, digits).replace("$", "")


@register.filter
def plain_value(value: Any) -> str:
    """A value of an inquiry as text: lists with commas, yes and no, nothing as a dash."""
    if value is None or value == "":
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(plain_value(one) for one in value)
    if isinstance(value, dict):
        return " ".join(plain_value(one) for one in value.values())
    return labels.said(value) if isinstance(value, str) else str(value)


@register.simple_tag(takes_context=True)
def main_links(context: dict) -> list[dict]:
    """The pages that this person's role may open."""
    request = context.get("request")
    return navigation.links(request.user, request.path) if request else []


@register.simple_tag(takes_context=True)
def role_words(context: dict) -> str:
    """The role beside the name."""
    request = context.get("request")
    return ", ".join(sorted(policies.roles(request.user))) if request else ""
