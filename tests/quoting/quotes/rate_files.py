"""Small rate tables as people would send them."""

import csv
import io

from openpyxl import Workbook

from quoting.intake.rate_tables import TABLES


def as_csv(table: str, *rows: tuple, mark: str = ",", headings: tuple[str, ...] | None = None) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=mark).writerows([headings or TABLES[table].headings, *rows])
    return out.getvalue().encode()


def as_xlsx(table: str, *rows: tuple) -> bytes:
    book, out = Workbook(), io.BytesIO()
    for row in (TABLES[table].headings, *rows):
        book.active.append(list(row))
    book.save(out)
    return out.getvalue()
