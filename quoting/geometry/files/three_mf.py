"""3MF: a zip with one XML model in it. Its directory is looked at before anything is unpacked, and only in memory."""

import stat
import zlib
from io import BytesIO
from xml.parsers import expat
from zipfile import BadZipFile, ZipFile, ZipInfo

from quoting.geometry.files.bodies import Pieces, UnreadableError
from quoting.geometry.files.three_mf_model import Model

MOST_MEMBERS = 500  # files in the zip; common practice, no source
MOST_UNPACKED = 300 * 1024**2  # bytes of all members together
HIGHEST_RATIO = 100  # unpacked to packed; numbers as text pack about 10 to 1, repeated ones 30 to 1
FREE_RATIO = 1024**2  # bytes unpacked below which the ratio does not matter
START_TYPE = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
USUAL_PLACE = "3D/3dmodel.model"
RELATIONS = "_rels/.rels"


def packed_model(data: bytes) -> Pieces:
    """Triangles of what a 3MF builds, in its unit.

    Raises
    ------
    UnreadableError
        The zip is damaged, a bomb, locked, names files outside itself, or its model cannot be read.
    """
    try:
        with ZipFile(BytesIO(data)) as archive:
            members = _checked(archive.infolist())
            text = _unpacked(archive, _model_part(archive, members))
    except NotImplementedError:
        raise UnreadableError("the 3MF is packed in a way that this format does not allow: save it anew") from None
    except (BadZipFile, zlib.error, EOFError, OSError, RuntimeError):
        raise UnreadableError("the 3MF is damaged or cut off: its zip cannot be unpacked") from None
    model = Model()
    _parse(text, model.start, model.end)
    return model.built()


def _unpacked(archive: ZipFile, member: ZipInfo) -> bytes:
    """One member in small reads: a directory that lies about the size would otherwise fill the memory."""
    parts, size = [], 0
    with archive.open(member) as file:
        while part := file.read(1 << 20):
            parts.append(part)
            size += len(part)
            if size > member.file_size:
                raise UnreadableError("the 3MF lies about the size of what it packs: it was not read")
    return b"".join(parts)


def _checked(infos: list[ZipInfo]) -> dict[str, ZipInfo]:
    """Members by name, after everything that the directory gives away was looked at."""
    if len(infos) > MOST_MEMBERS:
        raise UnreadableError(f"the 3MF packs {len(infos):,} files and at most {MOST_MEMBERS} are allowed")
    names = [info.filename for info in infos]
    if len({name.lower() for name in names}) < len(names):
        raise UnreadableError("the 3MF packs two files under one name")
    for info in infos:
        _check_name(info)
    unpacked, packed = sum(info.file_size for info in infos), sum(info.compress_size for info in infos)
    if unpacked > MOST_UNPACKED or (unpacked > FREE_RATIO and unpacked > HIGHEST_RATIO * packed):
        raise UnreadableError(
            f"the 3MF would unpack to {unpacked / 1024**2:,.0f} MB from {packed / 1024**2:,.2f} MB: it was not unpacked"
        )
    return dict(zip(names, infos, strict=True))


def _check_name(info: ZipInfo) -> None:
    name = info.orig_filename.replace("\\", "/")
    outside = name.startswith("/") or ".." in name.split("/") or ":" in name or not name.isprintable()
    if outside or stat.S_ISLNK(info.external_attr >> 16):
        raise UnreadableError("the 3MF packs a file under a name that leads out of it: it was not unpacked")
    if info.flag_bits & 1:
        raise UnreadableError("the 3MF is locked with a password")


def _model_part(archive: ZipFile, members: dict[str, ZipInfo]) -> ZipInfo:
    """The member that the package names as its model, else the one at the usual place."""
    found: list[str] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.endswith("Relationship") and attributes.get("Type") == START_TYPE:
            found.append(attributes.get("Target", "").lstrip("/"))

    if RELATIONS in members:
        _parse(_unpacked(archive, members[RELATIONS]), start, lambda _: None)
    for name in (*found, USUAL_PLACE):
        if name in members:
            return members[name]
    raise UnreadableError("the file is a zip without a 3MF model in it")


def _parse(text: bytes, start, end) -> None:
    """Walk XML that may declare nothing: no document type, so no entities and nothing fetched."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = _refuse_declarations
    try:
        parser.Parse(text, True)
    except expat.ExpatError:
        raise UnreadableError("the 3MF is damaged or cut off: its model is not well-formed XML") from None


def _refuse_declarations(*_) -> None:
    raise UnreadableError("the 3MF declares XML entities, which no model needs: it was not read")
