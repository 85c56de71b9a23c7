"""All that is found out about one CAD file, hook by hook, and how it grows with its triangles.

Run from the top of the repository: ``python -m tests.benchmarks.model_speed``. One core, seconds of processor time.
The part is half a ball of even wall. "figures" is all but the map of the wall and the mesh to turn; libraries are
loaded before.
"""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import resource
import tempfile
from pathlib import Path
from time import process_time

import trimesh

from quoting.geometry import hooks, job
from tests.quoting.geometry import shapes

STEPS = (24, 50, 112, 250)  # triangles grow with the square, some 8 x steps^2
APART = ("membrane", "turning")
NAMES = tuple(name for name in hooks.HOOKS if name != "fine")


def measured(path: Path, folder: str) -> dict[str, float]:
    """Seconds of each hook, of reading the file, and of all."""
    spent, plain = {}, dict(hooks.HOOKS)

    def timed(name: str):
        def work(part: hooks.Work) -> dict:
            start = process_time()
            found = plain[name](part)
            spent[name] = process_time() - start
            return found

        return work

    hooks.HOOKS.update({name: timed(name) for name in NAMES})
    start = process_time()
    found = job.run(path, {"unit": 0.001, "tool": "female", "hooks": list(NAMES), "directory": folder})
    whole = process_time() - start
    hooks.HOOKS.update(plain)
    assert not found["failed"], found["failed"]
    figures = whole - sum(spent[name] for name in APART)
    return {"reading": whole - sum(spent.values())} | spent | {"figures": figures, "all": whole}


def main() -> None:
    columns = ("reading", *NAMES, "figures", "all")
    print(f"{'triangles':>10}" + "".join(f"{name:>13}" for name in columns) + "  peak memory [GB]")
    with tempfile.TemporaryDirectory() as folder:
        _row(STEPS[0], folder)  # loads the libraries
        for steps in STEPS:
            faces, row = _row(steps, folder)
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
            print(f"{faces:10d}" + "".join(f"{row[name]:13.2f}" for name in columns) + f"{peak:18.2f}")


def _row(steps: int, folder: str) -> tuple[int, dict[str, float]]:
    part, path = shapes.bowl(steps=steps), Path(folder, "part.stl")
    trimesh.Trimesh(part.vertices * 1000, part.faces, process=False).export(path)
    return len(part.faces), measured(path, folder)


if __name__ == "__main__":
    main()
