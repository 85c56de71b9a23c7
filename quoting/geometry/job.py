"""Reads one CAD file and prints what was found as one line of JSON. Runs alone, in a child process with limits.

``python -m quoting.geometry.job FILE [SECONDS]``, seconds of processor time that it may take, with options as JSON on
its standard input, all of them optional:

    unit       metres per file unit, once somebody confirmed it
    body       which body to look at, from 0 (the one with the largest surface)
    draw       [x, y, z] out of the cavity; tool: female or male
    sizes      typed length, width, depth [m] and ``within``: they decide about a unit and a draw that nobody named
    hooks      names out of hooks.HOOKS to run; none by default
    directory  where pictures (PNG) and meshes (binary glTF) are written; without it they are printed in base64
    way        how the sheet is formed: {"web": m around the part, "plug": true or false, "pre_stretch": areal ratio,
               "tool": female or male, of this map alone}
    size       [width, height] of pictures in px; lengths: "inch" for a scale bar in inches

It prints ``{"refused": why}``, with ``about``, the option, where it is not the file that is wrong; or kind, unit_known,
unit_stated, suggested_unit, scale, warnings, bodies (sizes in m, m2, m3), body, draw, tool, found (by hook), failed
(hook to why), pictures and meshes (name to file name or base64). Time is limited by the parent too: it must not wait
for ever, and must believe nothing but finite numbers.
"""

import json
import os
import resource
import sys
from pathlib import Path
from typing import Any

MEMORY_LIMIT = 2 * 1024**3  # bytes of address space
CPU_LIMIT = 120  # s, where none is given
WRITTEN_LIMIT = 64 * 1024**2  # bytes of one written file
FILES_LIMIT = 64  # open at one time
OPTIONS_LIMIT = 65536  # bytes


def set_limits(seconds: int = CPU_LIMIT) -> None:
    """Bound memory, processor time [s] and written files of this process; libraries are loaded after it."""
    for limit, most in (
        (resource.RLIMIT_AS, MEMORY_LIMIT), (resource.RLIMIT_CPU, seconds), (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, WRITTEN_LIMIT), (resource.RLIMIT_NOFILE, FILES_LIMIT),
    ):  # fmt: skip
        resource.setrlimit(limit, (most, most))
    for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[threads] = "1"


def run(path: Path, options: dict[str, Any]) -> dict[str, Any]:
    """Read ``path`` and do what the options ask for; see the top of this module.

    Raises
    ------
    UnreadableError
        The file is no model that can be used, or the options ask for a body that is not there.
    """
    from quoting.geometry.files.bodies import NoSuchBodyError
    from quoting.geometry.files.reading import read_bodies

    bodies = read_bodies(path, options.get("unit"))
    number = int(options.get("body", 0))
    if not 0 <= number < len(bodies.bodies):
        raise NoSuchBodyError(f"the file has no body {number + 1}: it has {len(bodies.bodies)}")
    bodies, options, on_the_way = _fitted(bodies, number, options)
    result = {
        "kind": bodies.kind, "unit_known": bodies.unit_known, "unit_stated": bodies.unit_stated,
        "suggested_unit": bodies.suggested_unit, "scale": bodies.scale,
        "warnings": [*bodies.warnings, *_which_body(len(bodies.bodies), options)],
        "bodies": [_sizes(body, closed) for body, closed in zip(bodies.bodies, bodies.closed, strict=True)],
    }  # fmt: skip
    return result | {"body": number} | _hooked(bodies.bodies[number], options, on_the_way)


def _which_body(count: int, options: dict[str, Any]) -> list[str]:
    if count == 1 or "body" in options:
        return []
    return [f"the file holds {count} separate bodies and the largest is taken: say which one is to be formed"]


def _fitted(bodies, number: int, options: dict[str, Any]) -> tuple[Any, dict[str, Any], dict[str, Any]]:
    """The bodies in the unit that the typed sizes speak for, the options, and what was found of the body on the way."""
    if not options.get("sizes"):
        return bodies, options, {}
    import numpy as np

    from quoting.geometry.shape.fitting import fitted
    from quoting.geometry.shape.prepared import prepared

    draw = np.array(_direction(options["draw"])) if "draw" in options else None
    open_scale = None if bodies.unit_stated else bodies.scale
    known = prepared(bodies.bodies[number])
    found = fitted(known, options["sizes"], open_scale, draw)
    on_the_way: dict[str, Any] = {"draws": found.draws, "known": known}
    if found.unit is not None and found.unit != bodies.suggested_unit:
        bodies = bodies.in_unit(found.unit)
        del on_the_way["known"]  # in the other unit
    return bodies, options if found.direction is None else options | {"draw": found.direction}, on_the_way


def _sizes(surface, closed: bool) -> dict[str, Any]:
    """Sizes along the axes of the file [m], surface [m2], volume [m3] of a closed body."""
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    return {
        "faces": len(surface.faces), "extents": (high - low).tolist(), "area": float(surface.areas.sum()),
        "volume": float(surface.mesh.volume) if closed else None, "watertight": closed,
    }  # fmt: skip


def _hooked(surface, options: dict[str, Any], on_the_way: dict[str, Any]) -> dict[str, Any]:
    from quoting.geometry.hooks import HOOKS, Work

    draw, tool = _direction(options.get("draw", (0, 0, 1))), str(options.get("tool", "female"))
    work = Work(surface, options, draw, tool, **on_the_way)
    found, failed = {}, {}
    asked = options.get("hooks", ())
    for name, hook in HOOKS.items():
        if name in asked:
            try:
                found[name] = hook(work)
            except ModuleNotFoundError:
                failed[name] = "not available"
            except MemoryError:
                failed[name] = "it needs more memory than is allowed"
            except Exception as error:  # noqa: BLE001 - one figure that fails must not cost the others
                said = str(error)[:200]
                failed[name] = said if _is_plain(error) else f"it cannot be worked out ({type(error).__name__}: {said})"
    directory = options.get("directory")
    written = {"pictures": _written(work.pictures, "png", directory), "meshes": _written(work.meshes, "glb", directory)}
    return {"draw": list(work.draw), "tool": work.tool, "found": found, "failed": failed} | written


def _is_plain(error: Exception) -> bool:
    """Whether an error was written for whoever sent the file; told by name, so that no library is loaded for it."""
    return type(error).__name__ in ("UnreadableError", "NoSuchBodyError", "UnmeasurableError")


def _direction(given) -> tuple[float, float, float]:
    x, y, z = (float(number) for number in given)
    length = (x * x + y * y + z * z) ** 0.5
    if not 1e-9 < length < 1e9:
        raise ValueError("the draw has no direction")
    return x / length, y / length, z / length


def _written(contents: dict[str, bytes], ending: str, directory: str | None) -> dict[str, str]:
    """Where each of them went: a file named after its hook, never after anything in the model; else base64."""
    from base64 import b64encode

    if directory is None:
        return {name: b64encode(content).decode("ascii") for name, content in contents.items()}
    for name, content in contents.items():
        Path(directory, f"{name}.{ending}").write_bytes(content)
    return {name: f"{name}.{ending}" for name in contents}


def answer(path: Path, text: bytes) -> dict[str, Any]:
    """What `run` finds, or why it was refused, whatever goes wrong."""
    try:
        options = json.loads(text or b"{}")
        if not isinstance(options, dict) or len(text) > OPTIONS_LIMIT:
            return {"refused": "the options are not one JSON object of reasonable size"}
        return run(path, options)
    except MemoryError:
        return {"refused": "the model needs more memory than is allowed"}
    except Exception as error:  # noqa: BLE001 - a mesh library may raise anything on a bad file
        about = {"about": "body"} if type(error).__name__ == "NoSuchBodyError" else {}
        said = str(error) if _is_plain(error) else f"the model cannot be read ({type(error).__name__})"
        return {"refused": said, **about}


def main(arguments: list[str]) -> int:
    """Answer for the file named and print it; what libraries print meanwhile is kept out of it."""
    set_limits(*(int(seconds) for seconds in arguments[1:2]))
    printed = os.dup(1)
    os.dup2(2, 1)
    found = answer(Path(arguments[0]), sys.stdin.buffer.read(OPTIONS_LIMIT + 1))
    with os.fdopen(printed, "w", encoding="utf-8") as out:
        json.dump(found, out, allow_nan=False)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
