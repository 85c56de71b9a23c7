"""Backup and restore: database and media together, with a manifest, and every issued document verified."""

import shutil
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from quoting.operation import carrying, database_copy, manifest
from quoting.quotes import given_numbers
from quoting.quotes.models import AuditSeal, Counter
from quoting.quotes.records import now
from quoting.quotes.sealing import seal_state, seals_make
from quoting.quotes.seals_verifying import seals_checked

MEDIA, NUMBERS = "media", "given_numbers.json"
Say = Callable[[str], object]


def backup(target: Path, say: Say) -> None:
    """Write a new folder with the database, the media and the manifest. The media are copied after the database, so
    that every file that a row names is among them; files are never changed under their name."""
    if target.exists() and any(target.iterdir()):
        raise CommandError(f"{target} is not empty; name a new folder for each backup")
    target.mkdir(parents=True, exist_ok=True)
    target.chmod(0o700)
    before = verified(say)
    seal = sealed(say)
    database_copy.dump(target)
    if Path(settings.MEDIA_ROOT).exists():
        shutil.copytree(settings.MEDIA_ROOT, target / MEDIA, ignore=shutil.ignore_patterns("*.lock"))
    if given_numbers.file().exists():
        shutil.copyfile(given_numbers.file(), target / NUMBERS)
    content = {
        "made_at": now().isoformat(),
        "database": connection.vendor,
        "migrations": sorted(map(list, MigrationRecorder(connection).applied_migrations())),
        "issued": [[one.name, one.kept, one.pdf_kept] for one in before],
        "seal": seal,
    }
    manifest.write(target, content)
    say(f"Backup of {len(before)} issued documents in {target}")


def verified(say: Say) -> list[manifest.Issued]:
    """Every issued document of the present database; CommandError where one is no longer what was issued."""
    found = list(manifest.issued())
    broken = [one.name for one in found if not one.is_intact]
    if broken:
        raise CommandError(f"no longer as issued: {', '.join(broken)}")
    return found


def sealed(say: Say) -> str:
    """Seal the record of deeds as far as it is final; the digest of the newest seal, empty where there is none yet."""
    if not holds_seals():
        return ""
    seals_make()
    state = seal_state()
    if state.unsealed:
        say(f"{state.unsealed} entries of the record are not sealed yet: they are being written just now")
    return state.newest.digest if state.newest else ""


def holds_seals() -> bool:
    """Whether this database is of a release that seals; one is also made just before the upgrade to it."""
    return AuditSeal._meta.db_table in connection.introspection.table_names()


def restore(source: Path, say: Say, *, replace: bool) -> None:
    """Put a backup in the place of an empty database and media folder, or of any where told so; then verify it."""
    told = manifest.checked(source)
    media = Path(settings.MEDIA_ROOT)
    if not replace and not (database_copy.is_empty() and not (media.exists() and any(media.iterdir()))):
        raise CommandError("the database or the media folder is not empty; --replace puts the backup in their place")
    is_carried = database_copy.is_carried(source)
    if is_carried:
        carrying.require_same_release(told)
    numbers_kept(source, say)
    if is_carried:
        database_copy.clear()
        carrying.carry(source / database_copy.FILES["sqlite"], say)
    else:
        database_copy.load(source)
    if media.exists():
        shutil.rmtree(media)
    if (source / MEDIA).exists():
        shutil.copytree(source / MEDIA, media)
    compare(told, say)
    numbers_compared(told, say)


def numbers_kept(source: Path, say: Say) -> None:
    """Before anything is replaced, what was given out so far is written down outside: from the file that is here, from
    the database that goes, and from the backup. Neither of them lowers it."""
    had_file = given_numbers.file().exists()
    try:
        if Counter._meta.db_table in connection.introspection.table_names():
            given_numbers.keep_up()
        given_numbers.raise_to(given_numbers.read(source / NUMBERS))
    except OSError as refused:
        raise CommandError(
            f"nothing was restored, since it is not known which numbers went out: {refused}. Put a good copy in its "
            "place, or move it away"
        ) from refused
    if not had_file:
        say(f"There was no {given_numbers.file()}: numbers given out elsewhere since the backup are not known here.")


def numbers_compared(told: dict, say: Say) -> None:
    """Say which numbers went out that the restored database does not know; until they are settled it gives none."""
    behind = given_numbers.behind()
    given_numbers.keep_up()
    for one in behind:
        say(f"{one}: went out after this backup of {told['made_at']} and is not in it.")
    if behind:
        say("No number of these series is given until an administrator runs: manage.py numbers raise --by USER")


def compare(told: dict, say: Say) -> None:
    """Print each issued document with its digests, and refuse to call it well where one differs or is missing.

    The database is copied after its documents were listed and the app may run meanwhile: what it issued in between is
    there besides, and is held against its own digests.
    """
    found = {one.name: one for one in manifest.issued()}
    between = sorted(found.keys() - {name for name, _, _ in told["issued"]})
    wrong = [name for name in between if not found[name].is_intact]
    say(f"{'issued document':<28} {'answer':<14} {'PDF':<14} verified")
    for name, kept, pdf_kept in told["issued"]:
        one = found.get(name)
        is_same = one is not None and one.is_intact and (one.kept, one.pdf_kept) == (kept, pdf_kept)
        say(f"{name:<28} {kept[:12]:<14} {pdf_kept[:12]:<14} {'equal' if is_same else 'DIFFERENT'}")
        if not is_same:
            wrong.append(name)
    for name in between:
        say(f"{name:<28} {found[name].kept[:12]:<14} {found[name].pdf_kept[:12]:<14} issued while the backup was made")
    if wrong:
        raise CommandError(f"not as in the backup: {', '.join(wrong)}")
    say(f"All {len(found)} issued documents are as they were, computed anew from their content.")
    if not holds_seals():
        say("This backup is older than the seals upon the record of deeds; migrate, then audit seal begins them.")
        return
    record = seals_checked(noted=told.get("seal", ""))
    say(record.told())
    if not record.good:
        raise CommandError("the record of deeds is not what was sealed")
