"""An older backup is restored after newer numbers went out to customers: none of them is given again."""

import json
import shutil
from pathlib import Path

from tests.quoting.operation.test_backup import manage, office, run  # noqa: F401 - a fixture

ISSUE = """
import django; django.setup()
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from quoting.quotes import models, services, stock
from quoting.quotes.reviewing import KEYS
stock.ensure_groups()
by = next(one for one in get_user_model().objects.all() if one.username.endswith("estimator"))
waiting = models.Inquiry.objects.filter(state=models.ANSWERED).first()
if waiting is None:  # a revision would keep its number
    waiting = services.inquiry_log(typed=models.Inquiry.objects.get(number="I-2026-0001").typed, by=by)
waiting = services.inquiry_answer(inquiry=waiting, on=services.today(), by=by)
print(services.quote_approve(inquiry=waiting, confirmed=KEYS, by=by).number)
"""
ADMINISTRATOR = """
import django; django.setup()
from django.contrib.auth import get_user_model
get_user_model().objects.create_superuser("the-administrator")
"""
LOST = """
import django; django.setup()
from quoting.quotes.models import AuditEntry
for one in AuditEntry.objects.filter(action="numbers_raise"):
    print(one.by.username, one.detail["first_lost"], one.detail["last_lost"])
"""


def issued(where: dict[str, str]) -> str:
    done = run(where, "-c", ISSUE)
    return done.stdout.strip() or done.stderr


def well(where: dict[str, str], *arguments: object) -> str:
    done = manage(where, *arguments)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_numbers_that_went_out_after_an_older_backup_are_never_given_again(office, tmp_path):  # noqa: F811
    run(office, "-c", ADMINISTRATOR)
    older = tmp_path / "older"
    well(office, "backup", older)
    assert issued(office) == "Q-2026-0003"
    file = Path(office["DATA_DIR"]) / "given_numbers.json"
    assert json.loads(file.read_text())["last"]["Q-2026"] == 3

    told = well(office, "restore", older, "--replace")

    assert "Q-2026-0003: went out after this backup" in told
    assert "manage.py numbers raise --by USER" in told
    assert json.loads(file.read_text())["last"]["Q-2026"] == 3  # the older mark in the backup lowers nothing
    assert "Q-2026-0003 went out already" in issued(office)
    refused = manage(office, "numbers", "raise", "--by", "first-estimator")
    assert refused.returncode == 1
    assert "Q-2026-0003: lost, recorded" in well(office, "numbers", "raise", "--by", "the-administrator")
    assert issued(office) == "Q-2026-0004"
    assert run(office, "-c", LOST).stdout.split() == ["the-administrator", "Q-2026-0003", "Q-2026-0003"]

    # the file is lost as well: the database that is replaced still tells what went out
    file.unlink()
    told = well(office, "restore", older, "--replace")
    assert "There was no" in told
    assert "Q-2026-0003 to Q-2026-0004: went out" in told
    assert "went out already" in issued(office)

    # everything is lost, and a younger backup's file tells what went out beside its database
    copied = tmp_path / "copied"
    shutil.copytree(older, copied)
    file.write_text("{")
    refused = manage(office, "restore", copied, "--replace")
    assert refused.returncode == 1
    assert "nothing was restored" in refused.stderr
