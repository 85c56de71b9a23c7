"""A STEP file of a plain box, written by hand: eight corners, twelve edges, six flat faces."""

from itertools import product

HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('a box'),'2;1');
FILE_NAME('box.step','2026-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 }'));
ENDSEC;
DATA;
"""
MILLIMETRE = ("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))",)
INCH = (
    "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))",
    "LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#1)",
    "DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)",
    "(CONVERSION_BASED_UNIT('INCH',#2)LENGTH_UNIT()NAMED_UNIT(#3))",
)


class _Lines:
    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, entity: str) -> str:
        self.lines.append(f"#{len(self.lines) + 1}={entity};")
        return f"#{len(self.lines)}"

    def triple(self, kind: str, numbers: tuple[float, ...]) -> str:
        return self.add(f"{kind}('',({','.join(f'{float(n)!r}' for n in numbers)}))")


def step_box(length: float, width: float, depth: float, unit: tuple[str, ...] = MILLIMETRE) -> str:
    """The text of a STEP file with one closed box, its sizes along X, Y and Z in ``unit``."""
    step = _Lines()
    unit_id = [step.add(line) for line in unit][-1]
    solid = _solid(step, (length, width, depth))
    radian = step.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    steradian = step.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    fuzz = step.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),{unit_id},'accuracy','')")
    context = step.add(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
        f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({fuzz}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({unit_id},{radian},{steradian}))REPRESENTATION_CONTEXT('',''))"
    )
    shape = step.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({_axes(step, (0, 0, 0), 2, 1)},{solid}),{context})")
    application = step.add("APPLICATION_CONTEXT('automotive design')")
    product_context = step.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    thing = step.add(f"PRODUCT('box','box','',({product_context}))")
    formation = step.add(f"PRODUCT_DEFINITION_FORMATION('','',{thing})")
    definition_context = step.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
    definition = step.add(f"PRODUCT_DEFINITION('','',{formation},{definition_context})")
    definition_shape = step.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    step.add(f"SHAPE_DEFINITION_REPRESENTATION({definition_shape},{shape})")
    return HEAD + "\n".join(step.lines) + "\nENDSEC;\nEND-ISO-10303-21;\n"


def _axes(step: _Lines, at: tuple[float, ...], axis: int, sign: int) -> str:
    normal = tuple(sign if index == axis else 0 for index in range(3))
    along = tuple(1 if index == (axis + 1) % 3 else 0 for index in range(3))
    parts = (step.triple("CARTESIAN_POINT", at), step.triple("DIRECTION", normal), step.triple("DIRECTION", along))
    return step.add(f"AXIS2_PLACEMENT_3D('',{','.join(parts)})")


def _solid(step: _Lines, size: tuple[float, ...]) -> str:
    corners = {
        bits: step.add(f"VERTEX_POINT('',{step.triple('CARTESIAN_POINT', _at(size, bits))})")
        for bits in product((0, 1), repeat=3)
    }
    edges = {}
    for start in corners:
        for axis in range(3):
            if start[axis] == 0:
                end = tuple(1 if index == axis else bit for index, bit in enumerate(start))
                edges[start, end] = _edge(step, size, corners, start, end, axis)
    faces = [_face(step, size, edges, axis, side) for axis in range(3) for side in (0, 1)]
    shell = step.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    return step.add(f"MANIFOLD_SOLID_BREP('',{shell})")


def _at(size: tuple[float, ...], bits: tuple[int, ...]) -> tuple[float, ...]:
    return tuple(length * bit for length, bit in zip(size, bits, strict=True))


def _edge(step: _Lines, size: tuple, corners: dict, start: tuple, end: tuple, axis: int) -> str:
    direction = step.triple("DIRECTION", tuple(1 if index == axis else 0 for index in range(3)))
    vector = step.add(f"VECTOR('',{direction},1.)")
    line = step.add(f"LINE('',{step.triple('CARTESIAN_POINT', _at(size, start))},{vector})")
    return step.add(f"EDGE_CURVE('',{corners[start]},{corners[end]},{line},.T.)")


def _face(step: _Lines, size: tuple, edges: dict, axis: int, side: int) -> str:
    """A face seen from outside: its corners run anticlockwise."""
    first, second = (axis + 1) % 3, (axis + 2) % 3
    loop = [(0, 0), (1, 0), (1, 1), (0, 1)] if side else [(0, 0), (0, 1), (1, 1), (1, 0)]
    points = []
    for one, two in loop:
        bits = [0, 0, 0]
        bits[axis], bits[first], bits[second] = side, one, two
        points.append(tuple(bits))
    oriented = []
    for start, end in zip(points, points[1:] + points[:1], strict=True):
        forward = (start, end) in edges
        edge = edges[start, end] if forward else edges[end, start]
        oriented.append(step.add(f"ORIENTED_EDGE('',*,*,{edge},{'.T.' if forward else '.F.'})"))
    bound = step.add(f"FACE_OUTER_BOUND('',{step.add(f'EDGE_LOOP({chr(39) * 2},({chr(44).join(oriented)}))')},.T.)")
    corner = tuple(side if index == axis else 0 for index in range(3))
    plane = step.add(f"PLANE('',{_axes(step, _at(size, corner), axis, 1 if side else -1)})")
    return step.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)")
