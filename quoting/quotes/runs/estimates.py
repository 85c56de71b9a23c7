"""What a quote had estimated for a run of so many good parts, and a run's figures set against it. Pure.

Two estimates: as it was worked out, from which factors are learned, and as it was quoted, with the factors that were in
force at the answer. The ranges are those that the answer stated, over the estimate as quoted.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoting.catalog import PARTS_FORMED
from quoting.costing.correcting import (
    RUN_CORRECTION,
    SCRAP_CORRECTION,
    SETUP_CORRECTION,
    SHEET_CORRECTION,
    TRIM_CORRECTION,
    Corrected,
    corrected_scrap,
)
from quoting.costing.recorded_range import RUN_HOURS
from quoting.costing.sheet import shots_to_form


@dataclass(frozen=True)
class Measure:
    """One thing that is estimated and recorded; ``unit`` is that of ``quoting.units.show``."""

    name: str
    label: str
    unit: str
    what: str


MEASURES = (
    Measure("index_time", "Index time", "s", "from shot to shot"),
    Measure("setup_hours", "Set-up", "h", "hours on the machine before the run"),
    Measure("run_hours", "Run", "h", "hours on the machine, from first to last shot"),
    Measure("heats", "Heats", "count", "shots, start-up counted"),
    Measure("scrap", "Scrap", "share", "parts lost in forming and trimming, of all but start-up"),
    Measure("sheet", "Sheet used", "kg", "mass of all blanks; counted in blanks where the shop counted them"),
    Measure("trim_time", "Trim time a part", "s", "from piece to piece"),
    Measure("pack", "Parts a pallet", "count", "as shipped"),
)
FORMED = Measure(
    PARTS_FORMED, "Parts formed", "ratio", "for each good one; it tells of scrap, start-up shots not counted"
)
# What is followed over time and learned: scrap as parts formed, since a share of nothing has no ratio.
FOLLOWED = tuple(FORMED if one.name == "scrap" else one for one in MEASURES)
BY_NAME = {one.name: one for one in (*MEASURES, FORMED)}
# Which line of the estimate tells of which correction.
TOLD_ON = {
    "setup_hours": ("set-up", SETUP_CORRECTION), "run_hours": ("forming", RUN_CORRECTION),
    "trim_time": ("trimming", TRIM_CORRECTION), "sheet": ("sheet", SHEET_CORRECTION),
    PARTS_FORMED: ("sheet", SCRAP_CORRECTION),
}  # fmt: skip


@dataclass(frozen=True)
class Compared:
    """One figure of a run beside its estimate, in the unit of ``unit``; None where either was not taken."""

    measure: Measure
    estimated: float | None
    actual: float | None
    unit: str

    @property
    def ratio(self) -> float | None:
        """Actual over estimated; None where there is nothing to divide by."""
        if self.actual is None or not self.estimated:
            return None
        return self.actual / self.estimated


@dataclass(frozen=True)
class Basis:
    """What an answer says of its runs, whatever their number of parts: times [s], hours [h], mass of a blank [kg]."""

    names: Mapping[str, str]  # machine, process, polymer
    fixed: Mapping[str, Any]  # figures that do not go with the number of parts
    form_scrap: Decimal
    trim_scrap: Decimal
    startup: Decimal
    cavities: int
    shots_per_hour: float
    sheets_per_shot: float
    blank_mass: float
    factors: Mapping[str, float]  # in force at the answer, by measure
    ranges: Mapping[str, tuple[float, float]]  # stated, over the estimate as quoted

    def estimated(self, parts: int) -> dict[str, Any]:
        """Machine, process, polymer, and the figures of a run of so many good parts, by measure; under ``quoted`` the
        figures as quoted, under ``factors`` and ``ranges`` what was in force and stated."""
        ranges = {name: list(ends) for name, ends in self.ranges.items()}
        return {
            **self.names, **self._figures(parts, {}), "quoted": self._figures(parts, self.factors),
            "factors": dict(self.factors), "ranges": ranges,
        }  # fmt: skip

    def _figures(self, parts: int, factors: Mapping[str, float]) -> dict[str, Any]:
        by = Corrected(factors[PARTS_FORMED], "") if PARTS_FORMED in factors else None
        scrap, shots = corrected_scrap(self.form_scrap, by), int(self.startup)
        if parts:
            shots = shots_to_form(parts, self.trim_scrap, scrap, self.startup, self.cavities)
        kept, sheets = float((1 - scrap) * (1 - self.trim_scrap)), shots * self.sheets_per_shot
        found = self.fixed | {
            "heats": shots, "run_hours": shots / self.shots_per_hour, "blanks": sheets,
            "sheet": sheets * self.blank_mass, "scrap": 1 - kept, PARTS_FORMED: 1 / kept,
        }  # fmt: skip
        times = {name: factor for name, factor in factors.items() if name != PARTS_FORMED}
        if "sheet" in times:
            times["blanks"] = times["sheet"]
        return found | {name: found[name] * factor for name, factor in times.items()}


def basis_of(snapshot: Mapping[str, Any], quantity: int) -> Basis | None:
    """What the answer behind a quote says for runs of one of its releases; None where it chose no route.

    Shots and sheet are worked out for the parts of a run by the rule of the cost line, so that a run of another size
    than the release is held against its own estimate.

    Parameters
    ----------
    snapshot : mapping
        The plain answer that was issued [-].
    quantity : int
        Parts of the release; of its cost lines, or the first release's, the figures are taken [count].

    Returns
    -------
    basis : Basis or None
        [s, h, kg, count, -]
    """
    chosen = snapshot.get("chosen")
    if not chosen or not chosen.get("cost"):
        return None
    planned, cost = chosen["judged"]["planned"], chosen["cost"]
    place = next((at for at, one in enumerate(cost["breaks"]) if one["quantity"] == quantity), 0)
    lines = {one["name"]: one for one in cost["lines"] if one["quantity"] == cost["breaks"][place]["quantity"]}
    candidate, sheet = planned["candidate"], _figures(lines["sheet"])
    told = (snapshot.get("range") or {}).get("inputs", ())
    return Basis(
        names={"machine": candidate["machine"]["code"], "process": candidate["process"],
               "polymer": candidate["polymer"]["name"]},
        fixed={
            "index_time": planned["plan"]["cycle"]["index"],
            "setup_hours": float(_figures(lines["set-up"])["press set-up"]),
            "trim_time": float(_figures(lines["trimming"])["piece-to-piece time"]),
            "pack": cost["packings"][place]["parts_per_pallet"] if cost.get("packings") else None,
        },
        form_scrap=sheet["form scrap"],
        trim_scrap=sheet["trim scrap"],
        startup=sheet["start-up shots"],
        cavities=candidate["layout"]["along"] * candidate["layout"]["across"],
        shots_per_hour=float(_figures(lines["forming"])["shots per hour"]),
        sheets_per_shot=float(sheet["sheets"] / sheet["shots"]),
        blank_mass=float(sheet["blank mass"]),
        factors=_factors(lines),
        ranges=stated_ranges(
            {one["name"]: (one["least"], one["most"]) for one in told}, float(sheet["form scrap"]),
            float(sheet["trim scrap"]), hours=any(one["moves"] == RUN_HOURS[1] for one in told),
        ),
    )  # fmt: skip


def _figures(line: Mapping[str, Any]) -> dict[str, Decimal]:
    return {one["name"]: Decimal(one["value"]) for one in line["inputs"]}


def _factors(lines: Mapping[str, Mapping[str, Any]]) -> dict[str, float]:
    """The factors that were in force at the answer, by measure, as its lines show them."""
    shown = {name: _figures(lines[line]).get(correction) for name, (line, correction) in TOLD_ON.items()}
    return {name: float(factor) for name, factor in shown.items() if factor is not None}


def stated_ranges(
    spreads: Mapping[str, tuple[float, float]], form_scrap: float, trim_scrap: float, hours: bool = False
) -> dict[str, tuple[float, float]]:
    """Least and most of each measure over its estimate, as far as an answer stated a range for what moves it.

    Where several inputs move a measure, their ends are taken together. A measure without a stated range is left out.

    Parameters
    ----------
    spreads : mapping
        Least and most over likely by input of the range of error [-].
    form_scrap, trim_scrap : float
        Of the estimate [-], 0 to below 1.
    hours : bool
        Recorded runs told the range of "cycle", which is then that of run hours and not of the index time [-].

    Returns
    -------
    ranges : dict
        By measure [-].

    Examples
    --------
    >>> stated_ranges({"cycle": (0.9, 1.2), "press_efficiency": (0.5, 1.0)}, 0.02, 0.01)["run_hours"]
    (0.9, 2.4)
    """
    own = {"setup_hours": "setup_time", "trim_time": "trim_time"} | ({} if hours else {"index_time": "cycle"})
    found = {measure: spreads[name] for measure, name in own.items() if name in spreads}
    lost = spreads.get(PARTS_FORMED)
    if lost is None and spreads.keys() & {"form_scrap", "trim_scrap"}:
        ends = zip(spreads.get("form_scrap", (1, 1)), spreads.get("trim_scrap", (1, 1)), strict=True)
        kept = (1 - form_scrap) * (1 - trim_scrap)
        lost = tuple(kept / (1 - form_scrap * form) / (1 - trim_scrap * trim) for form, trim in ends)
    if lost is not None:
        found |= {PARTS_FORMED: lost, "heats": lost}
    if "cycle" in spreads:
        (slow, fast), (good, better) = spreads["cycle"], spreads.get("press_efficiency", (1, 1))
        found["run_hours"] = _together((slow / better, fast / good), lost)
    if "sheet_mass" in spreads or lost is not None:
        found["sheet"] = _together(spreads.get("sheet_mass", (1, 1)), lost)
    return found


def _together(one: tuple[float, float], other: tuple[float, float] | None) -> tuple[float, float]:
    return one if other is None else (one[0] * other[0], one[1] * other[1])


def compared(run: Any, estimated: Mapping[str, Any]) -> tuple[Compared, ...]:
    """A run's figures beside their estimates, in the order of ``MEASURES``.

    Parameters
    ----------
    run : object
        With the columns of ``RunRecord`` [s, h, kg, count].
    estimated : mapping
        As from ``Basis.estimated``; what is not in it is unknown [s, h, kg, count, -].

    Returns
    -------
    compared : tuple of Compared
        One for each measure [-].
    """
    in_blanks, actual = run.sheet_mass is None and run.blanks is not None, _actual(run)
    return tuple(_compared(one, actual, estimated, in_blanks) for one in MEASURES)


def followed(run: Any, estimated: Mapping[str, Any]) -> dict[str, Compared]:
    """As ``compared``, of what is followed over time and has a ratio: FOLLOWED, by name."""
    known = dict(estimated)
    if PARTS_FORMED not in known and known.get("scrap") is not None:
        known[PARTS_FORMED] = 1 / (1 - known["scrap"])  # of records from before it was kept
    in_blanks, actual = run.sheet_mass is None and run.blanks is not None, _actual(run)
    found = {one.name: _compared(one, actual, known, in_blanks) for one in FOLLOWED}
    return {name: one for name, one in found.items() if one.ratio is not None}


def _actual(run: Any) -> dict[str, float | None]:
    formed = run.parts_good + run.parts_scrapped
    in_blanks = run.sheet_mass is None and run.blanks is not None
    return {
        "index_time": run.index_time, "setup_hours": run.setup_hours, "run_hours": run.run_hours, "heats": run.heats,
        "scrap": run.parts_scrapped / formed if formed else None, "sheet": run.blanks if in_blanks else run.sheet_mass,
        PARTS_FORMED: formed / run.parts_good if run.parts_good else None,
        "trim_time": run.trim_time, "pack": run.parts_per_pallet,
    }  # fmt: skip


def _compared(
    one: Measure, actual: Mapping[str, float | None], estimated: Mapping[str, Any], in_blanks: bool
) -> Compared:
    counted = one.name == "sheet" and in_blanks
    name, unit = ("blanks", "blanks") if counted else (one.name, one.unit)
    return Compared(one, estimated.get(name), actual[one.name], unit)
