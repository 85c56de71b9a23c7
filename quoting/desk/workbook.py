"""A plain workbook (XLSX) written as text: a library that makes an object of each cell takes ten times as long.

Texts are written into their cells as such, never as formulas, and escaped as in our other tables, since a workbook
may be saved as CSV. Parts and names are those of Office Open XML,
ECMA-376 part 1, SpreadsheetML; from memory, unverified, and read back by another program's reader in the tests.
"""

import io
import re
from collections.abc import Iterable, Sequence
from datetime import date
from xml.sax.saxutils import escape, quoteattr
from zipfile import ZIP_DEFLATED, ZipFile

from quoting.cells import escaped

Cell = str | float | date | None
EPOCH = date(1899, 12, 30).toordinal()  # day 0 of a workbook's dates from March 1900 on
LONGEST = 32_767  # characters of a cell
PLAIN, DAY, HEADING = 0, 1, 2  # places in the styles below
FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")  # what XML cannot hold
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
STYLES = (
    f'{HEAD}<styleSheet xmlns="{MAIN}">'
    '<numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd"/></numFmts>'
    '<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
    '<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>'
    '</fills><borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="3">'
    '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    '<xf numFmtId="164" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
    '<xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
    "</styleSheet>"
)


def workbook(sheets: dict[str, tuple[Sequence[str], Iterable[Sequence[Cell]]]]) -> bytes:
    """Sheets by title, each with bold headings that stay in view, rows of texts, finite numbers, days or nothing."""
    out, numbers = io.BytesIO(), range(1, len(sheets) + 1)
    with ZipFile(out, "w", ZIP_DEFLATED, compresslevel=1) as parts:  # a third larger than the usual, in half the time
        parts.writestr("[Content_Types].xml", _content_types(numbers))
        parts.writestr("_rels/.rels", _relations([("officeDocument", "xl/workbook.xml")]))
        listed = "".join(
            f'<sheet name={quoteattr(title)} sheetId="{number}" r:id="rId{number}"/>'
            for number, title in zip(numbers, sheets, strict=True)
        )
        parts.writestr("xl/workbook.xml", f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{listed}</sheets>'
                                          "</workbook>")  # fmt: skip
        related = [("worksheet", f"worksheets/sheet{number}.xml") for number in numbers]
        parts.writestr("xl/_rels/workbook.xml.rels", _relations([*related, ("styles", "styles.xml")]))
        parts.writestr("xl/styles.xml", STYLES)
        for number, (headings, rows) in zip(numbers, sheets.values(), strict=True):
            parts.writestr(f"xl/worksheets/sheet{number}.xml", _sheet(headings, rows))
    return out.getvalue()


def _content_types(numbers: Iterable[int]) -> str:
    parts = [("workbook", "sheet.main"), ("styles", "styles")]
    parts += [(f"worksheets/sheet{number}", "worksheet") for number in numbers]
    named = "".join(f'<Override PartName="/xl/{name}.xml" ContentType="{TYPES}.{kind}+xml"/>' for name, kind in parts)
    return (
        f'{HEAD}<Types xmlns="{PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="xml" ContentType="application/xml"/>{named}</Types>'
    )


def _relations(targets: list[tuple[str, str]]) -> str:
    listed = "".join(
        f'<Relationship Id="rId{number}" Type="{OFFICE}/{kind}" Target="{target}"/>'
        for number, (kind, target) in enumerate(targets, 1)
    )
    return f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships">{listed}</Relationships>'


def _sheet(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    widths = "".join(
        f'<col min="{number}" max="{number}" width="{max(12, len(heading) + 3)}" customWidth="1"/>'
        for number, heading in enumerate(headings, 1)
    )
    columns = [chr(ord("A") + number) for number in range(len(headings))]
    lines = [_row(1, columns, headings, HEADING)]
    lines += [_row(number, columns, row, PLAIN) for number, row in enumerate(rows, 2)]
    return (
        f'{HEAD}<worksheet xmlns="{MAIN}"><sheetViews><sheetView workbookViewId="0">'
        '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews>'
        f"<cols>{widths}</cols><sheetData>{''.join(lines)}</sheetData></worksheet>"
    )


def _row(number: int, columns: Sequence[str], cells: Sequence[Cell], style: int) -> str:
    told = "".join(
        _cell(f"{column}{number}", cell, style)
        for column, cell in zip(columns, cells, strict=True)
        if cell not in (None, "")
    )
    return f'<row r="{number}">{told}</row>'


def _cell(place: str, value: str | float | date, style: int) -> str:
    if isinstance(value, str):
        text = escape(
            FORBIDDEN.sub("?", str(escaped(value))[:LONGEST])
        )  # a question mark shows where a control character was
        return f'<c r="{place}" s="{style}" t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'
    if isinstance(value, date):
        return f'<c r="{place}" s="{DAY}"><v>{value.toordinal() - EPOCH}</v></c>'
    return f'<c r="{place}"><v>{value}</v></c>'
