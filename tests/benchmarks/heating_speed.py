"""Sheets heated a second: the batched march against the strongest general integrator, one sheet at a time.

Run from the top of the repository: ``python -m tests.benchmarks.heating_speed``. One core. Both are held to 0.5 K
everywhere in the sheet against a fine run, which is itself compared with a tight run of the general integrator.
"""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")

import resource
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from time import perf_counter

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from materials.constants import STEFAN_BOLTZMANN
from materials.exposure import Heaters, Sheets, Surroundings, grey_exchange, sheets_of
from materials.heating import heated_for
from materials.polymer import Polymer
from materials.slab import places
from tests.material_samples import amorphous, semicrystalline

COUNT, TIME, ALLOWED = 2000, 90.0, 0.5  # sheets, s, K
START, AIR, FILM, EMISSIVITY, VIEW = 293.15, 353.15, 8.0, 0.9, 0.7
FINE_NODES, FINE_STEPS = 161, 1500
SAMPLE = 60  # sheets that the general integrator solves: it is slow
PEER_NODES = (15, 17, 19, 21, 25, 31, 45, 61)
PEER_TOLERANCES = ((1e-2, 1.0), (3e-3, 0.3), (1e-3, 0.1), (3e-4, 0.05), (1e-4, 0.02), (3e-5, 0.01))  # relative, K
REPEATS = 7


@dataclass(frozen=True)
class Batch:
    polymer: Polymer
    sheets: Sheets
    around: Surroundings
    upper: np.ndarray
    lower: np.ndarray


def batch(polymer: Polymer, count: int = COUNT) -> Batch:
    """Sheets of 2 to 10 mm under unequal heaters of 600 to 800 K."""
    random = np.random.default_rng(20261125)
    gauges, upper, lower = (random.uniform(*span, count) for span in ((0.002, 0.010), (600, 800), (600, 800)))
    banks = (Heaters(temperature, EMISSIVITY, VIEW) for temperature in (upper, lower))
    sheets = sheets_of((polymer,) * count, tuple(gauges))
    return Batch(polymer, sheets, Surroundings(*banks, AIR, FILM), upper, lower)


def ours(some: Batch, **how: int) -> tuple[np.ndarray, np.ndarray]:
    """Places in the sheet [-] and temperatures there [K]."""
    start = np.full(some.sheets.gauge.size, START)
    profile = heated_for(some.sheets, start, some.around, np.full(start.size, TIME), **how).profile
    return places(profile.shape[0]), profile


def peer(some: Batch, sheet: int, nodes: int, relative: float, absolute: float) -> tuple[np.ndarray, np.ndarray]:
    """One sheet by LSODA with a banded Jacobian: finite volumes around nodes, the outermost on the faces."""
    p, gauge = some.polymer, float(some.sheets.gauge[sheet])
    exchange = STEFAN_BOLTZMANN * VIEW * grey_exchange(EMISSIVITY, p.emissivity)
    upper, lower = (float(exchange * bank[sheet] ** 4 + FILM * AIR) for bank in (some.upper, some.lower))
    spacing = gauge / (nodes - 1)
    conducting, entering = p.conductivity / (p.density * spacing**2), 2 * spacing / p.conductivity
    peak = p.latent_heat / (np.sqrt(np.pi) * p.melting_width) if p.latent_heat else 0.0

    def rate(_: float, t: np.ndarray) -> np.ndarray:
        change = np.empty(nodes)
        change[1:-1] = t[:-2] - 2 * t[1:-1] + t[2:]
        change[0] = 2 * (t[1] - t[0]) + entering * (upper - exchange * t[0] ** 4 - FILM * t[0])
        change[-1] = 2 * (t[-2] - t[-1]) + entering * (lower - exchange * t[-1] ** 4 - FILM * t[-1])
        capacity = np.where(t < p.step_temperature, p.specific_heat_solid, p.specific_heat_hot)
        if peak:
            capacity = capacity + peak * np.exp(-(((t - p.melting_temperature) / p.melting_width) ** 2))
        change *= conducting / capacity
        return change

    solved = solve_ivp(
        rate, (0.0, TIME), np.full(nodes, START), method="LSODA", lband=1, uband=1, rtol=relative, atol=absolute
    )
    return np.linspace(0, 1, nodes), solved.y[:, -1]


def worst(places_: np.ndarray, profile: np.ndarray, fine: tuple[np.ndarray, np.ndarray]) -> float:
    """Largest difference [K] from the fine run, everywhere in the sheet."""
    return float(np.abs(CubicSpline(places_, profile, axis=0)(fine[0]) - fine[1]).max())


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Median of some runs [s]."""

    def runs() -> Iterator[float]:
        for _ in range(repeats):
            begin = perf_counter()
            work()
            yield perf_counter() - begin

    return float(np.median(list(runs())))


def fastest_peer(some: Batch, fine: tuple[np.ndarray, np.ndarray]) -> tuple[float, float, str] | None:
    """Sheets a second, error [K] and settings of the fastest run of the general integrator that is good enough.

    None where no pair of settings is: then there is nothing to compare with.
    """
    found = []
    for nodes in PEER_NODES:
        for relative, absolute in PEER_TOLERANCES:
            begin = perf_counter()
            solved = [peer(some, sheet, nodes, relative, absolute) for sheet in range(SAMPLE)]
            took = perf_counter() - begin
            profile = np.stack([one[1] for one in solved], axis=1)
            error = worst(solved[0][0], profile, (fine[0], fine[1][:, :SAMPLE]))
            if error <= ALLOWED:
                found.append((SAMPLE / took, error, f"{nodes} nodes, rtol {relative:g}, atol {absolute:g} K"))
                break  # a tighter one is slower
    return max(found, default=None)


def table(name: str, polymer: Polymer) -> None:
    some = batch(polymer)
    fine = ours(some, nodes=FINE_NODES, steps=FINE_STEPS)
    tight = max(
        worst(*peer(some, sheet, 321, 1e-8, 1e-6), (fine[0], fine[1][:, sheet])) for sheet in range(0, SAMPLE, 10)
    )
    our_error = worst(*ours(some), fine)
    our_rate = COUNT / seconds(lambda: ours(some), REPEATS)
    print(f"{name}: {COUNT} sheets of 2 to 10 mm, heaters 600 to 800 K, {TIME:g} s")
    print(f"  fine run ({FINE_NODES} nodes) against a tight LSODA run of 321 nodes: {tight:.3f} K")
    print(f"  the march, as it answers inquiries: error {our_error:.3f} K, {our_rate:,.0f} sheets/s")
    found = fastest_peer(some, fine)
    if found is None:
        print("  LSODA, banded, one at a time: no setting tried is within 0.5 K")
        return
    peer_rate, peer_error, settings = found
    print(f"  LSODA, banded, one at a time ({settings}): error {peer_error:.3f} K, {peer_rate:,.0f} sheets/s")
    print(f"  ratio {our_rate / peer_rate:,.0f}")


def memory() -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    ours(batch(semicrystalline(), 10_000))
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"10,000 sheets in one batch: peak memory of the whole process {after:.0f} MB ({before:.0f} MB before)")


if __name__ == "__main__":
    memory()
    table("amorphous", amorphous())
    table("semi-crystalline", semicrystalline())
