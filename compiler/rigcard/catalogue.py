"""Every code with its explanation, for `rigcard explain` and grammar/codes.md."""

from __future__ import annotations

from inspect import cleandoc

from rigcard.check.registry import load_rules
from rigcard.diagnostics import CODES, Code

PASSES = {
    "1": "Reading the file",
    "2": "Binding names",
    "3": "Checking the structure",
    "4": "Computing and proving",
    "5": "Making the papers",
}


def all_codes() -> dict[str, Code]:
    """Return all codes by id, after loading every module that defines one."""
    from rigcard import own_typeface as _typeface
    from rigcard import writer as _writer
    from rigcard.documents.base import quoted_text as _words
    from rigcard.outputs import earlier as _earlier
    from rigcard.outputs.registry import outputs
    from rigcard.resolve import codes as _resolve
    from rigcard.solve import codes as _solve
    from rigcard.syntax import codes as _syntax

    del _earlier, _resolve, _solve, _syntax, _typeface, _words, _writer
    outputs()
    load_rules("rigcard.check.rules")
    load_rules("rigcard.solve.rules")
    return dict(sorted(CODES.items()))


def as_entry(code: Code) -> str:
    """Return the explanation of a code as text."""
    name = code.slug.replace("_", " ")
    return f"{code.id} {name} ({code.severity.value})\n\n{cleandoc(code.doc)}"


def as_page() -> str:
    """Return grammar/codes.md: a section for each pass, an entry for each code."""
    lines = [
        "# Messages",
        "",
        "Generated from the code by `python -m rigcard.catalogue`; do not edit. `rigcard explain CODE` prints one entry.",
    ]
    last = ""
    for code in all_codes().values():
        if code.id[2] != last:
            last = code.id[2]
            lines += ["", f"## {PASSES[last]}"]
        lines += ["", f"### {code.id} {code.slug.replace('_', ' ')} ({code.severity.value})", ""]
        for part, text in code.parts().items():
            lines.append(f"- **{part}** {text}" if part in ("Reports", "Why") else f"- {part}: `{text}`")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    from pathlib import Path

    Path(__file__).parents[2].joinpath("grammar", "codes.md").write_text(as_page(), encoding="utf-8")
