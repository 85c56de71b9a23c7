"""How long costing takes for the inquiries of the demo: layouts compared, each costed whole, all groups as answered.

Run from the top of the repository: ``python tests/benchmarks/costing_speed.py``. Milliseconds of processor time on one
core, the least of some runs, collector of reference cycles off; nothing is remembered from one run to the next.
Compared: the price of every layout that fits at the largest release. Whole: lead time, packing, tools and lines ready
to be read for every layout at the largest release. Answered: the best layout of each group at every release.
"""

import gc
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from quoting.catalog import Catalog  # noqa: E402
from quoting.choosing import best_layout  # noqa: E402
from quoting.costing.landed import landed_cost  # noqa: E402
from quoting.costing.priced_release import priced_release  # noqa: E402
from quoting.intake.catalog_file import read_materials, read_plants, read_rates  # noqa: E402
from quoting.intake.json_text import parse_json  # noqa: E402
from quoting.intake.reading import read_inquiry  # noqa: E402
from quoting.routing.candidate import JudgedCandidate  # noqa: E402
from quoting.routing.candidates import candidates  # noqa: E402
from quoting.routing.judging import judged  # noqa: E402
from quoting.routing.plan import planned  # noqa: E402
from quoting.routing.recalled import Recalled  # noqa: E402
from tests.benchmarks.answer_speed import ON  # noqa: E402

RUNS = 5
Groups = list[tuple[JudgedCandidate, ...]]


def _read(path: Path) -> object:
    return parse_json(path.read_text(encoding="utf-8-sig"))


def house() -> Catalog:
    """The demo's plants and materials under the reference rates, nothing booked."""
    plants, machines = read_plants(_read(ROOT / "fixtures/demo/plants.json"))
    polymers, offers = read_materials(_read(ROOT / "fixtures/demo/materials.json"))
    return Catalog(plants, machines, polymers, offers, read_rates(_read(ROOT / "fixtures/reference/rates.json"), ON))


def fitting(path: Path, catalog: Catalog) -> Groups:
    """Groups of an inquiry that fit, judged; none where it lacks facts."""
    names = tuple(polymer.name for polymer in catalog.polymers)
    request = read_inquiry(_read(path), on=ON, polymer_names=names, base_dir=ROOT).request
    if request is None:
        return []
    groups = judged(planned(request, candidates(request, catalog, ON), catalog, ON))
    return [group for group in groups if group[0].fits]


def compared(groups: Groups, catalog: Catalog, recalled: Recalled) -> None:
    for one in (one for group in groups for one in group):
        priced_release(one.planned, one.planned.request.releases[-1], catalog, recalled)


def whole(groups: Groups, catalog: Catalog, recalled: Recalled) -> None:
    for one in (one for group in groups for one in group):
        landed_cost(one.planned, catalog, ON, one.planned.request.releases[-1:], recalled)


def answered(groups: Groups, catalog: Catalog, recalled: Recalled) -> None:
    for group in groups:
        best_layout(group, catalog, ON, recalled)


def milliseconds(work: Callable, groups: Groups, catalog: Catalog) -> float:
    """The least of some runs [ms]."""
    times = []
    for _ in range(RUNS):
        started = process_time()
        work(groups, catalog, Recalled())
        times.append(process_time() - started)
    return 1e3 * min(times)


def main() -> None:
    catalog, ways = house(), (compared, whole, answered)
    gc.disable()
    sys.stdout.write(
        f"{'inquiry':32}{'groups':>8}{'layouts':>8}" + "".join(f"{way.__name__:>12}" for way in ways) + "\n"
    )
    for path in sorted((ROOT / "fixtures/demo/inquiries").glob("*.json")):
        groups = fitting(path, catalog)
        if groups:
            times = "".join(f"{milliseconds(way, groups, catalog):12.2f}" for way in ways)
            sys.stdout.write(f"{path.stem:32}{len(groups):8}{sum(map(len, groups)):8}{times}\n")


if __name__ == "__main__":
    main()
