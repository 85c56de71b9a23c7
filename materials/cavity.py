"""The shape that a sheet is formed to, and the way in which it is formed."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from math import pi

import numpy as np

from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive

KINDS = ("box", "cylinder", "cone", "wedge", "pyramid")
TOOL_SIDES = ("female", "male")
FUZZ = 1e-9  # -, rounding of sizes that were converted between units


@dataclass(frozen=True)
class FormedShape:
    """An open hollow with a flat base, one value or arrays side by side.

    A pyramid is a box with much draft, a cone a cylinder with draft; where their walls meet they have no base and
    ``corner_radius`` rounds the tip. A cylinder longer than wide has half-round ends. A wedge is a long V trough, or a
    U trough where draft and depth leave a base; its ends are not counted.

    Parameters
    ----------
    kind : {'box', 'cylinder', 'cone', 'wedge', 'pyramid'}
    length, width : float or array
        At the rim of the hollow, the foot of a male tool [m], above 0; the smaller one is the width.
    depth : float or array
        Along the draw [m], 0 or more.
    draft : float or array
        Angle of the walls from the direction of draw [rad], 0 up to below pi/2.
    corner_radius : float or array
        Of all inside edges and corners [m], above 0; the greatest that fits where it is greater.
    web : float or array
        Width of the strip of sheet around the hollow, inside the clamp, that belongs to it [m], 0 or more; above 0
        on a male tool, which draws its wall from there.

    Raises
    ------
    OutsideRangeError
        A value is out of range, or the walls meet above the base.
    """

    kind: str
    length: Number
    width: Number
    depth: Number
    draft: Number = 0.0
    corner_radius: Number = 0.003
    web: Number = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise OutsideRangeError("kind", self.kind, f"one of {', '.join(KINDS)}")
        positive(length=self.length, width=self.width, corner_radius=self.corner_radius)
        not_negative(depth=self.depth, draft=self.draft, web=self.web)
        if not holds(np.less(self.draft, pi / 2)):
            raise OutsideRangeError("draft", self.draft, "0 up to below pi/2")
        narrowest = self.width if self.kind == "wedge" else np.minimum(self.length, self.width)
        if not holds(2 * self.depth * np.tan(self.draft) <= narrowest * (1 + FUZZ)):
            raise OutsideRangeError("depth", self.depth, "small enough that the walls do not meet above the base")

    def sizes(self) -> Iterator[Number]:
        """Its numbers in the order of its fields, without the kind."""
        return (getattr(self, field.name) for field in fields(self)[1:])


@dataclass(frozen=True)
class FormingMethod:
    """How the sheet is brought to the tool.

    Parameters
    ----------
    tool_side : {'female', 'male'}
    plug : bool
        A plug pushes the sheet into a female tool before the vacuum; a male tool has none.
    pre_stretch : float
        Area of a free bubble blown before the tool is touched over the flat area [-], 1 (no bubble) or more. A bubble
        with more area than the part would fold; it counts as the part's own area.
    """

    tool_side: str = "female"
    plug: bool = False
    pre_stretch: float = 1.0

    def __post_init__(self) -> None:
        if self.tool_side not in TOOL_SIDES:
            raise OutsideRangeError("tool_side", self.tool_side, "female or male")
        if self.plug and self.tool_side == "male":
            raise OutsideRangeError("plug", self.plug, "False on a male tool")
        positive(pre_stretch=self.pre_stretch)
        if not holds(self.pre_stretch >= 1):
            raise OutsideRangeError("pre_stretch", self.pre_stretch, "1 or more")
