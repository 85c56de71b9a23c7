"""What a blank that is laid out asks of frame and press, before any heat: how far it hangs, what presses on it."""

from machines.machine import Machine
from machines.press import force, forming_pressure
from materials.sag import sag
from quoting.intake.part import Part
from quoting.routing.candidate import Candidate, Layout, Press
from quoting.routing.nesting import clamp_of, free_spans


def hanging(part: Part, candidate: Candidate) -> float:
    """How far the hot sheet of a candidate hangs in its frame under its own weight [m]."""
    polymer, clamp = candidate.polymer, clamp_of(part, candidate.process, candidate.gauge)
    return sag(polymer.density, polymer.hot_modulus, *free_spans(candidate.layout, clamp))


def press_of(part: Part, process: str, machine: Machine, layout: Layout, gauge: float) -> Press:
    """What presses on the parts of one blank, and the area inside the seal of a pressure box.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    machine : Machine
        [-]
    layout : Layout
        [-]
    gauge : float
        Of one sheet [m], above 0.

    Returns
    -------
    press : Press
        [SI]
    """
    along, across = free_spans(layout, clamp_of(part, process, gauge))
    pressure = pressure_on_sheet(part, process, machine)
    area = layout.cavities * part.length * part.width
    return Press(area, along * across, pressure, force(pressure, area), machine.lock_force)


def pressure_on_sheet(part: Part, process: str, machine: Machine) -> float:
    """What presses the sheet onto its tool [Pa]: more where a texture is to be printed."""
    return forming_pressure(process, machine.vacuum_pressure, part.texture_depth > 0)
