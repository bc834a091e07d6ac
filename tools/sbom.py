#!/usr/bin/python3
"""What the program is built from, with versions, as an SPDX 2.3 document (JSON).

usage: sbom.py BUILD [FILE]    BUILD: a build directory of Meson; FILE: standard output unless given

The libraries are those that Meson found for the program (its introspection, so nothing is listed by hand), with the versions that pkg-config told it; beside each the Debian
package of it in packages.list, as a package URL, where it is installed. Time and name follow SOURCE_DATE_EPOCH, so that the same build gives the same bytes.
Source: SPDX Specification 2.3, clauses 6 (document), 7 (packages) and 11 (relationships).
"""
import datetime
import hashlib
import json
import os
import pathlib
import re
import subprocess
import sys

TREE = pathlib.Path(__file__).resolve().parent.parent
# Of each library: its licence as an SPDX expression (from the copyright file of its Debian package), where it comes from, and its name in packages.list.
KNOWN = {
    "gsl": ("GPL-3.0-or-later", "https://www.gnu.org/software/gsl/", "libgsl-dev"),
    "libfyaml": ("MIT", "https://github.com/pantoniou/libfyaml", "libfyaml-dev"),
    "jansson": ("MIT", "https://github.com/akheron/jansson", "libjansson-dev"),
    "sqlite3": ("blessing", "https://www.sqlite.org/", "libsqlite3-dev"),
    "libmicrohttpd": ("LGPL-2.1-or-later", "https://www.gnu.org/software/libmicrohttpd/", "libmicrohttpd-dev"),
    "gnutls": ("LGPL-2.1-or-later", "https://www.gnutls.org/", "libgnutls28-dev"),
    "libjpeg": ("IJG AND BSD-3-Clause AND Zlib", "https://libjpeg-turbo.org/", "libjpeg-dev"),
    "libpng": ("libpng-2.0", "http://www.libpng.org/", "libpng-dev"),
    "libqrencode": ("LGPL-2.1-or-later", "https://fukuchi.org/works/qrencode/", "libqrencode-dev"),
    "pangocairo": ("LGPL-2.0-or-later", "https://pango.gnome.org/", "libpango1.0-dev"),
    "librsvg-2.0": ("LGPL-2.0-or-later", "https://wiki.gnome.org/Projects/LibRsvg", "librsvg2-dev"),
    "libical": ("MPL-2.0 OR LGPL-2.1-only", "https://libical.github.io/libical/", "libical-dev"),
    "libarchive": ("BSD-2-Clause", "https://www.libarchive.org/", "libarchive-dev"),
}
# Of tests and measurements alone, or of the compiler.
NOT_IN_IT = {"cmocka", "zlib", "cbc", "threads", "sundials_cvode", "sundials_nvecserial", "glpk", "m", "python3"}


def introspect(build, what):
    return json.loads(subprocess.run(["meson", "introspect", build, f"--{what}"], check=True, capture_output=True, text=True).stdout)


def identifier(name):
    return "SPDXRef-" + re.sub(r"[^A-Za-z0-9.-]", "-", name)


def installed(package):
    """The version of a Debian package, or None."""
    try:
        found = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", package], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        return None
    return found.stdout or None


def package(name, version, licence, home, more):
    return {"SPDXID": identifier(name), "name": name, "versionInfo": version, "supplier": "NOASSERTION", "downloadLocation": home, "filesAnalyzed": False,
            "licenseConcluded": licence, "licenseDeclared": licence, "copyrightText": "NOASSERTION", **more}


def libraries(build):
    listed = (TREE / "packages.list").read_text(encoding="utf-8")
    for found in sorted(introspect(build, "dependencies"), key=lambda one: one["name"]):
        name, version = found["name"], found.get("version", "")
        if name in NOT_IN_IT or version in ("", "none", "not-found", "unknown"):
            continue
        if name not in KNOWN:
            sys.exit(f"sbom: the library {name} is not known here: add its licence to KNOWN, or its name to NOT_IN_IT")
        licence, home, debian = KNOWN[name]
        if not re.search(rf"^build\S*\s+{re.escape(debian)}\s", listed, re.MULTILINE):
            sys.exit(f"sbom: {debian} is not in packages.list")
        packaged, more = installed(debian), {"primaryPackagePurpose": "LIBRARY"}
        if packaged:
            more["externalRefs"] = [{"referenceCategory": "PACKAGE-MANAGER", "referenceType": "purl", "referenceLocator": f"pkg:deb/debian/{debian}@{packaged}"}]
        yield package(name, version, licence, home, more)


def document(build):
    version = introspect(build, "projectinfo")["version"]
    when = datetime.datetime.fromtimestamp(int(os.environ.get("SOURCE_DATE_EPOCH", "0")) or datetime.datetime.now().timestamp(), datetime.timezone.utc)
    program = package("crosshatch", version, "GPL-3.0-or-later", "NOASSERTION", {"primaryPackagePurpose": "APPLICATION"})
    parts = list(libraries(build))
    content = hashlib.sha256(json.dumps([program, *parts], sort_keys=True).encode()).hexdigest()
    relations = [{"spdxElementId": "SPDXRef-DOCUMENT", "relationshipType": "DESCRIBES", "relatedSpdxElement": program["SPDXID"]}]
    relations += [{"spdxElementId": program["SPDXID"], "relationshipType": "DEPENDS_ON", "relatedSpdxElement": part["SPDXID"]} for part in parts]
    return {"spdxVersion": "SPDX-2.3", "dataLicense": "CC0-1.0", "SPDXID": "SPDXRef-DOCUMENT", "name": f"crosshatch-{version}",
            "documentNamespace": f"https://localhost/spdx/crosshatch-{version}-{content[:32]}",
            "creationInfo": {"created": when.strftime("%Y-%m-%dT%H:%M:%SZ"), "creators": ["Tool: sbom.py"]},
            "packages": [program, *parts], "relationships": relations}


def main():
    if len(sys.argv) not in (2, 3):
        sys.exit("usage: sbom.py BUILD [FILE]")
    text = json.dumps(document(sys.argv[1]), indent=2) + "\n"
    if len(sys.argv) == 3:
        pathlib.Path(sys.argv[2]).write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
