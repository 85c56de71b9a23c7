"""Cells of the board as markup: an opened board has thousands, and the template language takes ten times as long."""

from collections.abc import Iterable

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def load_cells(cells: Iterable[dict]) -> SafeString:
    """A row's cells as ``board_rows.cell`` tells them: load, word and hours, leading to its address if any."""
    return mark_safe("".join(map(_cell, cells)))  # noqa: S308 - figures and words of our own; the address is escaped


def _cell(cell: dict) -> str:
    said = f' <span class="load-said">{cell["said"]}</span>' if cell["said"] else ""
    lines = "".join(
        f'<span class="d-block small">{cell[name]}</span>' for name in ("taken", "of", "found") if cell[name]
    )
    text = f'<span class="percent">{cell["percent"]}</span>{said}{lines}'
    if cell["address"]:
        text = f'<a href="{escape(cell["address"])}">{text}</a>'
    return f'<td class="load-{cell["word"]}">{text}</td>'
