"""A CAD file to clean bodies in metres. The one module of this room that opens a file; it may be hostile."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import numpy as np

from quoting.geometry.files import file_units, obj, stl
from quoting.geometry.files.bodies import LARGEST_FILE, Bodies, Pieces, UnreadableError
from quoting.geometry.files.kinds import kind_of
from quoting.geometry.files.repair import Body, separated
from quoting.geometry.surface import Surface

__all__ = ["Bodies", "UnreadableError", "kind_of", "read_bodies"]

SMALLEST_UNIT, LARGEST_UNIT = 1e-6, 1e3  # m per file unit


def read_bodies(path: Path, unit: float | None = None) -> Bodies:
    """The bodies of a STEP, STL, OBJ or 3MF file in metres.

    Parameters
    ----------
    path : Path
        The file; its name says nothing about its kind [-].
    unit : float or None
        Metres per file unit [m, 1e-6 to 1e3] where somebody confirmed it; it goes before what the file says.

    Returns
    -------
    bodies : Bodies
        Surfaces [m], and in plain words what was odd.

    Raises
    ------
    UnreadableError
        It is not a model that can be used; the text says why.
    """
    if unit is not None and not SMALLEST_UNIT <= unit <= LARGEST_UNIT:
        raise UnreadableError("the unit given is no length that a file is drawn in")
    data = _contents(Path(path))
    kind = kind_of(data)
    pieces = _readers()[kind](data)
    bodies, found = separated(pieces.pieces)
    return _scaled(kind, pieces, bodies, found, unit)


def _contents(path: Path) -> bytes:
    """The whole file, once its size is known to be sane; a pipe or device is never waited for."""
    try:
        number = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    except (OSError, ValueError):
        raise UnreadableError("the file cannot be opened") from None
    state = os.fstat(number)
    if not stat.S_ISREG(state.st_mode):
        os.close(number)
        raise UnreadableError("this is not a file")
    with open(number, "rb") as file:
        if state.st_size == 0:
            raise UnreadableError("the file is empty")
        if state.st_size > LARGEST_FILE:
            raise UnreadableError(
                f"the file has {state.st_size / 1024**2:,.0f} MB and at most {LARGEST_FILE // 1024**2} MB are read"
            )
        return file.read(LARGEST_FILE)


def _readers() -> dict[str, Callable[[bytes], Pieces]]:
    """The reader of each kind; the heavy ones are loaded only when they are asked for."""

    def step(data: bytes) -> Pieces:
        from quoting.geometry.files.step import solids

        return solids(data)

    def three_mf(data: bytes) -> Pieces:
        from quoting.geometry.files.three_mf import packed_model

        return packed_model(data)

    return {"stl": stl.binary, "stl_text": stl.ascii_text, "obj": obj.polygons, "step": step, "3mf": three_mf}


def _scaled(kind: str, pieces: Pieces, bodies: tuple[Body, ...], found: tuple[str, ...], unit: float | None) -> Bodies:
    """The bodies in metres, with what is to be said about the unit first."""
    longest = max(float(np.ptp(body.box, axis=0).max()) for body in bodies)
    suggestion, said, scale = None, None, unit or pieces.unit
    if scale is None:
        suggestion = file_units.suggested(longest)
        scale, said = file_units.UNITS[suggestion], file_units.question(longest, suggestion)
    else:
        suggestion, said = file_units.doubt(longest, scale)
    is_known = unit is not None or (pieces.unit is not None and suggestion is None)
    warnings = (*((said,) if said else ()), *pieces.warnings, *found)
    surfaces = tuple(Surface(body.vertices * scale, body.faces) for body in bodies)
    closed = tuple(body.closed for body in bodies)
    is_stated = bool(unit or pieces.unit)
    return Bodies(kind.removesuffix("_text"), is_known, suggestion, scale, surfaces, closed, warnings, is_stated)
