"""The model inside a 3MF: objects, what they are made of, and what is placed where."""

import numpy as np

from quoting.geometry.files.assembling import instances
from quoting.geometry.files.bodies import (
    MOST_FACES,
    Piece,
    Pieces,
    UnreadableError,
    check_bodies,
    check_corners,
    check_faces,
    counted,
)

UNITS = {"micron": 1e-6, "millimeter": 1e-3, "centimeter": 1e-2, "inch": 0.0254, "foot": 0.3048, "meter": 1.0}  # m
DEEPEST = 30  # elements within elements
BUILD = "build"  # the name of the top of the tree of parts; object numbers are digits
Placed = tuple[str, np.ndarray]


class Model:
    """Gathers the elements of the XML as they come, then builds the pieces that the file places."""

    def __init__(self) -> None:
        self.unit = UNITS["millimeter"]
        self.depth = 0
        self.current = ""
        self.vertices: dict[str, list[float]] = {}
        self.triangles: dict[str, list[int]] = {}
        self.placed: dict[str, list[Placed]] = {BUILD: []}
        self.faces = self.faces_placed = 0
        self.supports: set[str] = set()

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """One element opens; a number that is none is refused."""
        self.depth += 1
        if self.depth > DEEPEST:
            raise UnreadableError("the 3MF is damaged: its elements nest deeper than any model needs")
        known = KNOWN.get(name.rpartition(" ")[2])
        try:
            if known:
                known(self, attributes)
        except UnreadableError:
            raise
        except (KeyError, ValueError):
            raise UnreadableError("the 3MF is damaged: a number in its model is missing or cannot be read") from None

    def end(self, _: str) -> None:
        """One element closes."""
        self.depth -= 1

    def _model(self, attributes: dict[str, str]) -> None:
        unit = attributes.get("unit", "millimeter")
        if unit not in UNITS:
            raise UnreadableError("the 3MF names a unit that the format does not know")
        self.unit = UNITS[unit]

    def _object(self, attributes: dict[str, str]) -> None:
        self.current = str(int(attributes["id"]))
        if self.current in self.placed:
            raise UnreadableError("the 3MF is damaged: two objects have one number")
        self.placed[self.current], self.vertices[self.current], self.triangles[self.current] = [], [], []
        if attributes.get("type", "model") not in ("model", "solidsupport", "surface"):
            self.supports.add(self.current)

    def _vertex(self, attributes: dict[str, str]) -> None:
        self.vertices[self.current] += [float(attributes[axis]) for axis in "xyz"]
        check_corners(len(self.vertices[self.current]) // 3)

    def _triangle(self, attributes: dict[str, str]) -> None:
        self.triangles[self.current] += [int(attributes[corner]) for corner in ("v1", "v2", "v3")]
        self.faces += 1
        if self.faces > MOST_FACES:
            check_faces(self.faces)

    def _component(self, attributes: dict[str, str]) -> None:
        self._place(self.current, attributes)

    def _item(self, attributes: dict[str, str]) -> None:
        self._place(BUILD, attributes)

    def _place(self, whole: str, attributes: dict[str, str]) -> None:
        if any(name.rpartition(" ")[2] == "path" for name in attributes):
            raise UnreadableError("the 3MF keeps its parts in several models: export the part as one object")
        numbers = [float(word) for word in attributes.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()]
        matrix = np.array(numbers).reshape(4, 3)  # rows: images of x, y, z and the shift, as the format has it
        self.placed[whole].append((str(int(attributes["objectid"])), matrix))

    def built(self) -> Pieces:
        """The pieces in file units.

        Raises
        ------
        UnreadableError
            There are none or too many, or a part is named that is not there.
        """
        children = {whole: [part for part, _ in parts] for whole, parts in self.placed.items()}
        if any(part not in children for parts in children.values() for part in parts):
            raise UnreadableError("the 3MF is damaged: it places an object that is not in it")
        check_bodies(instances(children, BUILD) if children[BUILD] else 0)
        pieces = self._pieces(BUILD)
        check_faces(self.faces_placed)
        used = self.supports & {part for parts in children.values() for part in parts}
        left_out = (f"{counted(len(used), 'object', 'objects')} for printing support left out",) if used else ()
        return Pieces(tuple(pieces), self.unit, left_out)

    def _pieces(self, whole: str) -> list[Piece]:
        if whole in self.supports:
            return []
        own = [self._mesh(whole)] if self.triangles.get(whole) else []
        for part, matrix in self.placed[whole]:
            own += [(points @ matrix[:3] + matrix[3], faces) for points, faces in self._pieces(part)]
        return own

    def _mesh(self, part: str) -> Piece:
        faces = np.array(self.triangles[part]).reshape(-1, 3)
        self.faces_placed += len(faces)
        check_faces(self.faces_placed)
        return np.array(self.vertices[part]).reshape(-1, 3), faces


KNOWN = {
    "model": Model._model, "object": Model._object, "vertex": Model._vertex, "triangle": Model._triangle,
    "component": Model._component, "item": Model._item,
}  # fmt: skip
