"""Diagnostics as SARIF 2.1.0: one log with one run; lines and columns in code points from 1, ends exclusive."""

from __future__ import annotations

import json
import os
import posixpath
import re
from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

from rigcard import __version__
from rigcard.diagnostics import Code, Diagnostic
from rigcard.source import Span

FOLDER = (
    "FOLDER"  # base of relative addresses; the log does not say where it is, so it is the same on every machine
)


def as_sarif(found: Iterable[Diagnostic], exit_code: int, ran: bool) -> str:
    """Return the log of a run, its diagnostics in order. `ran`: every file could be read and written."""
    diagnostics = list(found)
    rules = sorted({diagnostic.code for diagnostic in diagnostics}, key=lambda code: code.id)
    index = {code.id: number for number, code in enumerate(rules)}
    run = {
        "tool": {
            "driver": {"name": "rigcard", "version": __version__, "rules": [_rule(code) for code in rules]}
        },
        "language": "en",
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {FOLDER: {"description": _message("the folder in which rigcard was run")}},
        "invocations": [{"executionSuccessful": ran, "exitCode": exit_code}],
        "results": [_result(diagnostic, index[diagnostic.code.id]) for diagnostic in diagnostics],
    }
    return json.dumps({"version": "2.1.0", "runs": [run]}, ensure_ascii=True, indent=1)


def _rule(code: Code) -> dict[str, Any]:
    parts = code.parts()
    return {
        "id": code.id,
        "name": "".join(word.capitalize() for word in code.slug.split("_")),
        "shortDescription": _message(parts["Reports"]),
        "fullDescription": _message(f"Reports: {parts['Reports']}\nWhy: {parts['Why']}"),
        "help": _message(f"Bad: {parts['Bad']}\nGood: {parts['Good']}"),
        "defaultConfiguration": {"level": code.severity.value},
    }


def _result(found: Diagnostic, index: int) -> dict[str, Any]:
    if found.span:
        places = [_place(found.span)]
    else:
        places = [] if found.code.outside == "program" else [{"physicalLocation": _artifact(found.where)}]
    return {
        "ruleId": found.code.id,
        "ruleIndex": index,
        "level": found.code.severity.value,
        "message": _message(f"{found.message}\ndo: {found.hint}"),
        "locations": places,
        "relatedLocations": [
            {"id": number, **_place(related.span), "message": _message(related.label)}
            for number, related in enumerate(found.related, 1)
        ],
    }


def _message(text: str) -> dict[str, str]:
    """Return a message; its braces are doubled, so that no link comes of the user's words.

    SARIF 2.1.0, 3.11.5 and 3.11.6.
    """
    text = text.encode("utf-8", "replace").decode("utf-8")  # a file name may hold bytes that are not text
    return {"text": re.sub(r"\](?=\()", r"\\]", text.replace("{", "{{").replace("}", "}}"))}


def _place(span: Span) -> dict[str, Any]:
    line, column = span.source.position(span.start)
    end_line, end_column = span.source.position(max(span.start, min(span.end, len(span.source.text))))
    region = {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}
    return {"physicalLocation": {**_artifact(span.source.name), "region": region}}


def _artifact(name: str) -> dict[str, Any]:
    """Return a file's address: relative to the folder of the run if its name is relative, else absolute."""
    path = posixpath.normpath(name.replace(os.sep, "/"))
    address = quote(os.fsencode(path), safe="/")
    if posixpath.isabs(path):
        return {"artifactLocation": {"uri": f"file://{address}"}}
    return {"artifactLocation": {"uri": address, "uriBaseId": FOLDER}}
