"""What the import rules cannot see: clock, randomness, environment and files in pure code."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SHELL = {"models.py", "selectors.py", "admin.py", "apps.py"}
PURE_FILES = sorted(
    [
        path
        for folder in ("materials", "machines")
        for path in (ROOT / folder).rglob("*.py")
        if path.name not in SHELL and "migrations" not in path.parts
    ]
    + [path for folder in ("routing", "costing", "repricing") for path in (ROOT / "quoting" / folder).rglob("*.py")]
    + [
        ROOT / "quoting" / name
        for name in ("answer.py", "answering.py", "conversion.py", "qualifying.py", "catalog.py", "words.py")
    ]
)
# A bit generator that is given its seed gives the same every time: it is no chance.
IMPURE = re.compile(r"\bnow\(|\btoday\(|\brandom\b(?!\.PCG64\(seed\))|\benviron\b|\bopen\(|\bprint\(|float\(\s*rates\.")


@pytest.mark.parametrize("path", PURE_FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_pure_code_asks_neither_clock_nor_chance_nor_files(path):
    found = [
        line for line in path.read_text().splitlines() if IMPURE.search(line) and not line.lstrip().startswith("#")
    ]
    assert found == []


def test_the_top_level_holds_what_the_card_names():
    allowed = {
        "README.md", "DEVELOPERS.md", "manage.py", "requirements.txt", "pyproject.toml", "quoting", "machines",
        "materials", "templates", "fixtures", "tests",
    }  # fmt: skip
    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - {"__pycache__"} <= allowed


def test_every_file_that_writes_a_table_for_a_spreadsheet_escapes_its_cells():
    writes = re.compile(r"\bcsv\.writer\(|\bWorkbook\(|\bZipFile\(\w+, .w.|\bcsv\.DictWriter\(")
    writers = [path for path in (ROOT / "quoting").rglob("*.py") if writes.search(path.read_text())]
    assert len(writers) >= 5  # the record, rates, runs, the board, what desk pages export
    assert [path for path in writers if "escaped(" not in path.read_text()] == []
