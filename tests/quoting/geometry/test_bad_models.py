"""Bad and hostile model files, each with the plain words that whoever sent it gets."""

import os
import re
from time import perf_counter

import numpy as np
import pytest

from quoting.geometry.files import bodies, reading
from quoting.geometry.files.reading import UnreadableError, read_bodies
from tests.quoting.geometry import files
from tests.quoting.intake.step_box import step_box

PNG = bytes.fromhex("89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de")
STL, STEP, MESH = files.stl(files.box()), step_box(600, 400, 80).encode(), files.mesh_xml(files.box())
OBJECT = f'<object id="1">{MESH}</object>'
XML = files.model_xml(OBJECT)
LAUGHS = '<!DOCTYPE m [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>'
FETCHES = '<!DOCTYPE m [<!ENTITY a SYSTEM "file:///etc/passwd">]>'


def corners(value: float) -> np.ndarray:
    triangles = np.array(files.box().triangles)
    triangles[3, 1, 2] = value
    return triangles


def placements(depth: int) -> str:
    """Objects of two parts each, one upon the other: 2 to the power ``depth`` boxes in a few lines."""
    return OBJECT + "".join(
        f'<object id="{n}"><components>{2 * f"""<component objectid="{n - 1}"/>"""}</components></object>'
        for n in range(2, depth + 2)
    )


def assembly(pairs) -> bytes:
    lines = "".join(f"#{9000 + i}=NEXT_ASSEMBLY_USAGE_OCCURRENCE('{i}','a','b',#{a},#{b},$);\n" for i, (a, b) in pairs)
    return STEP.replace(b"ENDSEC;\nEND-ISO", lines.encode() + b"ENDSEC;\nEND-ISO")


BAD = {
    "empty": (b"", "the file is empty"),
    "one byte": (b"x", "not a model"),
    "a picture": (PNG, "the file is a PNG picture, not a model that can be read: send STEP, STL, OBJ or 3MF"),
    "a PDF": (b"%PDF-1.7\n%abc", "the file is a PDF document"),
    "a web page": (b"<html><script>v 1</script>", "a web page"),
    "zeros": (bytes(100_000), "nothing but zeros"),
    "a zip of something else": (files.zipped({"word/document.xml": "<a/>"}), "a zip without a 3MF model in it"),
    "STL cut off": (STL[:-60], "an STL cut off after 10 of 12 faces"),
    "STL with something behind": (STL + b"abc", "not a model"),
    "STL of no faces": (bytes(84), "zeros"),
    "STL that promises 4 billion faces": (b"a" * 80 + b"\xff\xff\xff\xff" + b"b" * 50, "not a model"),
    "STL text cut off": (files.stl_text(files.box())[:900], "the STL is cut off"),
    "STL text with words for numbers": (
        files.stl_text(files.box()).replace(b"300.0", b"three", 1), "a coordinate in it is not a number"
    ),
    "STL text of nothing": (b"solid nothing here at all\nendsolid\n", "not one face was found"),
    "STL with NaN": (files.stl_of(corners(np.nan)), "corners whose coordinates are not numbers"),
    "STL with infinity": (files.stl_of(corners(np.inf)), "corners whose coordinates are not numbers"),
    "STL with a corner light years away": (files.stl_of(corners(1e38)), "farther out than any part reaches"),
    "STL of points": (files.stl_of(np.ones((4, 3, 3))), "all its faces are points or lines"),
    "STL of lines": (files.stl_of([[[0, 0, 0], [1, 0, 0], [2, 0, 0]]] * 2), "all its faces are points or lines"),
    "STL in shreds": (
        files.stl_of(np.arange(2001)[:, None, None] * 9.0 + np.eye(3)[None]), "falls into 2,001 loose pieces"
    ),
    "OBJ with NaN": (b"v nan 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "corners whose coordinates are not numbers"),
    "OBJ cut off": (files.obj(files.box())[:-3] + b"\nf 1 2", "line 20 cannot be read"),
    "OBJ that names a corner it has not": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "names a corner that is not there"),
    "OBJ that counts from 0": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "line 4 cannot be read"),
    "OBJ without faces": (b"v 0 0 0\nv 1 0 0\n", "not one face was found"),
    "OBJ with a polygon of a million corners": (b"v 0 0 0\nf " + b"1 " * 10**6, "line 2 cannot be read"),
    "STEP cut off": (STEP[:-400], "the STEP file is cut off"),
    "STEP of nothing": (
        b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n", "no solid or surface"
    ),
    "STEP with an unfinished string": (STEP.replace(b"BREP('',", b"BREP(',", 1), "the model has no surface"),
    "STEP of a million brackets": (
        STEP.replace(b"DATA;", b"DATA;\n#9=A(" + b"(" * 10**6 + b")" * 10**6 + b");", 1), "brackets nest deeper"
    ),
    "STEP of a thousand bodies": (files.step_boxes(1000), "1,000 separate bodies and at most 100 are read"),
    "STEP that contains itself": (assembly(enumerate([(1, 2), (2, 1)])), "the assembly contains itself"),
    "STEP whose parts double and double": (
        assembly((2 * n + k, (100 + n, 101 + n)) for n in range(20) for k in (0, 1)), "1,048,576 separate bodies"
    ),
    "STEP of ten thousand placings": (assembly((n, (n + 1, n + 2)) for n in range(10_000)), "too many parts"),
    "STEP that points to other files": (
        STEP.replace(b"DATA;", b"DATA;\n#9001=DOCUMENT_FILE('../../x.stp','',$,$,'',$);\n"
                     b"#9002=APPLIED_EXTERNAL_IDENTIFICATION_ASSIGNMENT('../../x.stp',$,$,(#9001));", 1),
        "points to parts in other files",
    ),
    "3MF cut off": (files.three_mf_box()[:-30], "the 3MF is damaged or cut off"),
    "3MF of a thousand files": (files.three_mf(XML, {f"{n}": "" for n in range(1000)}), "packs 1,002 files"),
    "3MF bomb": (files.three_mf(XML, {"big": bytes(200_000_000)}), "it was not unpacked"),
    "3MF bomb in the model": (files.three_mf(XML + " " * 100_000_000), "it was not unpacked"),
    "3MF that declares entities": (files.three_mf(files.model_xml(OBJECT, head=LAUGHS)), "declares XML entities"),
    "3MF that fetches a file": (files.three_mf(files.model_xml(OBJECT, head=FETCHES)), "declares XML entities"),
    "3MF that is no XML": (files.three_mf("<model><a></model>"), "not well-formed XML"),
    "3MF nested deep": (files.three_mf("<a>" * 1000 + "</a>" * 1000), "nest deeper than any model needs"),
    "3MF with NaN": (files.three_mf(XML.replace('x="300.0"', 'x="nan"', 1)), "coordinates are not numbers"),
    "3MF with a word for a number": (files.three_mf(XML.replace('"300.0"', '"three"', 1)), "cannot be read"),
    "3MF that names a corner it has not": (files.three_mf(XML.replace('v1="0"', 'v1="99"', 1)), "names a corner"),
    "3MF that places nothing": (files.three_mf(files.model_xml(OBJECT, "")), "not one face was found"),
    "3MF that places what it has not": (
        files.three_mf(files.model_xml(OBJECT, '<item objectid="7"/>')), "places an object that is not in it"
    ),
    "3MF whose parts double and double": (
        files.three_mf(files.model_xml(placements(20), '<item objectid="21"/>')), "1,048,576 separate bodies"
    ),
    "3MF that contains itself": (
        files.three_mf(files.model_xml(
            '<object id="1"><components><component objectid="1"/></components></object>')), "contains itself"
    ),
    "3MF in several models": (
        files.three_mf(files.model_xml(OBJECT, '<item objectid="1" path="/3D/b.model"/>')), "parts in several models"
    ),
    "3MF with two files of one name": (files.three_mf(XML, {"3d/3DMODEL.model": XML}), "two files under one name"),
    "3MF locked": (
        files.three_mf(XML).replace(b"PK\x01\x02\x14\x03\x14\x00\x00", b"PK\x01\x02\x14\x03\x14\x00\x01"),
        "locked with a password",
    ),
    "3MF packed as the format forbids": (
        files.three_mf(XML).replace(
            b"PK\x01\x02\x14\x03\x14\x00\x00\x00\x08\x00", b"PK\x01\x02\x14\x03\x14\x00\x00\x00\x61\x00"
        ),
        "packed in a way that this format does not allow",
    ),
    "3MF in parsecs": (files.three_mf_box(unit=' unit="parsec"'), "a unit that the format does not know"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_refused_in_plain_words_at_once(tmp_path, name):
    data, words = BAD[name]
    (tmp_path / "part.step").write_bytes(data)
    start = perf_counter()
    with pytest.raises(UnreadableError, match=re.escape(words)) as raised:
        read_bodies(tmp_path / "part.step")
    assert perf_counter() - start < 5.0
    assert len(str(raised.value)) < 250
    assert str(tmp_path) not in str(raised.value)


@pytest.mark.parametrize(
    "name", ["../evil.txt", "/etc/evil", "a\\..\\..\\evil", "C:\\evil", "..", "3D/../../evil", "e\x01"]
)
def test_a_3mf_that_packs_a_name_leading_out_of_it_is_refused_and_writes_nothing(tmp_path, name, monkeypatch):
    (tmp_path / "deep" / "er").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "deep" / "er")
    path = tmp_path / "part.3mf"
    path.write_bytes(files.three_mf(XML, {name: "evil"}))
    with pytest.raises(UnreadableError, match="leads out of it"):
        read_bodies(path)
    assert sorted(file.name for file in tmp_path.rglob("*")) == ["deep", "er", "part.3mf"]


def test_a_3mf_that_lies_about_the_size_of_its_model_is_refused(tmp_path):
    data = files.three_mf(XML + " " * 3_000_000)
    true = len(XML + " " * 3_000_000).to_bytes(4, "little")
    assert data.count(true) == 2  # in the member's head and in the directory
    (tmp_path / "part.3mf").write_bytes(data.replace(true, (500_000).to_bytes(4, "little")))
    with pytest.raises(UnreadableError, match="3MF"):
        read_bodies(tmp_path / "part.3mf")


def test_two_gigabytes_of_zeros_are_refused_unread(tmp_path, monkeypatch):
    path = tmp_path / "part.stl"
    with path.open("wb") as file:
        file.truncate(2 * 1024**3)
    start = perf_counter()
    with pytest.raises(UnreadableError, match="the file has 2,048 MB and at most 50 MB are read"):
        read_bodies(path)
    assert perf_counter() - start < 0.5


@pytest.mark.parametrize("name", ["missing.stl", "part\x00.stl", "x" * 300, "../../../../no/such/file"])
def test_a_file_that_cannot_be_opened_is_refused(tmp_path, name):
    with pytest.raises(UnreadableError, match="cannot be opened"):
        read_bodies(tmp_path / name)


def test_a_folder_or_a_pipe_is_refused_and_never_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.stl")
    with pytest.raises(UnreadableError, match="not a file"):
        read_bodies(tmp_path / "pipe.stl")
    with pytest.raises(UnreadableError, match="not a file"):
        read_bodies(tmp_path)


@pytest.mark.parametrize("name", ["..%2f..%2fpart.stl", "-rf", "a.pdf.html", "\u202elts.trap", "CON", "\U0001f600.stl"])
def test_an_odd_name_changes_nothing(tmp_path, name):
    (tmp_path / name).write_bytes(STL)
    assert read_bodies(tmp_path / name).kind == "stl"


def test_too_many_faces_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(bodies, "MOST_FACES", 11)
    (tmp_path / "part.stl").write_bytes(STL)
    with pytest.raises(UnreadableError, match="12 faces and at most 11 are read: export it with a coarser tolerance"):
        read_bodies(tmp_path / "part.stl")


@pytest.mark.parametrize("data", [files.obj(files.box()), files.three_mf_box()])
def test_too_many_corners_are_refused_before_any_face_is_read(tmp_path, data, monkeypatch):
    monkeypatch.setattr(bodies, "MOST_FACES", 2)
    (tmp_path / "part").write_bytes(data)
    with pytest.raises(UnreadableError, match="more than 6 corners"):
        read_bodies(tmp_path / "part")


def test_a_senseless_unit_is_refused(tmp_path):
    (tmp_path / "part.stl").write_bytes(STL)
    for unit in (0.0, -1.0, float("nan"), 1e9):
        with pytest.raises(UnreadableError, match="unit"):
            read_bodies(tmp_path / "part.stl", unit)


def test_only_one_module_of_the_room_opens_files():
    room = os.path.dirname(reading.__file__)
    for name in sorted(os.listdir(room)):
        if name.endswith(".py") and name not in ("reading.py", "job.py"):
            with open(os.path.join(room, name), encoding="utf-8") as file:
                text = file.read()
            assert not re.search(r"(?<![.\w])open\(|read_bytes|read_text|write_bytes", text), name
