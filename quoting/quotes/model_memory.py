"""What was found out about models, remembered beside them: the work on one takes seconds, an answer is asked for often.

A memory and nothing more: whatever is missing, broken or from other code is worked out again.
"""

import json
import logging
import os
import secrets
import threading
import time
from collections.abc import Callable
from functools import cache
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any

from django.conf import settings

from quoting.contract import canonical
from quoting.intake.model_job import LARGEST_ANSWER, REPOSITORY, ModelRefusedError, is_plain, model_report

log = logging.getLogger(__name__)
MOST_REMEMBERED = 500  # results; each has some 10 to 200 kB
A_MOMENT = 1.5  # s that a request waits for a model; most are measured in it
REFUSAL_STANDS = 600.0  # s in which a request is told the same again; later it is tried anew, the machine may be calmer
MOST_AT_ONCE = 2  # models measured beside the requests of one process
_under_way: dict[Path, threading.Thread] = {}
_one_looks = threading.Lock()


def memory_folder() -> Path:
    """Where results lie; nothing in it is ever served."""
    folder = Path(settings.MEDIA_ROOT) / "measured"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class NotMeasuredError(Exception):
    """Nobody asked this of the model before: finding it out takes seconds."""


def only_remembered(path: Path, **options: Any) -> dict[str, Any]:
    """What ``remembered`` finds where no work is needed for it; for a request, which must not wait for a model.

    Raises
    ------
    NotMeasuredError
        The work has not been done yet.
    """
    return remembered(path, work=_not_now, **options)


def _not_now(path: Path, **options: Any) -> dict[str, Any]:
    raise NotMeasuredError


def remembered(path: Path, *, work: Callable[..., dict[str, Any]] = model_report, **options: Any) -> dict[str, Any]:
    """What ``model_report`` finds, from memory where the same was asked of the same content before.

    Parameters
    ----------
    path : Path
        Of the file, checked already [-].
    work : callable
        Does the work where nothing is remembered [-].
    **options : object
        As of ``model_report``, without a directory for pictures [-].

    Returns
    -------
    report : dict
        [SI]

    Raises
    ------
    ModelRefusedError
        As ``model_report``; it is tried again each time, since a busy machine may be the cause.
    """
    kept = _place(path, options)
    known = _known(kept)
    if known is None:
        known = work(path, **options)
        _keep(kept, known)
    return known


def remembered_soon(path: Path, **options: Any) -> dict[str, Any]:
    """What ``remembered`` finds, for a request that waits no longer than a moment; the work goes on beside it.

    Raises
    ------
    NotMeasuredError
        It takes longer; asked again later, it is remembered.
    ModelRefusedError
        As ``model_report``, now or a short while ago.
    """
    kept = _place(path, options)
    for left in (1, 0):
        if (known := _known(kept)) is not None:
            return known
        _tell_refusal(kept)
        if left and (work := _work_on(kept, path, options)):
            work.join(A_MOMENT)
    raise NotMeasuredError


def _work_on(kept: Path, path: Path, options: dict[str, Any]) -> threading.Thread | None:
    """Who works on it already or from now on; None where too much is under way."""
    with _one_looks:
        work = _under_way.get(kept)
        if work is None and len(_under_way) < MOST_AT_ONCE:
            work = _under_way[kept] = threading.Thread(target=_measure, args=(kept, path, options), daemon=True)
            work.start()
    return work


def _measure(kept: Path, path: Path, options: dict[str, Any]) -> None:
    try:
        remembered(path, work=model_report, **options)
    except ModelRefusedError as refused:
        _keep(_refusal(kept), {"refused": str(refused), "about": refused.about})
    except OSError as failed:
        log.exception("the work on a model could not be done")
        _keep(_refusal(kept), {"refused": f"the work on it could not be done: {failed.strerror}", "about": ""})
    finally:
        with _one_looks:
            del _under_way[kept]


def _refusal(kept: Path) -> Path:
    return kept.with_suffix(".refused")


def _tell_refusal(kept: Path) -> None:
    if time.time() - _age(_refusal(kept)) < REFUSAL_STANDS and (told := _known(_refusal(kept), used=False)):
        raise ModelRefusedError(str(told["refused"]), str(told["about"]))


def _place(path: Path, options: dict[str, Any]) -> Path:
    """The file in which the answer to just this question about just this content lies, if it was asked before."""
    with path.open("rb") as file:
        content = file_digest(file, "sha256").hexdigest()
    asked = f"{content} {canonical(options)} {_code()}"
    return memory_folder() / f"{sha256(asked.encode()).hexdigest()}.json"


def _known(kept: Path, *, used: bool = True) -> dict[str, Any] | None:
    try:
        if kept.is_symlink() or kept.stat().st_size > LARGEST_ANSWER:
            return None
        found = json.loads(kept.read_bytes())
        if used:
            os.utime(kept)
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) and is_plain(found) else None


def _keep(kept: Path, found: dict[str, Any]) -> None:
    """Written beside and put in place at once, so that nobody reads half of it; the longest unused are let go.

    Where there is no room it is not remembered, which costs time and nothing else.
    """
    half = kept.with_name(f"{secrets.token_hex(8)}.half")
    try:
        half.write_text(json.dumps(found), encoding="utf-8")
        half.replace(kept)
    except OSError:
        log.warning("what was found out about a model could not be remembered", exc_info=True)
        half.unlink(missing_ok=True)
    ages = sorted(((_age(one), one) for one in kept.parent.iterdir()), reverse=True)
    for _, old in ages[MOST_REMEMBERED:]:
        old.unlink(missing_ok=True)


def _age(file: Path) -> float:
    """When it was last used [s since the epoch]; 0 for one that somebody else just let go."""
    try:
        return file.stat().st_mtime
    except OSError:
        return 0.0


@cache
def _code() -> str:
    """Fingerprint of the code that does the work: what other code found out is not believed."""
    found = sha256()
    for file in sorted((REPOSITORY / "quoting" / "geometry").rglob("*.py")):
        found.update(file.read_bytes())
    return found.hexdigest()
