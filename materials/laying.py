"""How sheet comes to lie on the tool, stage by stage, for each way of forming: areas free and laid down."""

from dataclasses import dataclass, replace

import numpy as np

from materials.cavity import FormingMethod
from materials.pockets import Hollow, laid_wall, shallow_cap, swept_pocket, wall_reached
from materials.ranges import positive

# Plug: width of its flat face over that of the base, and how deep it goes over the depth. Common practice, no source:
# it keeps clear of the wall all round and stops a little above the base. While it goes, the sheet under its face thins
# at half the rate of the free sheet: half way between a plug that holds it and one on which it slides.
PLUG_FACE_SHARE = 0.85
PLUG_DEPTH_SHARE = 0.95

TIP_SHARE = 0.25  # -, a greater radius than this share of the first dome's does not keep the sheet out of a tip

FLATTENING, SLIDING, CLOSING = 30, 100, 60  # stages of each phase
LAST = -1  # filled last of all


@dataclass(frozen=True)
class Stages:
    """Areas [m2] by stage along the first axis, the flat sheet first, and where the places of the part are met."""

    surface: np.ndarray  # all sheet, free and laid down
    on_part: np.ndarray  # laid down on what becomes the part
    on_web: np.ndarray  # laid down beside it
    wall_done: np.ndarray  # share of the depth to which the wall is laid, from where that starts
    # at which stage each is laid down, a half for between two
    first: float  # the first place of the part
    edge: int  # edge between wall and base
    rim: int  # wall at the rim
    base: np.ndarray | float
    web: int  # at the clamp

    @property
    def laid(self) -> np.ndarray:
        """Sheet on the tool, part and web [m2]."""
        return self.on_part + self.on_web


def stages_of(hollow: Hollow, method: FormingMethod) -> Stages:
    """All stages of a way of forming.

    Parameters
    ----------
    hollow : Hollow
    method : FormingMethod

    Returns
    -------
    stages : Stages

    Raises
    ------
    OutsideRangeError
        A male tool without web.

    Examples
    --------
    >>> from materials.cavity import FormedShape
    >>> from materials.pockets import hollow_of
    >>> stages = stages_of(hollow_of(FormedShape("cylinder", 2.0, 2.0, 1.0, web=0.5)), FormingMethod())
    >>> round(float(stages.surface[0, 0] / np.pi), 6), len(stages.surface)
    (2.25, 193)
    """
    if method.tool_side == "male":
        return _draped(hollow, method.pre_stretch)
    if method.plug:
        return _plugged(hollow, method.pre_stretch)
    return _sunk(hollow, method.pre_stretch)


def _sunk(hollow: Hollow, pre_stretch: float) -> Stages:
    """Female tool: a dome, then it slides down the walls, touches the base, and the edges fill; or a shallow cap first.

    A cap over the rim that is not yet a dome touches the base of a shallow hollow and flattens there until it meets
    the walls. Phases that a hollow does not have take no area.
    """
    depth, contact, end = closing_radii(hollow)
    dome = np.minimum(depth, hollow.half * hollow.setback)
    deep = depth > hollow.half * hollow.setback
    reach = _geometric(hollow.half, dome * (1 + hollow.sine) / hollow.cosine, FLATTENING)
    cap, flattened = shallow_cap(hollow, dome, reach)
    depths, radius = _balls(dome, depth, (np.where(deep, hollow.half / hollow.cosine, contact), contact, end))
    pocket = swept_pocket(hollow, depths, radius)
    none, web = np.zeros((1, depth.size)), hollow.plan_area(-hollow.web) - hollow.area
    on_part = np.concatenate([none, flattened, pocket.base + pocket.walls])
    free = np.concatenate([none + hollow.area, cap, pocket.bottom + pocket.upright + pocket.rim_corners])
    done = np.concatenate([none, np.zeros_like(cap), wall_reached(hollow, depths, radius) / hollow.depth])
    return Stages(
        surface=_never_shrinking(web + on_part + free, web + pre_stretch * hollow.area),
        on_part=on_part,
        on_web=np.broadcast_to(web, on_part.shape),
        wall_done=done,
        first=1,
        edge=LAST,
        rim=len(cap),
        base=np.where(deep, len(cap) + 1 + SLIDING, 1),
        web=0,
    )


def _balls(dome: np.ndarray, depth: np.ndarray, radii: tuple[np.ndarray, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Depth and radius of the ball as it sinks from the dome to the base, then as it shrinks there.

    ``radii``: of the dome, at the touch of the base, at the end.
    """
    widest, contact, end = radii
    share = _even_ratio(contact / widest, SLIDING)
    closing = _geometric(contact, end, CLOSING)[1:]
    depths = np.concatenate([dome + (depth - dome) * share, np.broadcast_to(depth, closing.shape)])
    return depths, np.concatenate([widest + (contact - widest) * share, closing])


def _plugged(hollow: Hollow, pre_stretch: float) -> Stages:
    """Plug: its face carries sheet down, then the vacuum lays the ring around it from the rim down and the face out."""
    depth, _, radius = closing_radii(hollow)
    pocket = swept_pocket(hollow, depth, radius)
    corner = depth * hollow.tangent + radius * hollow.setback
    face = np.maximum(corner, hollow.half - PLUG_FACE_SHARE * (hollow.half - depth * hollow.tangent))
    share = _even_ratio(pocket.bottom / hollow.band(0.0, face, PLUG_DEPTH_SHARE * depth), CLOSING)
    down, inset = share * wall_reached(hollow, depth, radius), face + (corner - face) * share
    level = depth * (PLUG_DEPTH_SHARE + (1 - PLUG_DEPTH_SHARE) * share)
    tent = hollow.band(down * hollow.tangent, inset, level - down)
    free = tent + share * (pocket.bottom - tent[-1])  # the straight ring bulges into the edges
    walls = laid_wall(hollow, down, radius) + share * (pocket.upright + pocket.rim_corners)
    part = hollow.plan_area(inset) + walls
    web = hollow.plan_area(-hollow.web) - hollow.area
    start = (np.zeros_like(web), web, hollow.area)
    closing = (part, np.broadcast_to(web, part.shape), free)
    stages = _pushed(start, web + pre_stretch * hollow.area, closing, down / hollow.depth)
    return replace(stages, first=1.5, base=1.5)


def _draped(hollow: Hollow, pre_stretch: float) -> Stages:
    """Male tool: its top carries sheet up into a tent, then the vacuum lays it on wall and web, closing at the foot."""
    positive(web=hollow.web)  # the wall of a straight tool could come from nowhere else
    foot = np.minimum(hollow.corner_radius, np.minimum(hollow.web / hollow.setback, hollow.depth / (1 - hollow.sine)))
    top, reached = hollow.depth * hollow.tangent, wall_reached(hollow, hollow.depth, foot)
    clear = foot * hollow.setback
    chord = hollow.band((hollow.depth - reached) * hollow.tangent, -clear, hollow.depth - reached)
    arc = chord * hollow.bend / (2 * np.sin(hollow.bend / 2))
    share = _even_ratio(arc / hollow.band(top, -hollow.web, hollow.depth), CLOSING)
    down, outset = share * reached, hollow.web - share * (hollow.web - clear)
    inset = top - down * hollow.tangent
    free = hollow.band(inset, -outset, hollow.depth - down) + share * (arc - chord)
    part = hollow.plan_area(top) + hollow.band(top, inset, down)
    flat = hollow.plan_area(-hollow.web)
    web = flat - hollow.plan_area(-outset)
    closing = (part, web, free)
    touched = (part[:1], web[:1], flat - part[:1])
    closing = tuple(np.concatenate(rows) for rows in zip(touched, closing, strict=True))
    done = np.concatenate([touched[1], down / hollow.depth])
    stages = _pushed((np.zeros_like(flat), np.zeros_like(flat), flat), pre_stretch * flat, closing, done)
    return replace(stages, rim=LAST, edge=3, web=3)


def _pushed(
    start: tuple[np.ndarray, ...], bubble: np.ndarray, closing: tuple[np.ndarray, ...], wall_done: np.ndarray
) -> Stages:
    """Stages of a sheet that is pushed first: flat, as a bubble, and what follows.

    ``start``: areas on the part, on the web and free of the flat sheet; ``closing``: the same by stage.
    """
    on_part, on_web, free = (
        np.concatenate([first[None], first[None], later]) for first, later in zip(start, closing, strict=True)
    )
    done = np.concatenate([np.zeros((2, bubble.size)), wall_done])
    surface = _never_shrinking(on_part + on_web + free, bubble)
    return Stages(surface, on_part, on_web, done, first=2, edge=LAST, rim=2, base=2, web=0)


def closing_radii(hollow: Hollow) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Depth reached, radius of the ball when it touches the base, and the radius to which edges are filled [m].

    In a tip the ball comes to lie in the walls before it touches a base.
    """
    sharpest = np.minimum(hollow.corner_radius, TIP_SHARE * hollow.half / hollow.cosine)
    with np.errstate(divide="ignore", over="ignore"):
        tip = (hollow.half - sharpest * hollow.setback) / hollow.tangent
    depth = np.minimum(hollow.depth, np.maximum(tip, hollow.half * hollow.setback))
    wide = (hollow.half - depth * hollow.tangent) / hollow.setback
    contact = np.minimum(wide, depth / (1 - hollow.sine))
    return depth, contact, np.minimum(contact, hollow.corner_radius)


def _never_shrinking(surface: np.ndarray, bubble: np.ndarray) -> np.ndarray:
    """Surface as sheet has it: after the bubble it neither gathers nor, at the end, has more than the part."""
    held = np.concatenate([surface[:1], np.maximum(surface[1:], bubble)])
    return np.minimum(np.maximum.accumulate(held), surface[-1])


def _geometric(start: np.ndarray, end: np.ndarray, stages: int) -> np.ndarray:
    return start * (end / start) ** np.linspace(0, 1, stages + 1)[:, None]


def _even_ratio(ratio: np.ndarray, stages: int) -> np.ndarray:
    """Shares of a way on which a radius shrinks by the same ratio each time, ``ratio`` in all; even where it is 1."""
    share = np.linspace(0, 1, stages + 1)[:, None]
    logarithm = np.minimum(np.log(ratio), -1e-9)
    return np.expm1(share * logarithm) / np.expm1(logarithm)
