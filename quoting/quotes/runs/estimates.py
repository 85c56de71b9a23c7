"""What a quote had estimated for a run of so many good parts, and a run's figures set against it. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

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
BY_NAME = {one.name: one for one in MEASURES}


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

    def estimated(self, parts: int) -> dict[str, Any]:
        """Machine, process, polymer, and the figures of a run of so many good parts, by measure."""
        shots = int(self.startup)
        if parts:
            shots = shots_to_form(parts, self.trim_scrap, self.form_scrap, self.startup, self.cavities)
        sheets = shots * self.sheets_per_shot
        return {
            **self.names, **self.fixed, "heats": shots, "run_hours": shots / self.shots_per_hour, "blanks": sheets,
            "sheet": sheets * self.blank_mass,
        }  # fmt: skip


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
    return Basis(
        names={"machine": candidate["machine"]["code"], "process": candidate["process"],
               "polymer": candidate["polymer"]["name"]},
        fixed={
            "index_time": planned["plan"]["cycle"]["index"],
            "setup_hours": float(_figures(lines["set-up"])["press set-up"]),
            "scrap": float(1 - (1 - sheet["form scrap"]) * (1 - sheet["trim scrap"])),
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
    )  # fmt: skip


def _figures(line: Mapping[str, Any]) -> dict[str, Decimal]:
    return {one["name"]: Decimal(one["value"]) for one in line["inputs"]}


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
    formed = run.parts_good + run.parts_scrapped
    in_blanks = run.sheet_mass is None and run.blanks is not None
    actual = {
        "index_time": run.index_time, "setup_hours": run.setup_hours, "run_hours": run.run_hours, "heats": run.heats,
        "scrap": run.parts_scrapped / formed if formed else None, "sheet": run.blanks if in_blanks else run.sheet_mass,
        "trim_time": run.trim_time, "pack": run.parts_per_pallet,
    }  # fmt: skip
    return tuple(
        Compared(
            one,
            estimated.get("blanks" if one.name == "sheet" and in_blanks else one.name),
            actual[one.name],
            "blanks" if one.name == "sheet" and in_blanks else one.unit,
        )
        for one in MEASURES
    )
