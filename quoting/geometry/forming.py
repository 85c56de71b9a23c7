"""A clamped hot sheet formed onto a tool, step by step: bubble, plug or tool pushed in, then vacuum."""

from dataclasses import dataclass, field

import numpy as np

from quoting.geometry.moving_sheet import MovingSheet
from quoting.geometry.relaxing import Gas, Rest, relax, volume_below
from quoting.geometry.tool_field import ToolField

Array = np.ndarray

GAS_STIFFNESS = 40.0  # pressure 1 (shear modulus times gauge over unit) for this part of the cavity's volume
PRESSURE_STEP = 0.2  # -, by which the pressure is raised at least, once what is left of the volume is little
CLOSING_SHARE = 4.0  # the volume let in at a step is at most what is left over this
PUSHES = 14  # steps of a plug or of a tool that is pushed in
BLOWS = 12  # steps of a bubble, each of the same volume
MOST_BLOWS = 60
RESTED = 0.01  # -, force left over at which a sheet is at rest; the last step of a way is no finer
PLUG_STEPS = 60  # steps in time for each step of a plug
STRETCHED_EDGE = 1.8  # times the edges of the flat sheet, at which a triangle is halved
CURVED_EDGE = 0.6  # times the radius that the pressure can bend the sheet to
BRIDGING = 2.0  # cells between tool and the middle of a triangle held at all corners, at which it does not lie on it


@dataclass(frozen=True)
class Effort:
    """How far a forming goes at most.

    The volume is let in by one part of ``steps`` at a time, in at most twice as many steps of at most ``relaxing`` steps
    in time each; ``faces`` that halving may lead to;
    ``finest`` edge [-] in units of the tool field, and ``edge`` of the flat sheet.
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
    unbalanced: list[float] = field(default_factory=list)

    def rest(self, tool: ToolField | None, most: int | None = None) -> Rest:
        """Let the sheet come to rest and keep count; what came to lie on the grid goes onto the tool itself."""
        held, free, wall = self.sheet.held.copy(), self.sheet.free(), self.sheet.wall()
        rest = relax(self.sheet, tool, self.gas, most or self.effort.relaxing, RESTED, self.mooney)
        if self.slip > 0:
            areas = self.sheet.areas()[free]
            now = float(self.sheet.volume[free].sum() / areas.sum()) if areas.size else wall
            self.sheet.slip(min(now / wall, 1.0) ** self.slip, free)
        self.steps += 1
        self.marched += rest.steps
        self.unbalanced.append(rest.unbalanced)
        self._settle(self.sheet.held & ~held)
        return rest

    def _settle(self, fresh: Array) -> None:
        if fresh.any():
            self.sheet.places[:, fresh] = self.tool.settled(self.sheet.places[:, fresh].T).T

    def volume(self) -> float:
        return volume_below(self.gas.level, self.sheet.faces, self.sheet.places)

    def softened(self) -> None:
        """A gas as stiff as at first: each relaxation lowers it as far as it must."""
        self.gas.stiffness = GAS_STIFFNESS / max(self.cavity, 1e-9)

    def touching(self) -> Array:
        """Triangles (m,) that lie on the tool all over."""
        held = ~self.sheet.free()
        which = np.flatnonzero(held)
        distance, _ = self.tool.nearest(self.sheet.centres()[which])
        held[which] = distance < BRIDGING * self.tool.cell
        return held

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
            wanted = moving & (longest > limit)
            if not wanted.any() or sheet.faces.shape[1] + 2 * wanted.sum() > self.effort.faces:
                return
            count = sheet.held.size
            sheet.split(wanted, self.tool)
            self._settle(sheet.held & ~sheet.clamped & (np.arange(sheet.held.size) >= count))


def blow(forming: Forming, ratio: float) -> None:
    """Blow a bubble away from the tool until the sheet has ``ratio`` times its area over what can move, and set it.

    The bubble is taken to keep its shape without stress: hot sheet creeps while it is held.
    """
    sheet, gas = forming.sheet, forming.gas
    part = sheet.free()
    flat = float(sheet.areas()[part].sum())
    reach = np.sqrt(flat)
    for _ in range(MOST_BLOWS):
        if float(sheet.areas()[part].sum()) >= ratio * flat:
            break
        gas.let_in -= flat * reach / 6 / BLOWS
        forming.rest(None)
    sheet.set_as_it_is()


def turn_bubble(forming: Forming) -> None:
    """Suck a bubble in: its mirror image, less deep where it would reach into the tool."""
    sheet, tool, level = forming.sheet, forming.tool, forming.gas.level
    above = sheet.places[2] - level
    room = level - tool.height(sheet.places[0], sheet.places[1])
    high = (above > 1e-9) & ~sheet.held
    share = float(min(1.0, np.min(room[high] / above[high], initial=1.0)))
    sheet.places[2] = np.where(high, level - max(share, 0.0) * above, sheet.places[2])
    forming.gas.let_in = forming.volume()


def push_plug(forming: Forming, face: float, depth: float) -> None:
    """Carry a flat plug, ``face`` times the base wide, to ``depth`` times the depth; the sheet holds to its face."""
    sheet, tool = forming.sheet, forming.tool
    bottom, level = float(tool.heights.min()), forming.gas.level
    stuck = np.zeros(sheet.held.size, bool)
    for share in np.linspace(0, depth, PUSHES + 1)[1:]:
        low = level - share * (level - bottom)
        over = tool.height(sheet.places[0] / face, sheet.places[1] / face) - bottom < 0.02 * tool.depth
        stuck |= over & (sheet.places[2] >= low) & ~sheet.held
        sheet.places[2, stuck] = np.maximum(low, tool.height(*sheet.places[:2, stuck]))
        sheet.held |= stuck
        forming.gas.let_in, forming.gas.stiffness = 0.0, 0.0
        forming.rest(tool, PLUG_STEPS)
        _split_stretched(forming, stuck)
        stuck = np.append(stuck, np.zeros(sheet.held.size - stuck.size, bool))
    sheet.held[stuck] = sheet.places[2, stuck] <= tool.height(*sheet.places[:2, stuck])


def _split_stretched(forming: Forming, stuck: Array) -> None:
    sheet = forming.sheet
    wanted = sheet.free() & (sheet.longest() > STRETCHED_EDGE * forming.effort.edge)
    if wanted.any() and sheet.faces.shape[1] + 2 * wanted.sum() < forming.effort.faces:
        sheet.split(wanted, forming.tool)


def push_tool(forming: Forming, bubble: bool) -> None:
    """Push a male tool into the sheet: seen from the tool, the clamp comes down to its foot."""
    sheet, tool, start = forming.sheet, forming.tool, forming.gas.level
    now = start
    for level in np.linspace(start, tool.rest, PUSHES + 1)[1:]:
        loose = ~sheet.held & ~sheet.clamped
        if bubble or now == start:
            lower = np.where(loose, level - now if bubble else 0.0, 0.0)
        else:
            lower = np.where(loose, (sheet.places[2] - start) * ((level - start) / (now - start) - 1), 0.0)
        sheet.places[2] += lower
        sheet.places[2, sheet.clamped] = level
        under = tool.height(sheet.places[0], sheet.places[1])
        hit = loose & (sheet.places[2] <= under)
        sheet.places[2, hit] = under[hit]
        sheet.held |= hit
        forming.gas.let_in, forming.gas.stiffness = 0.0, 0.0
        forming.rest(tool, PLUG_STEPS)
        _split_stretched(forming, sheet.held)
        now = level


def draw(forming: Forming) -> None:
    """Draw the sheet onto the tool until it covers it, or as far as the effort goes."""
    gas = forming.gas
    forming.softened()
    gas.let_in = forming.volume()
    for _ in range(2 * forming.effort.steps):
        volume = forming.volume()
        pressure = max(gas.pressure(volume), 0.0)
        forming.softened()  # what the last relaxation softened; the pressure stays
        left = max(forming.cavity - volume, 0.0)
        step = min(forming.cavity / forming.effort.steps, left / CLOSING_SHARE)
        gas.let_in = volume + pressure / gas.stiffness + max(step, PRESSURE_STEP * pressure / gas.stiffness)
        forming.rest(forming.tool)
        forming.refine()
        if not forming.sheet.free().any() or forming.covered() >= forming.effort.covered:
            return
