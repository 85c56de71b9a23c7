"""Runs the work on a CAD file in a child process with limits, and believes nothing of it but finite numbers."""

import json
import os
import subprocess
import sys
from math import isfinite
from pathlib import Path
from typing import Any

PATIENCE = 150.0  # s of wall time for the child
CORE_SHARE = 0.8  # -, of the wall time
REPOSITORY = Path(__file__).resolve().parents[2]
LARGEST_ANSWER = 8 * 1024**2  # bytes
DEEPEST = 12  # levels of the answer


class ModelRefusedError(ValueError):
    """The file cannot be used; the text says why, in plain words. ``about``: the option that is wrong, if one is."""

    def __init__(self, text: str, about: str = ""):
        self.about = about
        super().__init__(text)


def model_report(path: Path, patience: float = PATIENCE, **options: Any) -> dict[str, Any]:
    """What the child finds out about the model at ``path``.

    Parameters
    ----------
    path : Path
        Of the file, checked already [-].
    patience : float
        Time on the clock after which the work is broken off [s]; it may take four fifths of it of one core.
    **options : object
        ``unit`` [m per file unit], ``body``, ``draw``, ``sizes``, ``tool``, ``hooks``, ``directory``, ``way``,
        ``size``, ``lengths`` as in ``quoting.geometry.job`` [-].

    Returns
    -------
    report : dict
        kind, unit_known, unit_stated, suggested_unit, scale, warnings, bodies, body, draw, tool, found, failed,
        pictures, meshes; lengths [m], areas [m2].

    Raises
    ------
    ModelRefusedError
        The file is no model that can be used, or the work on it broke off or took too long.
    """
    command = [sys.executable, "-m", "quoting.geometry.job", str(path), str(int(patience * CORE_SHARE))]
    environment = {"PATH": os.defpath, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONUTF8": "1"}
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter and module
            command, cwd=REPOSITORY, env=environment, input=json.dumps(options).encode(), capture_output=True,
            timeout=patience, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        raise ModelRefusedError(f"it took more than {patience:.0f} s to measure") from None
    if done.returncode != 0 or len(done.stdout) > LARGEST_ANSWER:
        raise ModelRefusedError("measuring it broke off, or took more time or memory than is allowed")
    return believed(done.stdout)


def believed(printed: bytes) -> dict[str, Any]:
    """What the child printed, where it is of the form that is expected.

    Raises
    ------
    ModelRefusedError
        It is not; or the child says itself why the file cannot be used.
    """
    try:
        found = json.loads(printed)
    except ValueError:
        raise ModelRefusedError("measuring it gave no result") from None
    if not isinstance(found, dict) or not is_plain(found):
        raise ModelRefusedError("measuring it gave no result that can be read")
    if "refused" in found:
        raise ModelRefusedError(str(found["refused"])[:300], str(found.get("about", "")))
    if not all(isinstance(found.get(key), dict) for key in ("found", "failed")):
        raise ModelRefusedError("measuring it gave no result that can be read")
    return found


def is_plain(value: Any, depth: int = 0) -> bool:
    """Whether a tree holds nothing but texts, finite numbers, truths and nothings, and is not endless."""
    if depth > DEEPEST:
        return False
    if isinstance(value, dict):
        return all(isinstance(key, str) and is_plain(one, depth + 1) for key, one in value.items())
    if isinstance(value, list):
        return all(is_plain(one, depth + 1) for one in value)
    return value is None or isinstance(value, str | bool | int) or (isinstance(value, float) and isfinite(value))
