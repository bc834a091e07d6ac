#!/usr/bin/env python3
"""The list of what the program is built from (tools/sbom.py) is a well-formed SPDX 2.3 document, whole and reproducible. TAP.

Run by meson test, with CROSSHATCH, CROSSHATCH_SOURCE (the tree) and CROSSHATCH_BUILD (the build directory). The rules are those of the SPDX Specification 2.3, by clause.
"""
import functools
import json
import os
import re
import subprocess
import sys

sys.path.insert(0, os.path.join(os.environ["CROSSHATCH_SOURCE"], "tests/web"))
from promises import keep, promise  # noqa: E402

TOOL = os.path.join(os.environ["CROSSHATCH_SOURCE"], "tools/sbom.py")
NOASSERTION = {"NOASSERTION", "NONE"}


def written_anew():
    done = subprocess.run([sys.executable, TOOL, os.environ["CROSSHATCH_BUILD"]], capture_output=True, text=True, check=False, timeout=120,
                          env=os.environ | {"SOURCE_DATE_EPOCH": "1800000000"})
    assert done.returncode == 0, done.stderr
    return done.stdout


written = functools.cache(written_anew)


@promise
def the_document_keeps_to_the_clauses_of_spdx():
    document = json.loads(written())
    assert document["spdxVersion"] == "SPDX-2.3"  # 6.1
    assert document["dataLicense"] == "CC0-1.0"  # 6.2
    assert document["SPDXID"] == "SPDXRef-DOCUMENT"  # 6.3
    assert document["name"]  # 6.4
    assert re.fullmatch(r"https?://[^\s#]+", document["documentNamespace"])  # 6.5: a URI without #
    assert all(re.match(r"(Person|Organization|Tool): \S", one) for one in document["creationInfo"]["creators"])  # 6.8
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", document["creationInfo"]["created"])  # 6.9
    names = {"SPDXRef-DOCUMENT"}
    for one in document["packages"]:
        assert one["name"]  # 7.1
        assert re.fullmatch(r"SPDXRef-[A-Za-z0-9.-]+", one["SPDXID"]) and one["SPDXID"] not in names, one  # 7.2
        names.add(one["SPDXID"])
        assert re.match(r"\d", one["versionInfo"]), one  # 7.3
        assert one["downloadLocation"] in NOASSERTION or re.match(r"(https?|git)", one["downloadLocation"]), one  # 7.7
        assert one["filesAnalyzed"] is False and "packageVerificationCode" not in one, one  # 7.8, 7.9
        assert re.fullmatch(r"[A-Za-z0-9.+-]+( (AND|OR) [A-Za-z0-9.+-]+)*", one["licenseConcluded"]), one  # 7.13, annex D
        for reference in one.get("externalRefs", []):  # 7.21, annex F
            assert reference["referenceCategory"] == "PACKAGE-MANAGER" and reference["referenceType"] == "purl"
            assert re.fullmatch(r"pkg:deb/debian/[a-z0-9.+-]+@\S+", reference["referenceLocator"]), reference
    for relation in document["relationships"]:  # 11.1
        assert relation["relationshipType"] in ("DESCRIBES", "DEPENDS_ON")
        assert relation["spdxElementId"] in names and relation["relatedSpdxElement"] in names, relation
    described = [one["relatedSpdxElement"] for one in document["relationships"] if one["relationshipType"] == "DESCRIBES"]
    assert described == ["SPDXRef-crosshatch"]


@promise
def every_library_that_the_program_names_is_in_it_with_its_version():
    document = json.loads(written())
    versions = {one["name"]: one["versionInfo"] for one in document["packages"]}
    depends = {one["relatedSpdxElement"] for one in document["relationships"] if one["relationshipType"] == "DEPENDS_ON"}
    assert depends == {one["SPDXID"] for one in document["packages"]} - {"SPDXRef-crosshatch"}
    said = subprocess.run([os.environ["CROSSHATCH"], "--version"], capture_output=True, text=True, check=True).stdout
    for name, version in re.findall(r", ([A-Za-z][\w ]*?) (\d[\w.+-]*)", said):
        assert version in versions.values(), (name, version, versions)
    with open(os.path.join(os.environ["CROSSHATCH_SOURCE"], "packages.list"), encoding="utf-8") as file:
        libraries = [one for one in re.findall(r"^build\S*\s+(lib\S+-dev|librsvg2-dev)\s", file.read(), re.MULTILINE) if one != "libc6-dev"]
    assert len(versions) == len(libraries) + 1, (sorted(versions), libraries)


@promise
def the_same_build_gives_the_same_document():
    assert written_anew() == written()


sys.exit(keep())
