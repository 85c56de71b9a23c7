"""Model files made by hand, good ones and bad ones."""

import re
import zipfile
from io import BytesIO

import numpy as np
import trimesh

from tests.quoting.intake.step_box import step_box

SIZE = (600.0, 400.0, 80.0)  # file units
MODEL_NAME = "3D/3dmodel.model"
RELATIONS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/></Relationships>'
)


def box(size=SIZE, at=(0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    mesh = trimesh.creation.box(size)
    mesh.apply_translation(at)
    return mesh


def joined(*meshes) -> trimesh.Trimesh:
    return trimesh.util.concatenate(list(meshes))


def stl(mesh) -> bytes:
    return mesh.export(file_type="stl")


def stl_text(mesh) -> bytes:
    return mesh.export(file_type="stl_ascii").encode()


def stl_of(corners) -> bytes:
    """A binary STL of triangles (m, 3, 3), whatever they are."""
    corners = np.asarray(corners, "<f4").reshape(-1, 9)
    records = np.zeros((len(corners), 50), np.uint8)
    records[:, 12:48] = np.ascontiguousarray(corners).view(np.uint8)
    return bytes(80) + len(corners).to_bytes(4, "little") + records.tobytes()


def obj(mesh) -> bytes:
    vertices = "".join(f"v {x!r} {y!r} {z!r}\n" for x, y, z in mesh.vertices.tolist())
    return (vertices + "".join(f"f {a + 1} {b + 1} {c + 1}\n" for a, b, c in mesh.faces.tolist())).encode()


def mesh_xml(mesh) -> str:
    vertices = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in mesh.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    return f"<mesh><vertices>{vertices}</vertices><triangles>{faces}</triangles></mesh>"


def model_xml(
    resources: str, build: str = '<item objectid="1"/>', unit: str = ' unit="millimeter"', head: str = ""
) -> str:
    return (
        f'<?xml version="1.0"?>{head}<model{unit} xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
        f"<resources>{resources}</resources><build>{build}</build></model>"
    )


def zipped(members: dict[str, str | bytes]) -> bytes:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return file.getvalue()


def three_mf(xml: str, more: dict[str, str | bytes] | None = None) -> bytes:
    return zipped({"_rels/.rels": RELATIONS, MODEL_NAME: xml, **(more or {})})


def three_mf_box(size=SIZE, unit: str = ' unit="millimeter"') -> bytes:
    return three_mf(model_xml(f'<object id="1">{mesh_xml(box(size))}</object>', unit=unit))


def step_boxes(number: int, size=SIZE) -> bytes:
    """A STEP file of so many boxes in a row: one box written again and again with other numbers, farther along X."""
    text = step_box(*size)
    lines = re.findall(r"#\d+=.*;", text)
    end = next(index for index, line in enumerate(lines) if "MANIFOLD_SOLID_BREP" in line)
    solid = re.match(r"#\d+", lines[end]).group()
    copies, solids = [], [solid]
    for copy in range(1, number):
        shift, along = copy * 1000, 2 * copy * size[0]
        moved = [re.sub(r"(CARTESIAN_POINT\('',\()([^,]+)", lambda m, x=along: f"{m[1]}{float(m[2]) + x!r}", line)
                 for line in lines[1 : end + 1]]  # fmt: skip
        copies += [re.sub(r"#(\d+)", lambda m, s=shift: f"#{int(m[1]) + s}", line) for line in moved]
        solids.append(f"#{int(solid[1:]) + shift}")
    text = re.sub(rf"{solid}\),", ",".join(solids) + "),", text, count=1)
    return text.replace("ENDSEC;\nEND-ISO", "\n".join(copies) + "\nENDSEC;\nEND-ISO").encode()
