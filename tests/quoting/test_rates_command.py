"""Rates from the command line: out to a file, looked through, and in."""

import pytest
from django.core.management import CommandError, call_command

from quoting.quotes import services
from quoting.quotes.models import RateImport, RateRow
from tests.quoting.quotes.rate_files import as_csv

THEN = "2026-12-15"


@pytest.fixture
def house(db):
    services.catalog_ensure()


def command(*words):
    call_command("rates", *words)


def kept(folder, *rows):
    path = folder / "new.csv"
    path.write_bytes(as_csv("overhead", *rows))
    return str(path)


def test_without_apply_it_says_what_would_change_and_changes_nothing(house, tmp_path, capsys):
    path = kept(tmp_path, ("price.overhead", "13 %", THEN, ""))

    command("import", path, "--table", "overhead")

    out = capsys.readouterr().out
    assert f"changed from {THEN}: price.overhead, Value: 12 % -> 13 % +8.3 %" in out
    assert "0 added, 1 changed, 0 corrected, 0 unchanged, 0 wrong" in out
    assert not RateImport.objects.exists()

    command("import", path, "--table", "overhead", "--apply")

    assert RateImport.objects.get().by is None
    assert RateRow.objects.get(key="price.overhead", valid_from=THEN).value == "13 %"


def test_wrong_rows_end_with_status_2_and_nothing_is_imported(house, tmp_path, capsys):
    path = kept(tmp_path, ("price.overhead", "13 %", THEN, ""), ("price.margin", "25", THEN, ""))
    for words in ((), ("--apply",), ("--good-only",)):
        with pytest.raises(SystemExit) as ended:
            command("import", path, "--table", "overhead", *words)
        assert ended.value.code == 2
    assert 'row 3, Value: got "25"; accepted is a share' in capsys.readouterr().err
    assert not RateImport.objects.exists()

    command("import", path, "--table", "overhead", "--apply", "--good-only")

    assert RateImport.objects.get().counts["changed"] == 1


def test_a_file_that_is_no_table_ends_with_status_2(house, tmp_path, capsys):
    path = tmp_path / "bad.xlsx"
    path.write_bytes(b"PK\x03\x04")
    with pytest.raises(SystemExit) as ended:
        command("import", str(path), "--table", "resin")
    assert ended.value.code == 2
    assert "file: got an archive that cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_is_exported_is_taken_back_without_a_change(house, tmp_path, capsys, form):
    path = str(tmp_path / f"labour.{form}")
    command("export", "--table", "labour", "--on", THEN, "--to", path)
    command("import", path, "--table", "labour")
    assert "0 added, 0 changed, 0 corrected, 26 unchanged, 0 wrong" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("export", "--table", "labour", "--to", "x.pdf"), "ending in .csv or .xlsx"),
        (("import", "/no/such/file.csv", "--table", "labour"), "No such file"),
        (("import", "x.csv", "--table", "wages"), "invalid choice"),
    ],
)
def test_a_wrong_word_is_told(house, words, said):
    with pytest.raises(CommandError, match=said):
        command(*words)


def test_an_unknown_or_unallowed_person_is_refused(house, tmp_path, django_user_model):
    path = kept(tmp_path, ("price.overhead", "13 %", THEN, ""))
    django_user_model.objects.create_user("clerk")
    for name, said in (("nobody", "accepted is a user name"), ("clerk", "Only the manager")):
        with pytest.raises(CommandError, match=said):
            command("import", path, "--table", "overhead", "--apply", "--by", name)
    assert not RateImport.objects.exists()
