"""The CAD file that an inquiry names: where it may lie, how it may end, how large it may be."""

from pathlib import Path

from quoting import units
from quoting.intake.field_values import RefusedError, Shown

LARGEST_FILE = 50 * 1024**2  # bytes
SUFFIXES = (".step", ".stp", ".stl", ".obj", ".3mf")  # the name admits it; what it holds decides how it is read
WANTED = "a file that ends in .step, .stp, .stl, .obj or .3mf"


def model_path(name: str, base_dir: Path | None) -> Path:
    """The file named, inside ``base_dir`` and nowhere else.

    Raises
    ------
    RefusedError
        No folder to look in, a path that leads out of it, another kind of file, too large or not there.
    """
    if base_dir is None:
        raise RefusedError(name, "no model file here: it is read only beside an inquiry file")
    if Path(name).suffix.lower() not in SUFFIXES:
        raise RefusedError(name, WANTED)
    base = base_dir.resolve()
    try:
        path = (base / name).resolve()
        inside = path.is_relative_to(base) and not Path(name).is_absolute() and ".." not in Path(name).parts
        present = inside and path.is_file()
        size = path.stat().st_size if present else 0
    except (OSError, ValueError):
        inside, present, size = True, False, 0
    if not inside:
        raise RefusedError(name, "a file in the folder of the inquiry or below it")
    if not present:
        raise RefusedError(name, "a file that is there: none was found beside the inquiry")
    if not 0 < size <= LARGEST_FILE:
        raise RefusedError(Shown(f"{units.shortened(name)} of {size} bytes"), "a file of 1 byte to 50 MB")
    return path
