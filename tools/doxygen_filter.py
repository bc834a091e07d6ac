#!/usr/bin/env python3
"""Reads a public header as Doxygen is to see it: doxygen_filter.py HEADER.

1. A comment behind a member or an enumerator documents it, also where it begins as an ordinary comment.
2. `err` means the same everywhere (crosshatch/status.h), so it is told of where a function's comment does not.
"""
import re
import sys

ERR = "@param err (out, may be NULL) The reason of a failure: see ch_err."


def told(match):
    comment, prototype = match[1], match[2]
    if "ch_err *err" not in prototype or re.search(r"@param(\[\w+\])?\s+err\b", comment):
        return match[0]
    lines = comment.count("\n")
    body = comment.removesuffix("*/").rstrip()
    return f"{body} {ERR} */{prototype}" if lines == 0 else f"{body.rstrip('*').rstrip()}\n * {ERR} */{prototype}"


text = open(sys.argv[1], encoding="utf-8").read()
text = re.sub(r"([;,])([ \t]*)/\*(?![*!])", r"\1\2/**<", text)
text = re.sub(r"(?m)^([ \t]+[A-Z][A-Z0-9_]*(?: = [^,/\n]+)?)([ \t]+)/\*(?![*!])", r"\1\2/**<", text)
text = re.sub(r"(/\*\*(?:(?!\*/).)*\*/)(\s*[a-z][^;{}/]*\([^;{}]*\)[^;{}]*;)", told, text, flags=re.S)
sys.stdout.write(text)
