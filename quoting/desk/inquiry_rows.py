"""Rows of a list of inquiries. Written by one function: a template takes each of its cells apart again for each row."""

from collections.abc import Iterable
from typing import NamedTuple

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from quoting.desk.labels import said
from quoting.desk.templatetags.desk import NOTHING, day, headline

ROW = """
    <tr><th scope="row" class="nowrap"><a href="{}">{}</a></th>
      <td><span class="state state-{}">{}</span></td>
      <td>{}</td><td class="wide">{}{}</td>
      <td>{}</td>
      {}<td class="nowrap">{}</td></tr>"""
REFERENCE = '<span class="d-block quiet small">{}</span>'
LOGGED_BY = "<td>{}</td>\n      "
UNANSWERED = mark_safe('<span class="quiet">no answer yet</span>')
ANY = "0"  # stands for the number in the address of the page of any inquiry


def rows_written(rows: Iterable[NamedTuple], *, target: str, show_rep: bool) -> SafeString:
    """The body of the table from ``selectors.listed``: each number leads to the page ``target``.

    Every text is escaped, whoever typed it.
    """
    front, _, end = reverse(target, args=[ANY]).rpartition(ANY)
    return format_html_join("", ROW, (_cells(row, front, end, show_rep) for row in rows))


def _cells(row: NamedTuple, front: str, end: str, show_rep: bool) -> tuple[object, ...]:
    part = row.typed__part__name if isinstance(row.typed__part__name, str) else ""  # what was typed may be anything
    return (
        f"{front}{row.number}{end}",  # a number is made of letters, digits and hyphens, as the route asks
        row.number,
        row.state,
        said(row.state),
        row.customer__company or NOTHING,
        part or NOTHING,
        format_html(REFERENCE, row.reference) if row.reference else "",
        headline(row.decision) if row.decision else UNANSWERED,
        _who(row) if show_rep else "",
        day(row.created_at),
    )


def _who(row: NamedTuple) -> SafeString:
    name = f"{row.created_by__first_name} {row.created_by__last_name}".strip()
    return format_html(LOGGED_BY, name or row.created_by__username)
