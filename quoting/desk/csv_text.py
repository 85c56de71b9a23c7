"""Tables as CSV text that a spreadsheet shows and never runs."""

import csv
import io
from collections.abc import Iterable

from quoting.cells import escaped


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV.

    >>> csv_text([("part", "price"), ("@cover", 12)])
    "part,price\\r\\n'@cover,12\\r\\n"
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerows([escaped(cell) for cell in row] for row in rows)
    return text.getvalue()
