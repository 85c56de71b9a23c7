"""How far a long work is, in a small file that others may read at any time."""

import json
from pathlib import Path
from time import monotonic

PROGRESS_FILE = "progress.json"
TOLD_EVERY = 1.0  # s


class Told:
    """Writes the greatest share done [-] and the step [count] to a folder; at most once in a second, always whole."""

    def __init__(self, folder: Path) -> None:
        self.path, self.share, self.last = folder / PROGRESS_FILE, 0.0, float("-inf")

    def __call__(self, share: float, step: int) -> None:
        self.share = max(self.share, share)
        if monotonic() - self.last < TOLD_EVERY:
            return
        self.last = monotonic()
        fresh = self.path.with_suffix(".new")
        fresh.write_text(json.dumps({"share": round(self.share, 3), "step": step}), encoding="ascii")
        fresh.replace(self.path)
