"""Diagnostics as JSON: one array; lines and columns count from 1, and ends are exclusive."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from rigcard.diagnostics import Diagnostic
from rigcard.source import Span


def as_json(found: Iterable[Diagnostic]) -> str:
    """Return all diagnostics of a run as a JSON array."""
    return json.dumps([_one(diagnostic) for diagnostic in found], ensure_ascii=True, indent=1)


def _one(found: Diagnostic) -> dict[str, Any]:
    return {
        "code": found.code.id,
        "severity": found.code.severity.value,
        "slug": found.code.slug,
        **(_span(found.span) if found.span else {"file": found.where}),
        "message": found.message,
        "hint": found.hint,
        "related": [{**_span(related.span), "label": related.label} for related in found.related],
    }


def _span(span: Span) -> dict[str, Any]:
    line, column = span.source.position(span.start)
    end_line, end_column = span.source.position(max(span.start, min(span.end, len(span.source.text))))
    return {
        "file": span.source.name,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
    }
