"""The plastic part against the fabricated metal part that it replaces: what is known, and what is assumed."""

from dataclasses import dataclass

from materials.sections import (
    flat_second_moment,
    groove_height,
    grooved_wall,
    plate_stiffness,
    skin_distance,
    skins_second_moment,
)
from materials.stiffness import (
    LASTING,
    METALS,
    PLASTIC_POISSON,
    Metal,
    equal_stiffness_thickness,
    expansion_of,
    stiffness_ratio,
    warm_modulus,
)
from quoting.intake.part import Part, PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.words import Words, words

ASSEMBLED = 293.15  # K, 20 degC, at which parts are put together: common practice, no source
BOX_SEAMS = 4  # count: the upright corners of an open box bent from one blank
ADDED_PIECES = ("insert", "bonded_block", "weld_stud", "rivet", "gasket")  # operations that add a piece each
GROOVES, SKINS = "grooves", "two skins"

# Common practice, no source, all of them.
METAL_CORROSION = {
    "steel": "rusts wherever its paint, powder coat or zinc is scratched, cut or welded through; the coat is a "
    "cost, a mass and a step that are not counted here",
    "aluminium": "does not rust; pits in salt and corrodes next to steel or copper fasteners; anodised or painted "
    "where it is seen",
    "stainless": "needs no coat; stains and pits in crevices and at welds where salt or chlorine stands",
}
PLASTIC_CORROSION = "does not rust and needs no coat: a scratch shows the same colour"


@dataclass(frozen=True)
class Stiffness:
    """Bending of plastic over metal, at equal width [-]; moduli [Pa], heights outside to outside [m].

    ``warm`` is at the highest temperature in use under loads of minutes, ``lasting`` there under loads that stay; None
    above the deflection temperature, where the sheet carries no load.
    """

    metal_modulus: float
    modulus: float
    warm_modulus: float | None
    lasting_modulus: float | None
    service_temperature: float
    plate_ratio: float  # flat plates that may not narrow as they bend
    outline_ratio: float  # the same folded outline in both: modulus times wall
    warm_ratio: float | None  # flat
    lasting_ratio: float | None  # flat
    shape: str  # of GROOVES, SKINS
    equal_height: float  # of that shape, from the same sheet, as stiff as the flat metal: cold, loads of minutes
    lasting_height: float | None  # warm, under loads that stay
    drawn_height: float | None  # of the two skins as drawn
    drawn_ratio: float | None  # of them, warm, under loads that stay


@dataclass(frozen=True)
class Growth:
    """How much longer the longer side gets from assembly to the highest temperature in use."""

    length: float
    rise: float  # K
    metal: float
    plastic: float


@dataclass(frozen=True)
class Joints:
    """Pieces and seams. None: the inquiry does not tell, and nothing is made up."""

    metal_parts: int | None
    metal_welds: int | None
    metal_seam_length: float | None
    box_seam_length: float  # of the upright corners of an open box of these sizes
    formed_pieces: int
    added_pieces: int
    plastic_seam_length: float
    cut_openings: int  # trimmed openings and holes, in both


@dataclass(frozen=True)
class MetalComparison:
    """Metal part of the same surface and one thickness against the plastic part as formed."""

    metal: str
    metal_thickness: float
    metal_mass: float  # kg
    plastic_mass: float
    mass_ratio: float
    stiffness_ratio: float  # plastic mean wall over metal, per unit width, flat
    equal_stiffness_wall: float  # plastic wall that would match the flat metal
    assumptions: tuple[Words, ...]
    stiffness: Stiffness | None = None
    growth: Growth | None = None
    joints: Joints | None = None
    metal_corrosion: Words | None = None
    plastic_corrosion: tuple[Words, ...] = ()


def metal_comparison(planned: PlannedCandidate) -> MetalComparison | None:
    """Mass, stiffness, growth, corrosion, pieces and seams against the fabricated metal part.

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate that is quoted [-].

    Returns
    -------
    comparison : MetalComparison or None
        None when no metal part is replaced [-].
    """
    asked = planned.request.replaces_metal
    if asked is None:
        return None
    data, part, plan = METALS[asked.metal], planned.request.part, planned.plan
    modulus, wall = planned.candidate.polymer.flexural_modulus, plan.thinning.mean_wall
    mass = part.surface_area * asked.thickness * data.density
    stiffness = _stiffness(planned, data, asked.thickness)
    return MetalComparison(
        metal=asked.metal,
        metal_thickness=asked.thickness,
        metal_mass=mass,
        plastic_mass=plan.part_mass,
        mass_ratio=plan.part_mass / mass,
        stiffness_ratio=stiffness_ratio(modulus, wall, data.modulus, asked.thickness),
        equal_stiffness_wall=equal_stiffness_thickness(data.modulus, asked.thickness, modulus),
        assumptions=_assumptions(part, stiffness),
        stiffness=stiffness,
        growth=_growth(planned, data),
        joints=_joints(planned),
        metal_corrosion=words(METAL_CORROSION[asked.metal]),
        plastic_corrosion=_plastic_corrosion(planned.request),
    )


def _stiffness(planned: PlannedCandidate, data: Metal, thickness: float) -> Stiffness:
    part, polymer, wall = planned.request.part, planned.candidate.polymer, planned.plan.thinning.mean_wall
    cold = polymer.flexural_modulus
    warm = warm_modulus(cold, polymer.deflection_temperature, part.service_temperature)
    lasting = None if warm is None else LASTING * warm
    needed = data.modulus * flat_second_moment(thickness)  # N m
    twin = planned.candidate.process == "twin_sheet"
    height = _skins_height if twin else _grooves_height
    apart = part.depth - wall if twin and part.depth > 2 * wall else None
    drawn = apart is not None and lasting is not None
    return Stiffness(
        metal_modulus=data.modulus,
        modulus=cold,
        warm_modulus=warm,
        lasting_modulus=lasting,
        service_temperature=part.service_temperature,
        plate_ratio=plate_stiffness(cold, wall, PLASTIC_POISSON)
        / plate_stiffness(data.modulus, thickness, data.poisson),
        outline_ratio=cold * wall / (data.modulus * thickness),
        warm_ratio=None if warm is None else stiffness_ratio(warm, wall, data.modulus, thickness),
        lasting_ratio=None if lasting is None else stiffness_ratio(lasting, wall, data.modulus, thickness),
        shape=SKINS if twin else GROOVES,
        equal_height=height(needed / cold, wall),
        lasting_height=None if lasting is None else height(needed / lasting, wall),
        drawn_height=None if apart is None else part.depth,
        drawn_ratio=lasting * skins_second_moment(wall, apart) / needed if drawn else None,
    )


def _grooves_height(second_moment: float, wall: float) -> float:
    """Outside to outside; the wall itself where flat is enough [m]."""
    between = groove_height(second_moment, wall)
    return between + grooved_wall(wall) if between else wall


def _skins_height(second_moment: float, wall: float) -> float:
    return skin_distance(second_moment, wall) + wall


def _growth(planned: PlannedCandidate, data: Metal) -> Growth:
    part = planned.request.part
    side, rise = max(part.length, part.width), part.service_temperature - ASSEMBLED
    own = expansion_of(side, planned.candidate.polymer.expansion, rise)
    return Growth(side, rise, expansion_of(side, data.expansion, rise), own)


def _joints(planned: PlannedCandidate) -> Joints:
    request = planned.request
    part, asked = request.part, request.replaces_metal
    twin = planned.candidate.process == "twin_sheet"
    return Joints(
        metal_parts=asked.parts,
        metal_welds=asked.welds,
        metal_seam_length=asked.seam_length,
        box_seam_length=BOX_SEAMS * part.depth,
        formed_pieces=1,
        added_pieces=sum(one.count for one in request.secondary if one.operation in ADDED_PIECES),
        plastic_seam_length=2 * (part.length + part.width) if twin else 0.0,
        cut_openings=part.openings + part.holes,
    )


def _plastic_corrosion(request: PartRequest) -> tuple[Words, ...]:
    sun = (
        "outdoor use in sunlight was asked, so only sheet with such a grade is taken"
        if "outdoor_uv" in request.needs
        else "outdoor use in sunlight was not asked: most sheet without a grade for it fades and turns brittle outside"
    )
    fluids = "fuels, solvents, oils and cleaners can craze or soften plastic that metal would stand: name them to us"
    return words(PLASTIC_CORROSION), words(sun), words(fluids)


def _assumptions(part: Part, stiffness: Stiffness) -> tuple[Words, ...]:
    said = [
        words("the metal part has the same formed surface of one skin, {area}, and one thickness; coats, brackets and "
              "fasteners of it are not weighed", area=(part.surface_area, "m2")),
        words("flat stiffness is that of flat panels of equal width: modulus times thickness cubed; the mean wall "
              "after forming counts, and thin corners do not"),
        words("plastics creep: under lasting load {kept} of the stiffness is counted, where 30 to 50 % is usual "
              "(common practice, no source)", kept=(LASTING, "share")),
        words("the modulus at {warm}, the highest temperature in use, lies on a straight line from the data sheet's to "
              "what the bar of the deflection test has left; that test is no design value, and a load that matters "
              "needs the maker's creep curves and a trial part", warm=(stiffness.service_temperature, "K")),
        _shape_assumption(stiffness),
        words("growth is from {assembled} to the highest temperature in use; slots and loose fasteners must let the "
              "plastic move on a metal frame", assembled=(ASSEMBLED, "K")),
        words("seams that leak are those of the skin; trimmed openings and holes are the same in both"),
    ]  # fmt: skip
    return tuple(said)


def _shape_assumption(stiffness: Stiffness) -> Words:
    if stiffness.shape == SKINS:
        return words("two skins count as one section only where they are welded to each other often enough; without "
                     "that they bend as two flat walls")  # fmt: skip
    return words("grooves are square folds of the same sheet, as wide as twice their depth, so that the wall thins to "
                 "two thirds; they stiffen along themselves and hardly across, and none are in the price unless the "
                 "drawing shows them")  # fmt: skip
