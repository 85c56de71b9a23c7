"""Whether a PDF is what it says: conditions of PDF/A-3a and PDF/UA-1 read from its objects, and a validator of part 1.

The clauses named are those of ISO 19005-3:2012 and ISO 14289-1:2014, from memory, unverified.
"""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pikepdf

# What paints: text, paths, shadings, pictures, forms (ISO 32000-1, annex A).
PAINTS = {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh", "Tj", "TJ", "'", '"', "Do", "INLINE IMAGE"}
JARS = [
    Path("/usr/share/java") / f"{name}.jar"
    for name in (
        "preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "commons-io", "javax.activation", "jaxb-api",
    )
]  # fmt: skip
# The validator knows part 1 of the standard alone. What part 1 forbids and part 3 allows, by the validator's codes:
ONLY_PART_1 = {
    "1.2.7": "compressed metadata",
    "1.2.9": "an embedded file",
    "1.4": "cross-reference streams",
    "1.4.7": "names of embedded files",
    "2.2.1": "transparency groups",
    "3.1.11": "no CIDSet beside a subset of a font",
    "4.1.2": "opacity",
}


def has_validator() -> bool:
    return shutil.which("java") is not None and all(jar.exists() for jar in JARS)


def complaints(file: Path) -> dict[str, str]:
    """Code and words of all that the validator of PDF/A-1b finds, but for what part 3 allows."""
    command = ["java", "-cp", os.pathsep.join(map(str, JARS)), "org.apache.pdfbox.preflight.Validator_A1b", str(file)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)  # noqa: S603 - our own
    if "PDF/A-1b file" not in done.stdout:
        raise RuntimeError(f"the validator did not judge: {done.stdout[-500:]} {done.stderr[-500:]}")
    found = dict(re.findall(r"^([0-9.]+) : (.*)$", done.stdout, re.MULTILINE))
    return {code: words for code, words in found.items() if code not in ONLY_PART_1}


def untagged(pdf: pikepdf.Pdf) -> list[str]:
    """What is painted neither as tagged content nor as an artifact (ISO 14289-1, 7.1)."""
    found: list[str] = []
    for number, page in enumerate(pdf.pages, start=1):
        _look_into(page, page.Resources, f"page {number}", marked=False, found=found)
    return found


def _look_into(stream: object, resources: object, where: str, *, marked: bool, found: list[str]) -> None:
    depth = 0
    for operands, operator in pikepdf.parse_content_stream(stream):
        name = str(operator)
        depth += {"BDC": 1, "BMC": 1, "EMC": -1}.get(name, 0)
        if name in PAINTS and not depth and not marked:
            found.append(f"{where}: {name}")
        if name == "Do":
            drawn = resources.XObject[str(operands[0])]
            if drawn.Subtype == "/Form":
                inner = f"{where} {operands[0]}"
                _look_into(drawn, drawn.get("/Resources", resources), inner, marked=marked or depth > 0, found=found)


def elements(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Dictionary]:
    """The tree of tags in reading order."""
    return elements_below(pdf.Root.StructTreeRoot)


def elements_below(node: object) -> Iterator[pikepdf.Dictionary]:
    inner = node.get("/K", ()) if isinstance(node, pikepdf.Dictionary) else ()
    for one in inner if isinstance(inner, pikepdf.Array) else (inner,):
        if isinstance(one, pikepdf.Dictionary) and "/S" in one:
            yield one
            yield from elements_below(one)


def fonts(pdf: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    """Every font that a page or a form on it may use, once."""
    found: dict[tuple[int, int], pikepdf.Dictionary] = {}
    for one in pdf.objects:
        if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/Font" and "/DescendantFonts" in one:
            found[one.objgen] = one
        elif isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/Font" and "/FontDescriptor" not in one:
            found[one.objgen] = one  # one of those that every reader was once to have: not embedded
    return list(found.values())
