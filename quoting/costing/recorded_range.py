"""Which range each input of the price has: that of recorded runs where there are enough, otherwise the stated one."""

from dataclasses import dataclass

from quoting.catalog import DRAWN, PARTS_FORMED, Catalog, Corrections, Spread

# What the runs of a measure say of which input. The range of the sheet used stays stated: what a shop draws beyond its
# blanks moves no part's mass as that input does.
TOLD_BY = {"run_hours": "cycle", "setup_hours": "setup_time", "trim_time": "trim_time",
           PARTS_FORMED: PARTS_FORMED}  # fmt: skip
# Run hours hold the time of a shot and the good hours of the press together, so the second is not drawn again; parts
# formed for each good one hold both kinds of scrap.
HELD = {"press_efficiency": "run_hours", "form_scrap": PARTS_FORMED, "trim_scrap": PARTS_FORMED}
RUN_HOURS = ("run hours", "hours of the press from first to last shot: time of a shot and good hours together")


@dataclass(frozen=True)
class Ranged:
    """One input that is varied: its spread, where that came from, and whether recorded runs tell it."""

    spread: Spread
    source: str
    recorded: bool = False


def ranged(catalog: Catalog) -> tuple[Ranged, ...]:
    """The inputs that are varied, in the order of DRAWN.

    Parameters
    ----------
    catalog : Catalog
        Rates with their stated spreads, and the corrections in force [-].

    Returns
    -------
    ranged : tuple of Ranged
        [-]
    """
    sources = catalog.rates.told
    found = {one.name: Ranged(one, sources.of(f"error.{one.name}")) for one in catalog.rates.spreads}
    recorded = _recorded(catalog.corrections) if catalog.corrections else {}
    for name, measure in HELD.items():
        if TOLD_BY[measure] in recorded:
            found.pop(name, None)
    found |= recorded
    return tuple(found[name] for name in DRAWN if name in found)


def held(inputs: tuple[Ranged, ...]) -> set[str]:
    """Inputs that are not drawn because recorded runs tell them together with another.

    Parameters
    ----------
    inputs : tuple of Ranged
        As from ``ranged`` [-].

    Returns
    -------
    names : set of str
        Of SPREAD_INPUTS [-].
    """
    recorded = {one.spread.name for one in inputs if one.recorded}
    return {name for name, measure in HELD.items() if TOLD_BY[measure] in recorded}


def _recorded(corrections: Corrections) -> dict[str, Ranged]:
    found = {}
    for one in corrections.measures:
        name = TOLD_BY.get(one.measure)
        if name is not None and one.least is not None and one.most is not None:
            source = f"from {one.runs} recorded runs, version {corrections.version}"
            found[name] = Ranged(Spread(name, one.least, one.most), source, recorded=True)
    return found
