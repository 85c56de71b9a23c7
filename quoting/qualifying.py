"""What goes with a quote: its conditions and its cautions."""

from datetime import date

from machines.press import PSI, box_volume
from materials.compressed_air import HIGHLY_HAZARDOUS, stored_air_energy
from materials.shrinkage import needs_cooling_fixture, shrink_allowance
from quoting.answer import Condition, PricedCandidate
from quoting.costing.advice import PriceAdvice
from quoting.intake.part import PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.rules.comparing import plain
from quoting.routing.rules.depth import drawn_depth
from quoting.routing.rules.detail import is_draped
from quoting.tooling_conditions import regrind_conditions, tooling_conditions
from quoting.words import Words, words

PRESSURE_VESSEL = 15 * PSI  # Pa, gauge, above which a vessel in general counts as one: osha.gov, pressure vessels

GENERAL_CAUTIONS = (
    "Prices rest on the assumptions and the drawing revision named here; when one of them is wrong, the price changes.",
    "The customer confirms that polymer, design, loads and end use are right; no structural, lifting, pressure, "
    "potable-water, medical-implant or aircraft use is accepted unless agreed in writing.",
    "Local codes and licensed practice govern installation and use; this answer is no engineering advice.",
)
PRESSURE_CAUTION = (
    "Pressure forming stores compressed air behind the sheet: interlocks, a proven lock before air is admitted and a "
    "proven vent before unlocking are required; whether the box falls under a pressure-equipment code is for the "
    "local authority and a qualified engineer to decide."
)
TRIM_CAUTION = (
    "Trimming and regrinding make combustible dust and sharp edges: dust collection, housekeeping and protective "
    "equipment follow local fire and safety codes."
)
FUME_CAUTION = (
    "Heated sheet is hot and gives off fumes, acid gas when PVC is overheated: exhaust, temperature limits and the "
    "sheet maker's safety data sheet apply on the shop floor."
)
IN_THE_BOX = (
    "At {pressure} the pressure box holds up to {volume} of compressed air, which stores about {energy}; a university "
    "safety page calls more than {mark} highly hazardous (ehs.berkeley.edu, stored energy). Fillers in the box lessen "
    "it. A vessel for more than {vessel} in general counts as a pressure vessel (osha.gov, pressure vessels): whether "
    "this box does is for its maker, the local code and a licensed engineer, not for this figure."
)
IN_THE_HOLLOW = (
    "Air blown between the two sheets at up to {pressure} fills {volume} and stores about {energy}; a university "
    "safety page calls more than {mark} highly hazardous (ehs.berkeley.edu, stored energy). It is vented before the "
    "platens open."
)
LIFT_CAUTION = (
    "Tools are heavy: they are lifted by people trained for it, with gear that is proved for their weight, and never "
    "over anybody; local codes and the maker's instructions apply."
)
SHIELDING_CAUTION = (
    "A conductive coat is priced by its area and film; how well the finished housing shields, and at which frequency, "
    "is measured by a test laboratory and is not promised here. Seams, openings and grounds are the customer's design."
)
# Operations that can hurt who does them, and the usual caution; local codes and the safety data sheet decide.
WORK_CAUTIONS = (
    (
        ("solvent_bond", "bonded_block"),
        "Solvents and adhesives give off vapour that can burn and harm: exhaust, no source of ignition, gloves and the "
        "safety data sheet; local fire and air-quality codes apply.",
    ),
    (
        ("hot_plate_weld", "weld_stud", "heat_bend"),
        "Hot plates and heaters burn skin and make sheet give off fumes: guards, exhaust, gloves and temperature "
        "limits; local safety codes apply.",
    ),
    (
        ("paint", "emi_coat", "screen_print"),
        "Paints, conductive coats and inks give off vapour and mist that can burn and harm: a spray booth or exhaust, "
        "breathing protection and the safety data sheet; local fire and air-quality codes apply.",
    ),
    (("emi_coat",), SHIELDING_CAUTION),
)
AGENCY_CAUTION = (
    "Food-contact and flame claims belong to the sheet grade, its colour and its thickness; a listing of the finished "
    "part can only come from the certifier, and forming thins the wall."
)


def weeks_late(priced: PricedCandidate, on: date) -> float:
    """By how many weeks the first release would come after the date it is needed.

    Parameters
    ----------
    priced : PricedCandidate
        A candidate that fits [-].
    on : date
        The day of the answer [-].

    Returns
    -------
    late : float
        0 when it comes in time or no date was given [weeks].
    """
    needed = priced.judged.planned.request.needed_by
    if needed is None:
        return 0.0
    return max(0.0, (priced.cost.breaks[0].arrives - needed).days / 7)


def cautions(chosen: PricedCandidate) -> tuple[str, ...]:
    """The usual cautions that go with this process, polymer and need.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].

    Returns
    -------
    cautions : tuple of str
        [-]
    """
    planned = chosen.judged.planned
    agency = {"food_contact", "flame_v0"} & set(planned.request.needs)
    by_process = (PRESSURE_CAUTION,) if planned.candidate.process != "vacuum" else ()
    by_need = (AGENCY_CAUTION,) if agency else ()
    asked = {each.operation for each in planned.request.secondary}
    by_work = tuple(caution for operations, caution in WORK_CAUTIONS if asked & set(operations))
    by_tool = (LIFT_CAUTION,) if planned.request.tooling == "transfer" else ()
    return GENERAL_CAUTIONS + by_process + by_need + (TRIM_CAUTION, FUME_CAUTION) + by_work + by_tool


def hazards(chosen: PricedCandidate) -> tuple[Words, ...]:
    """The cautions that have a number on this job, for those who set it up; none of them is a promise.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].

    Returns
    -------
    hazards : tuple of Words
        [-]
    """
    planned = chosen.judged.planned
    stored = () if planned.candidate.process == "vacuum" else (_stored_air(planned),)
    return (*stored, _hot_sheet(planned), _fumes(planned), *_lift(planned))


def _lift(planned: PlannedCandidate) -> tuple[Words, ...]:
    mass = planned.request.tool.mass
    if mass is None:
        return ()
    return (
        words(
            "The customer's tool weighs {mass} as the inquiry gives it: hoist, slings, truck and platen are proved to "
            "carry it before it is lifted, and it is blocked while anybody works under it.",
            mass=(mass, "kg"),
        ),
    )


def _stored_air(planned: PlannedCandidate) -> Words:
    press = planned.plan.press
    if planned.candidate.process == "twin_sheet":
        volume, said = press.projected_area * planned.request.part.depth, IN_THE_HOLLOW
    else:
        volume, said = box_volume(press.box_area, drawn_depth(planned)), IN_THE_BOX
    figures = {
        "pressure": (press.pressure, "Pa"),
        "volume": (volume, "m3"),
        "energy": (stored_air_energy(press.pressure, volume).most, "J"),
        "mark": (HIGHLY_HAZARDOUS, "J"),
        "vessel": (PRESSURE_VESSEL, "Pa"),
    }
    return words(said, **{name: figure for name, figure in figures.items() if f"{{{name}}}" in said})


def _hot_sheet(planned: PlannedCandidate) -> Words:
    return words(
        "The skin of the sheet reaches {skin} in the oven and {mass} of it travel hot to the tool, hanging {sag}; the "
        "part comes off the tool at up to {demould}: nobody reaches in, and gloves are worn at unloading.",
        skin=(planned.plan.heating.surface_peak, "K"),
        mass=(planned.plan.blank_mass, "kg"),
        sag=(planned.plan.sag, "m"),
        demould=(planned.plan.cooling.demould_temperature, "K"),
    )


def _fumes(planned: PlannedCandidate) -> Words:
    polymer = planned.candidate.polymer
    acid = ", PVC giving off acid gas" if "PVC" in polymer.name.upper() else ""
    return words(
        f"{plain(polymer.name)} fumes when hot and degrades above {{limit}}, its upper forming temperature{acid}; the "
        "plan takes its skin to {skin}. Exhaust at the oven and a cut-out against overheating are needed, and a sheet "
        "that is held up in the oven is taken out.",
        limit=(polymer.upper_forming_temperature, "K"),
        skin=(planned.plan.heating.surface_peak, "K"),
    )


def conditions(
    chosen: PricedCandidate, request: PartRequest, on: date, advice: PriceAdvice | None = None
) -> tuple[Condition, ...]:
    """All that qualifies the quote: passes that depend on something, sheet minimums, dates, transfers, targets.

    Parameters
    ----------
    chosen : PricedCandidate
        The candidate that is quoted [-].
    request : PartRequest
        What was asked [-].
    on : date
        The day of the answer [-].
    advice : PriceAdvice, optional
        What resin does to the price, and what would reach a target [$].

    Returns
    -------
    conditions : tuple of Condition
        [-]
    """
    said: dict[Words, Condition] = {}  # two rules may ask for one and the same thing, such as plug assist
    for verdict in chosen.judged.verdicts:
        if verdict.condition:
            said.setdefault(verdict.condition, Condition(verdict.condition, verdict.reason))
    return (
        tuple(said.values())
        + _shrink_conditions(chosen)
        + _sheet_conditions(chosen)
        + regrind_conditions(chosen)
        + tooling_conditions(chosen, request)
        + _commercial_conditions(chosen, request, on)
        + (_advised_conditions(advice) if advice else ())
    )


def _shrink_conditions(chosen: PricedCandidate) -> tuple[Condition, ...]:
    """A polyolefin goes on shrinking off the tool; without a fixture that holds it, no size can be promised."""
    planned = chosen.judged.planned
    polymer, part = planned.candidate.polymer, planned.request.part
    if not needs_cooling_fixture(polymer):
        return ()
    side = max(part.length, part.width)
    figures = {"allowance": (shrink_allowance(polymer.shrinkage, side), "m"), "side": (side, "m")}
    most = "at most " if is_draped(planned) else ""
    what = (
        "the part is held in a cooling fixture, which comes with the transferred tool or is quoted after its arrival "
        f"inspection; the tool must have been cut larger by {most}{{allowance}} over {{side}}"
        if planned.request.tooling == "transfer"
        else f"the part is held in a cooling fixture; the tool is cut larger by {most}{{allowance}} over {{side}}"
    )
    held = "; a male tool holds it while it cools, so that less of it comes about" if most else ""
    why = words(
        f"{plain(polymer.name)} is semi-crystalline and goes on shrinking after it has left the tool, by {{share}} in "
        f"all{held}; the first article says by how much in this shape",
        share=(polymer.shrinkage, "share"),
    )
    return (Condition(words(what, **figures), why),)


def _sheet_conditions(chosen: PricedCandidate) -> tuple[Condition, ...]:
    shared = chosen.judged.planned.request.surplus == "shared"
    paid = "paid by the parts of the release and kept" if shared else "billed as a remainder or stored"
    counted = (
        "the surplus, at a cost of {cost}, is shared by the parts in the price"
        if shared
        else ("the surplus would cost {cost}, which is not in the price")
    )
    return tuple(
        Condition(
            words(
                f"the release of {excess.quantity} needs less sheet than the mill's minimum order; the surplus is "
                f"{paid} at the customer's risk"
            ),
            words(
                f"the release needs {{needed}} of sheet, the mill's minimum order is {{least}}, and {counted}",
                needed=(excess.order_mass, "kg"),
                least=(excess.minimum_order, "kg"),
                cost=(float(excess.cost), "$"),
            ),
        )
        for excess in chosen.cost.excess
    )


def _commercial_conditions(chosen: PricedCandidate, request: PartRequest, on: date) -> tuple[Condition, ...]:
    found = []
    late = weeks_late(chosen, on)
    if late > 0:
        earliest = chosen.cost.breaks[0].arrives
        found.append(
            Condition(
                words(
                    f"the date asked for cannot be met; the earliest for the first release is {earliest.isoformat()}"
                ),
                words("it would come {late} after the date it is needed", late=(late, "weeks")),
            )
        )
    if request.tooling == "transfer":
        found.append(
            Condition(
                words("piece prices hold only after the transferred tool has passed our arrival inspection"),
                words(
                    "repairs and changes to a tool we have not seen are quoted after it, and one cavity per blank is "
                    "priced until we know how many the tool has"
                ),
            )
        )
    return tuple(found)


def _advised_conditions(advice: PriceAdvice) -> tuple[Condition, ...]:
    """The target where it is missed, and the clause by which prices follow resin."""
    target = advice.target
    missed = () if target is None or target.met else (Condition(words("the target price is not met"), target.said),)
    return (*missed, Condition(advice.resin.clause, advice.resin.amounts))
