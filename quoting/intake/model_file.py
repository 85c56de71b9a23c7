"""A CAD file beside the inquiry to the sizes of its part; the measuring itself happens in a child process."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from quoting import units
from quoting.intake.field_values import RefusedError, Shown
from quoting.intake.fields import BY_KEY
from quoting.intake.reading_result import Assumption, InputError
from quoting.words import words

LARGEST_FILE = 50 * 1024**2  # bytes
PATIENCE = 90.0  # s of wall time for the child
SUFFIXES = (".stl", ".step", ".stp")
AGREEMENT = 0.01  # a typed size may differ so much from the measured one; set by the inquiry format
SHELL_SHARE = 0.15  # 2V/A below this share of the smallest extent: a thin shell. A cube has 1/3, a ball too
REPOSITORY = Path(__file__).resolve().parents[2]
STL_UNITS = ((0.001, "mm"), (0.0254, "inches"))


@dataclass(frozen=True)
class Model:
    """What the child measured; lengths in file units (STL) or metres (STEP). ``facing``: area seen along each axis."""

    kind: str
    faces: int
    extents: tuple[float, float, float]
    area: float
    volume: float
    watertight: bool
    facing: tuple[float, float, float]


@dataclass(frozen=True)
class Measures:
    """The part as measured [m, m2], how that was done, and the typed sizes that disagree."""

    length: float
    width: float
    depth: float
    surface_area: float
    notes: tuple[Assumption, ...]
    errors: tuple[InputError, ...]
    unit: float | None  # m per file unit; None where the file knows it
    axis: int  # of the file, along which the part is drawn


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
        raise RefusedError(name, "a file that ends in .stl, .step or .stp")
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


def measure(name: str, base_dir: Path | None) -> Model:
    """Measure the model in a child process with limits on memory, processor time and wall time.

    Raises
    ------
    RefusedError
        The file is not allowed, cannot be read, or takes too long; the reason is in ``accepted``.
    """
    path = model_path(name, base_dir)
    command = [sys.executable, "-m", "quoting.intake.measuring", str(path)]
    environment = {"PATH": os.defpath, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONUTF8": "1"}
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter and module; the path is checked above
            command, cwd=REPOSITORY, env=environment, capture_output=True, timeout=PATIENCE, check=False
        )
    except subprocess.TimeoutExpired:
        raise _unreadable(name, f"it took more than {PATIENCE:.0f} s to measure") from None
    if done.returncode != 0:
        raise _unreadable(name, "measuring it broke off, or took more time or memory than is allowed")
    return parsed(name, done.stdout)


def _unreadable(name: str, why: str) -> RefusedError:
    return RefusedError(name, f"an STL or STEP model that can be measured: {why}")


def parsed(name: str, printed: bytes) -> Model:
    """The child's words, believed only where they are finite numbers above 0.

    Raises
    ------
    RefusedError
        They are not; or the child says itself why the file cannot be measured.
    """
    try:
        found = json.loads(printed)
        if "refused" in found:
            raise _unreadable(name, str(found["refused"])[:200])
        model = Model(
            str(found["kind"]), int(found["faces"]), tuple(map(float, found["extents"])), float(found["area"]),
            float(found["volume"]), bool(found["watertight"]), tuple(map(float, found["facing"])),
        )  # fmt: skip
    except (ValueError, KeyError, TypeError) as error:
        if isinstance(error, RefusedError):
            raise
        raise _unreadable(name, "measuring it gave no result") from None
    numbers = (*model.extents, *model.facing, model.area, model.volume)
    if len(numbers) != 8 or not all(isfinite(n) and 0 <= n < 1e12 for n in numbers) or min(model.extents) <= 0:
        raise _unreadable(name, "it is flat, empty or without finite size")
    return model


def fitted(model: Model, typed: dict[str, tuple[float, str]], is_enclosed: bool) -> Measures:
    """The part's sizes from the model, checked against typed ones.

    Parameters
    ----------
    model : Model
        As measured [-].
    typed : dict
        length, width, depth where typed: (value [m], text as typed).
    is_enclosed : bool
        Closed hollow part: one skin is half of it [-].

    Returns
    -------
    measures : Measures
        [m, m2]
    """
    scales = STL_UNITS if model.kind == "stl" else ((1.0, "metres"),)
    trials = [(scale, *_placed(model, scale, typed)) for scale, _ in scales]
    chosen = next((trial for trial in trials if typed and not trial[3]), trials[0])
    scale, axis, sizes, errors = chosen
    length, width, depth = sizes
    area, method = _formed_area(model, axis, is_enclosed)
    spare = max(0.0, length * width - scale**2 * model.facing[axis] / (2 if method.startswith("half of one") else 1))
    notes = (
        _note(length, width, depth, "XYZ"[axis]),
        *([_unit_note(dict(scales)[scale], bool(typed) and not errors)] if model.kind == "stl" else ()),
        Assumption(
            "part.surface_area",
            words("formed surface {area} measured in the model", area=(scale**2 * area + spare, "m2")),
            f"taken as {method}, and the flat of the plan rectangle that lies outside the part",
        ),
    )
    ranged, unit = _out_of_range(sizes), scale if model.kind == "stl" else None
    return Measures(length, width, depth, scale**2 * area + spare, notes, (*errors, *ranged), unit, axis)


def _placed(
    model: Model, scale: float, typed: dict[str, tuple[float, str]]
) -> tuple[int, tuple[float, ...], list[InputError]]:
    """Draw axis, (length, width, depth) and the typed sizes that disagree, at one scale."""
    extents = [round(scale * extent, 6) for extent in model.extents]  # 1 um: STEP comes in single precision
    is_along_z = "depth" in typed and _agrees(typed["depth"][0], extents[2])
    axis = 2 if is_along_z else extents.index(min(extents))
    plan = sorted((extent for index, extent in enumerate(extents) if index != axis), reverse=True)
    sizes = {"length": plan[0], "width": plan[1], "depth": extents[axis]}
    if "length" in typed and "width" in typed and typed["length"][0] < typed["width"][0]:
        sizes["length"], sizes["width"] = sizes["width"], sizes["length"]
    errors = [
        InputError(
            f"part.{side}",
            units.shortened(text),
            f"the size measured in part.model, {units.show(sizes[side], 'm', 'both')}, within 1 %, or nothing",
        )
        for side, (value, text) in typed.items()
        if not _agrees(value, sizes[side])
    ]
    return axis, (plan[0], plan[1], extents[axis]), errors


def _agrees(typed: float, measured: float) -> bool:
    return abs(typed - measured) <= AGREEMENT * measured


def _formed_area(model: Model, axis: int, is_enclosed: bool) -> tuple[float, str]:
    """Formed surface of one skin in file units, and in words how it was taken."""
    is_shell = model.watertight and 2 * model.volume / model.area < SHELL_SHARE * min(model.extents)
    if is_shell and is_enclosed:
        return model.area / 4, "half of one face of a thin shell: a quarter of the model's whole surface"
    if is_shell:
        return model.area / 2, "one face of a thin shell: half of the model's whole surface"
    if is_enclosed:
        return model.area / 2, "half of the outside"
    if model.watertight:
        return model.area - model.facing[axis], "the outside of a solid block without the face where it is open"
    return model.area, "all of an open surface"


def _note(length: float, width: float, depth: float, axis: str) -> Assumption:
    return Assumption(
        "part.model",
        words(
            "{length} long, {width} wide, {depth} deep as measured in the model",
            length=(length, "m"), width=(width, "m"), depth=(depth, "m"),
        ),
        f"the draw is taken along the model's {axis} axis; curved surfaces are measured as flat facets",
    )  # fmt: skip


def _unit_note(unit: str, is_confirmed: bool) -> Assumption:
    why = (
        "the typed sizes agree with that"
        if is_confirmed
        else "an STL file has no unit; say so if it was drawn in inches"
    )
    return Assumption("part.model", words(f"the STL file is in {unit}"), why)


def _out_of_range(sizes: tuple[float, ...]) -> list[InputError]:
    side = BY_KEY["part.length"]
    return [
        InputError(
            "part.model",
            f"a {name} of {units.show(size, 'm', 'both')}",
            f"sizes from {units.show(side.low, 'm', 'both')} to {units.show(side.high, 'm', 'both')}",
        )
        for name, size in zip(("length", "width", "depth"), sizes, strict=True)
        if not side.low <= size <= side.high
    ]
