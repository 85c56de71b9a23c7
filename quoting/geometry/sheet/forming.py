"""A clamped hot sheet formed onto a tool, step by step: bubble, plug or tool pushed in, then vacuum."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from quoting.geometry.sheet.moving_sheet import MovingSheet
from quoting.geometry.sheet.relaxing import Gas, Rest, relax, volume_below
from quoting.geometry.sheet.tool_field import ToolField

Array = np.ndarray
Progress = Callable[[float, int], None]

GAS_STIFFNESS = 40.0  # pressure 1 (shear modulus times gauge over unit) for this part of the cavity's volume
PRESSURE_STEP = 0.2  # -, by which the pressure is raised at least, once what is left of the volume is little
CLOSING_SHARE = 4.0  # the volume let in at a step is at most what is left over this
PUSHES = 14  # steps of a plug or of a tool that is pushed in
BLOWS = 12  # steps of a bubble, each of the same volume
MOST_BLOWS = 60
RESTED = 0.01  # -, force left over at which a sheet is at rest; the last step of a way is no finer
PUSHED = 60  # steps in time for each of them: without gas the sheet is a tent that soon comes to rest
STRETCHED_EDGE = 1.8  # times the edges of the flat sheet, at which a triangle is halved
CURVED_EDGE = 0.6  # times the radius that the pressure can bend the sheet to
AHEAD = 0.8  # of the way of the last step that a sheet is carried before it comes to rest; at 1 it overshoots
SHARPEST = 8.0  # edges of the finest triangles in the radius to which the pressure can bend the sheet, where it ends
SETTLING_STEPS = 2  # of a draw: what a plug or a bubble left behind swings, and its way says nothing about the next
SPLITS = 2  # triangles more for each that is halved, its neighbours counted
STRAYING = 0.1  # -, of the shorter half side: how far beside the tool or above the clamp a sheet may swing for a while
BRIDGING = 2.0  # cells between tool and the middle of a triangle held at all corners, at which it does not lie on it


@dataclass(frozen=True)
class Effort:
    """How far a forming goes at most.

    The volume is let in by one part of ``steps`` at a time, in at most twice as many steps of at most ``relaxing``
    steps in time each; ``faces`` that halving may lead to; ``finest`` edge [-] in units of the tool field, and ``edge``
    of the flat sheet.
    """

    steps: int
    relaxing: int
    faces: int
    finest: float
    edge: float
    covered: float = 0.995  # -, share of the sheet on the tool at which it is formed


@dataclass
class Forming:
    """A forming on its way. ``cavity``: volume between start level and tool [-]."""

    sheet: MovingSheet
    tool: ToolField
    gas: Gas
    cavity: float
    effort: Effort
    mooney: float
    slip: float
    steps: int = 0
    marched: int = 0
    bubble: float = 1.0  # area of the bubble over that of the flat sheet
    stopped: bool = False  # a step went astray and was taken back
    unbalanced: list[float] = field(default_factory=list)
    progress: Progress | None = None

    def rest(self, tool: ToolField | None, most: int | None = None, ahead: float = 0.0) -> Rest:
        """Let the sheet come to rest and keep count; what came to lie on the grid goes onto the tool itself.

        It starts ``ahead`` times the way of the last step further on.
        """
        held, free, wall = self.sheet.held.copy(), self.sheet.free(), self.sheet.wall()
        places = self.sheet.places.copy()
        way = ahead * self.sheet.way if ahead else None
        rest = relax(self.sheet, tool, self.gas, most or self.effort.relaxing, RESTED, self.mooney, way)
        rising = tool is None or self.gas.only_holds  # a bubble may
        if self._astray(np.inf if rising else float(places[2].max())):
            self.sheet.places, self.sheet.held, self.stopped = places, held, True
            return rest
        if self.slip > 0:
            areas = self.sheet.areas()[free]
            now = float(self.sheet.volume[free].sum() / areas.sum()) if areas.size else wall
            self.sheet.slip(min(now / wall, 1.0) ** self.slip, free)
        self.steps += 1
        self.marched += rest.steps
        self.unbalanced.append(rest.unbalanced)
        self._settle(self.sheet.held & ~held)
        self.sheet.way = self.sheet.places - places
        if self.progress:
            self.progress(min(max(rest.volume / self.cavity, 0.0), 1.0), self.steps)
        return rest

    def _astray(self, highest: float) -> bool:
        """A node is outside the clamp, below the tool, higher than any was or nowhere."""
        x, y, z = self.sheet.places
        side = -self.tool.low
        beside = max(float(np.max(np.abs(x))) - side[0], float(np.max(np.abs(y))) - side[1])
        below = float(self.tool.heights.min()) - float(np.min(z))
        above = float(np.max(z)) - max(highest, self.gas.level)
        return not max(beside, below, above) < STRAYING

    def _settle(self, fresh: Array) -> None:
        if fresh.any():
            self.sheet.places[:, fresh] = self.tool.settled(self.sheet.places[:, fresh].T).T

    def volume(self) -> float:
        return volume_below(self.gas.level, self.sheet.faces, self.sheet.places)

    def softened(self) -> None:
        """A gas as stiff as at first: each relaxation lowers it as far as it must."""
        self.gas.stiffness = GAS_STIFFNESS / max(self.cavity, 1e-9)

    def touching(self) -> Array:
        """Triangles (m,) that lie on the tool all over. What is held all round moves no more: it is looked at once."""
        sheet, held = self.sheet, ~self.sheet.free()
        which = np.flatnonzero(held & (sheet.lying < 0))
        if which.size:
            middles = sheet.places[:, sheet.faces[:, which]].mean(axis=1).T
            sheet.lying[which] = self.tool.touches(middles, BRIDGING * self.tool.cell)
        return held & (sheet.lying == 1)

    def covered(self, of: Array | None = None) -> float:
        """Share of the sheet's area on the tool [-], of some triangles or of all."""
        areas, touching = self.sheet.areas(), self.touching()
        if of is None:
            of = np.ones(areas.size, bool)
        return float(areas[of & touching].sum() / max(areas[of].sum(), 1e-300))

    def refine(self) -> None:
        """Halve triangles that are too long for how far they are stretched or bent."""
        for _ in range(4):
            sheet, pressure = self.sheet, max(self.gas.pressure(self.volume()), 1e-9)
            longest = sheet.longest()
            limit = max(self.effort.finest, min(STRETCHED_EDGE * self.effort.edge, CURVED_EDGE / pressure))
            moving = ~self.touching()
            room = (self.effort.faces - sheet.faces.shape[1]) // SPLITS
            order = np.argsort(np.where(moving & (longest > limit), -longest, 0.0))
            wanted = np.zeros(longest.size, bool)
            wanted[order[: max(room, 0)]] = True
            wanted &= moving & (longest > limit)
            if not wanted.any():
                return
            count = sheet.held.size
            sheet.split(wanted, self.tool)
            self._settle(sheet.held & ~sheet.clamped & (np.arange(sheet.held.size) >= count))


def blow(forming: Forming, ratio: float, highest: float) -> None:
    """Blow a bubble away from the tool until the sheet has ``ratio`` times its area over what can move.

    Or until it is ``highest`` above the clamp: more would fold.
    """
    sheet, gas = forming.sheet, forming.gas
    part = sheet.free()
    flat = float(sheet.areas()[part].sum())
    forming.softened()
    for _ in range(MOST_BLOWS):
        area, height = float(sheet.areas()[part].sum()), float(sheet.places[2].max()) - gas.level
        if area >= ratio * flat or height >= highest or forming.stopped:
            break
        gas.let_in -= flat**1.5 / 6 / BLOWS
        forming.rest(None)
    forming.bubble = area / flat


def turn_bubble(forming: Forming) -> None:
    """Suck a bubble in: it snaps through to its mirror image, and what would be in the tool then lies on it.

    It has no time to draw together on the way, so that the base gets sheet that is stretched already.
    """
    sheet, tool, level = forming.sheet, forming.tool, forming.gas.level
    sheet.places[2] = np.where(sheet.held, sheet.places[2], 2 * level - sheet.places[2])
    inside = np.flatnonzero(~sheet.held & (sheet.places[2] <= tool.height(sheet.places[0], sheet.places[1])))
    if inside.size:
        sheet.places[:, inside] = tool.settled(tool.nearest(sheet.places[:, inside].T)[1]).T
        sheet.held[inside] = True


def push_plug(forming: Forming, face: float, depth: float) -> None:
    """Carry a flat plug, ``face`` times the base wide, to ``depth`` times the depth; the sheet holds to its face."""
    sheet, tool, gas = forming.sheet, forming.tool, forming.gas
    bottom, level, bubble = float(tool.heights.min()), gas.level, forming.volume()
    stuck = np.zeros(sheet.held.size, bool)
    for share in np.linspace(0, depth, PUSHES + 1)[1:]:
        low = level - share * (level - bottom)
        over = tool.height(sheet.places[0] / face, sheet.places[1] / face) - bottom < 0.02 * tool.depth
        stuck |= over & (sheet.places[2] >= low) & ~sheet.held
        sheet.places[2, stuck] = np.maximum(low, tool.height(*sheet.places[:2, stuck]))
        sheet.held |= stuck
        gas.let_in, gas.only_holds = bubble * (1 - share / depth), True  # a bubble is let out as the plug comes
        gas.stiffness = gas.stiffness if bubble < 0 else 0.0
        forming.rest(tool, forming.effort.relaxing if bubble < 0 else PUSHED)
        _split_stretched(forming)
        stuck = np.append(stuck, np.zeros(sheet.held.size - stuck.size, bool))
    gas.only_holds = False
    sheet.held[stuck] = sheet.places[2, stuck] <= tool.height(*sheet.places[:2, stuck])
    sheet.lying[:] = -1  # what the plug held is free again


def _split_stretched(forming: Forming) -> None:
    sheet = forming.sheet
    wanted = sheet.free() & (sheet.longest() > STRETCHED_EDGE * forming.effort.edge)
    if wanted.any() and sheet.faces.shape[1] + 2 * wanted.sum() < forming.effort.faces:
        sheet.split(wanted, forming.tool)


def push_tool(forming: Forming) -> None:
    """Push a male tool into the sheet: seen from the tool, the clamp comes down to its foot.

    The gas of a bubble is let out as the tool comes.
    """
    sheet, tool, gas, start = forming.sheet, forming.tool, forming.gas, forming.gas.level
    bubble, now = forming.volume(), start
    flat = float(np.prod(np.ptp(sheet.flat[:, sheet.clamped], axis=1)))
    for share in np.linspace(0, 1, PUSHES + 1)[1:]:
        level = start - share * (start - tool.rest)
        _lower(sheet, start, now, level, blown=bubble < 0)
        under = tool.height(sheet.places[0], sheet.places[1])
        hit = ~sheet.held & (sheet.places[2] <= under)
        sheet.places[2, hit] = under[hit]
        sheet.held |= hit
        gas.let_in, gas.only_holds = (start - level) * flat + bubble * (1 - share), True
        gas.stiffness = gas.stiffness if bubble < 0 else 0.0
        forming.rest(tool, forming.effort.relaxing if bubble < 0 else PUSHED)
        _split_stretched(forming)
        now = level
    gas.only_holds = False


def _lower(sheet: MovingSheet, start: float, now: float, level: float, blown: bool) -> None:
    """Carry the clamp from one level to the next: a bubble goes with it, a tent gets as much deeper everywhere."""
    loose = ~sheet.held
    if blown:
        sheet.places[2, loose] += level - now
    elif now < start:
        sheet.places[2, loose] = start + (sheet.places[2, loose] - start) * (level - start) / (now - start)
    sheet.places[2, sheet.clamped] = level


def draw(forming: Forming) -> None:
    """Draw the sheet onto the tool until it covers it, or as far as the effort goes."""
    gas = forming.gas
    forming.softened()
    gas.let_in = forming.volume()
    before = None
    for number in range(2 * forming.effort.steps):
        volume = forming.volume()
        pressure = max(gas.pressure(volume), 0.0)
        forming.softened()  # what the last relaxation softened; the pressure stays
        left = max(forming.cavity - volume, 0.0)
        step = min(forming.cavity / forming.effort.steps, left / CLOSING_SHARE)
        gas.let_in = volume + pressure / gas.stiffness + max(step, PRESSURE_STEP * pressure / gas.stiffness)
        now = gas.let_in - pressure / gas.stiffness - volume
        forming.rest(forming.tool, ahead=AHEAD * min(now / before, 1.0) if before else 0.0)
        before = now if number >= SETTLING_STEPS else None
        forming.refine()
        if (
            pressure * forming.effort.finest > SHARPEST
            or forming.stopped
            or not forming.sheet.free().any()
            or forming.covered() >= forming.effort.covered
        ):
            return
