"""What a CAD file turns out to hold, and the one error that says why it cannot be used."""

from dataclasses import dataclass, replace

import numpy as np

from quoting.geometry.files import file_units
from quoting.geometry.surface import Surface

LARGEST_FILE = 50 * 1024**2  # bytes; common practice, no source
MOST_FACES = 1_000_000  # triangles; about what a binary STL of the largest file holds
MOST_BODIES = 100  # a part to be quoted is one body, an assembly a few; common practice, no source
LARGEST_COORDINATE = 1e9  # file units; beyond it single precision holds nothing that could be a part

Piece = tuple[np.ndarray, np.ndarray]  # vertices (n, 3) in file units, faces (m, 3)


class UnreadableError(ValueError):
    """The file is not a model that can be used; the text says why, in words for whoever sent it."""


class NoSuchBodyError(UnreadableError):
    """The file can be read, but has no body of the number that was asked for."""


@dataclass(frozen=True)
class Pieces:
    """What one file format gave: pieces in file units, the unit where the file names one, and what was odd.

    ``unit`` is metres per file unit [m], None where the file does not say.
    """

    pieces: tuple[Piece, ...]
    unit: float | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Bodies:
    """The separate bodies of a file, largest surface first.

    ``scale`` is metres per file unit [m] as applied. ``unit_known`` is False while somebody must still confirm it;
    ``suggested_unit`` (mm, in, m) then says what was taken, or what a doubtful unit should perhaps have been.
    ``closed`` says of each body whether it encloses a volume without gaps. ``unit_stated``: the file or somebody named
    a unit; where not, the first of the warnings asks for it.
    """

    kind: str
    unit_known: bool
    suggested_unit: str | None
    scale: float
    bodies: tuple[Surface, ...]
    closed: tuple[bool, ...]
    warnings: tuple[str, ...]
    unit_stated: bool = True

    def in_unit(self, unit: str) -> "Bodies":
        """The same bodies taken to be drawn in mm, in or m, where nobody stated a unit; it is still to be confirmed."""
        ratio = file_units.UNITS[unit] / self.scale
        longest = max(float(np.ptp(body.vertices, axis=0).max()) for body in self.bodies) / self.scale
        return replace(
            self, suggested_unit=unit, scale=file_units.UNITS[unit],
            bodies=tuple(Surface(body.vertices * ratio, body.faces) for body in self.bodies),
            warnings=(file_units.question(longest, unit), *self.warnings[1:]),
        )  # fmt: skip


def counted(number: int, one: str, many: str) -> str:
    """Number and noun.

    Examples
    --------
    >>> counted(1, "face", "faces"), counted(1200, "face", "faces")
    ('1 face', '1,200 faces')
    """
    return f"{number:,} {one if number == 1 else many}"


def check_faces(number: int) -> None:
    """Refuse more triangles than can be worked on [-].

    Raises
    ------
    UnreadableError
        There are none, or too many.
    """
    if number == 0:
        raise UnreadableError("the model has no surface: not one face was found in it")
    if number > MOST_FACES:
        raise UnreadableError(
            f"the model has {number:,} faces and at most {MOST_FACES:,} are read: export it with a coarser tolerance"
        )


def check_corners(number: int) -> None:
    """Refuse more corners than the most faces could have [-].

    Raises
    ------
    UnreadableError
        There are too many.
    """
    if number > 3 * MOST_FACES:
        raise UnreadableError(f"the model has more than {3 * MOST_FACES:,} corners: export it with a coarser tolerance")


def check_bodies(number: int) -> None:
    """Refuse a file of more bodies than anybody quotes as one part [-].

    Raises
    ------
    UnreadableError
        There are too many.
    """
    if number > MOST_BODIES:
        raise UnreadableError(
            f"the file holds {number:,} separate bodies and at most {MOST_BODIES} are read: "
            "send the one part that is to be formed"
        )
