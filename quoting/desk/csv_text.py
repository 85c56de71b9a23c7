"""Tables as CSV text that a spreadsheet shows and never runs."""

import csv
import io
from collections.abc import Iterable

FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r")  # OWASP, "CSV Injection", from memory, unverified


def harmless(cell: object) -> str:
    """A cell as text; what a spreadsheet would take for a formula gets an apostrophe before it. Numbers stay numbers.

    >>> harmless("=1+1"), harmless("-7 parts"), harmless(-7), harmless(None)
    ("'=1+1", "'-7 parts", '-7', '')
    """
    if cell is None:
        return ""
    if not isinstance(cell, str):
        return str(cell)
    return f"'{cell}" if cell.startswith(FORMULA_BEGINS) else cell


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV.

    >>> csv_text([("part", "price"), ("@cover", 12)])
    "part,price\\r\\n'@cover,12\\r\\n"
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()
