"""What kind of file somebody sent, told from its two ends alone: no library, no more than a few bytes looked at."""

from quoting.geometry.files import obj, stl
from quoting.geometry.files.bodies import LARGEST_FILE, UnreadableError, check_faces

END = 65536  # bytes that are looked at from either end of a file
STRANGERS = (  # what people send by mistake, by its first bytes
    (b"\x89PNG", "a PNG picture"), (b"\xff\xd8\xff", "a JPEG picture"), (b"GIF8", "a GIF picture"),
    (b"%PDF", "a PDF document"), (b"AC10", "a DWG drawing"), (b"\xd0\xcf\x11\xe0", "a file of a CAD or office program"),
    (b"\x1f\x8b", "a gzip archive"), (b"7z\xbc\xaf", "a 7z archive"), (b"Rar!", "a RAR archive"),
    (b"ply", "a PLY mesh"), (b"glTF", "a glTF model"), (b"<", "a web page or other XML"),
)  # fmt: skip
WANTED = "send STEP, STL, OBJ or 3MF"


def kind_of(head: bytes, size: int | None = None) -> str:
    """``step``, ``stl``, ``stl_text``, ``obj`` or ``3mf`` by what the file holds.

    Parameters
    ----------
    head : bytes
        The file, or its first ``END`` bytes [-].
    size : int, optional
        Of the whole file [bytes]; that of ``head`` without it.

    Raises
    ------
    UnreadableError
        None of them; the text says what it is, as far as can be seen.

    Examples
    --------
    >>> kind_of(b"ISO-10303-21;")
    'step'
    """
    start = head[:4096].removeprefix(b"\xef\xbb\xbf").lstrip()
    size = len(head) if size is None else size
    if start.startswith(b"ISO-10303-21"):
        return "step"
    if head.startswith(b"PK\x03\x04"):
        return "3mf"
    if stl.is_binary(head, size):
        return "stl"
    if start[:5].lower() == b"solid" and b"\x00" not in start:
        return "stl_text"
    if obj.looks_like(head):
        return "obj"
    raise UnreadableError(_stranger(head, size))


def _stranger(head: bytes, size: int) -> str:
    start = head[:4096].lstrip()
    for mark, name in STRANGERS:
        if start.startswith(mark):
            return f"the file is {name}, not a model that can be read: {WANTED}"
    if not head.strip(b"\x00"):
        return f"the file holds nothing but zeros: {WANTED}"
    promised = stl.promised_faces(head)
    if 0 < size - stl.HEADER < stl.BYTES_PER_FACE * promised < 20 * LARGEST_FILE:
        held = (size - stl.HEADER) // stl.BYTES_PER_FACE
        return (
            f"the file is no model that can be read, or an STL cut off after {held:,} of {promised:,} faces: {WANTED}"
        )
    return f"the file is not a model that can be read: {WANTED}"


def check_ends(head: bytes, tail: bytes, size: int) -> None:
    """Refuse at a glance what no reader would take: another kind of file, or one that is cut off.

    Parameters
    ----------
    head, tail : bytes
        The first and the last ``END`` bytes of the file, or all of a smaller one [-].
    size : int
        Of the whole file [bytes].

    Raises
    ------
    UnreadableError
        As the reader of its kind would; what passes here may still be refused by that.
    """
    if size == 0:
        raise UnreadableError("the file is empty")
    kind = kind_of(head, size)
    if kind == "step" and b"END-ISO-10303-21" not in tail[-4096:]:
        raise UnreadableError("the STEP file is cut off: its closing line is missing")
    if kind == "stl":
        check_faces(stl.promised_faces(head))
    if kind == "stl_text" and b"endsolid" not in tail[-4096:].lower():
        raise UnreadableError("the STL is cut off: its last face or its closing line is missing")
    if kind == "3mf" and b"PK\x05\x06" not in tail:
        raise UnreadableError("the 3MF is damaged or cut off: its zip cannot be unpacked")
